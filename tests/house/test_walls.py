"""Walls that imports alone do not show: who asks the tables, and who writes them."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings as shop_settings

ROOT = Path(shop_settings.ROOT)
DOORS = [
    path
    for door in ("api", "inventory/web")
    for path in sorted((ROOT / door).rglob("*.py"))
]
MANAGERS = {"objects", "_default_manager", "_base_manager"}
SHORTCUTS = {"get_object_or_404", "get_list_or_404"}


def names(path: Path) -> Iterator[str]:
    """Every name and attribute that a file speaks of."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.Name):
            yield node.id


@pytest.mark.parametrize("path", DOORS, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_door_asks_the_rooms_and_no_table(path: Path) -> None:
    assert set(names(path)) & (MANAGERS | SHORTCUTS) == set()
