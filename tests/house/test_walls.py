"""Walls that imports alone do not show: who asks the tables, and who writes them."""

import ast
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings as shop_settings

from inventory.ledger import rules
from inventory.ledger.rules import Verb
from inventory.ledger.rules.looking import NEARLY_EMPTY
from tests.house.trees import nodes_of, tree_of

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
    for node in nodes_of(tree_of(path)):
        if isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.Name):
            yield node.id


def breaches(
    files: list[Path], look: Callable[[Path], Iterable[str]]
) -> dict[str, Any]:
    """What is found where nothing should be, by file."""
    assert len(files) > 20
    found = {str(path.relative_to(ROOT)): sorted(look(path)) for path in files}
    return {path: rows for path, rows in found.items() if rows}


@pytest.mark.slow
def test_a_door_asks_the_rooms_and_no_table() -> None:
    tables = MANAGERS | SHORTCUTS
    assert breaches(DOORS, lambda path: tables.intersection(names(path))) == {}


LEDGER = ROOT / "inventory" / "ledger"
OUTSIDE = [
    path
    for room in ("inventory", "api")
    for path in sorted((ROOT / room).rglob("*.py"))
    if LEDGER not in path.parents and path.name != "models.py"
]
ROWS = {
    model.__name__: model
    for model in apps.get_models()
    if model.__module__ == "inventory.ledger.models"
}
# What rows of the ledger are called where no annotation names their type.
USUAL = {"act", "bin", "lot", "movement", "place", "stay"}
ASKS_OR_WRITES = {
    *("save", "delete", "update", "create", "add", "remove", "set", "clear"),
    *("filter", "exclude", "all", "get", "values", "values_list", "annotate", "first"),
    *("aggregate", "exists", "select_related", "prefetch_related", "order_by"),
    *("get_or_create", "update_or_create", "bulk_create", "refresh_from_db"),
}


def annotations(tree: ast.AST) -> Iterator[ast.expr]:
    """Every expression that only names a type."""
    for node in nodes_of(tree):
        if isinstance(node, ast.arg | ast.AnnAssign) and node.annotation is not None:
            yield node.annotation
        elif isinstance(node, ast.FunctionDef) and node.returns is not None:
            yield node.returns
        elif isinstance(node, ast.Subscript):
            yield node.slice


def types_only(tree: ast.AST) -> Iterator[str]:
    """Lines where a row's class is more than a type."""
    fine = {id(name) for each in annotations(tree) for name in ast.walk(each)}
    for node in nodes_of(tree):
        if isinstance(node, ast.Name) and node.id in ROWS and id(node) not in fine:
            yield f"line {node.lineno}: {node.id}"
        elif (
            isinstance(node, ast.Attribute)
            and node.attr in ROWS
            and id(node) not in fine
            and getattr(node.value, "id", "") == "ledger"
        ):
            yield f"line {node.lineno}: {node.attr}"


def rows_of(tree: ast.AST) -> set[str]:
    """Names that hold a row of the ledger."""
    found = set(USUAL)
    for node in nodes_of(tree):
        if not isinstance(node, ast.arg | ast.AnnAssign) or node.annotation is None:
            continue
        if ast.unparse(node.annotation).removesuffix(" | None") in ROWS:
            named = node.arg if isinstance(node, ast.arg) else ast.unparse(node.target)
            found.add(named)
    return found


def reads_only(tree: ast.AST) -> Iterator[str]:
    """Lines where a row is asked for more rows, or written."""
    held = rows_of(tree)
    for node in nodes_of(tree):
        if not isinstance(node, ast.Attribute):
            continue
        first: ast.expr = node.value
        while isinstance(first, ast.Attribute):
            first = first.value
        breach = node.attr in ASKS_OR_WRITES or isinstance(node.ctx, ast.Store)
        if breach and isinstance(first, ast.Name) and first.id in held:
            yield f"line {node.lineno}: {ast.unparse(node)}"


@pytest.mark.slow
def test_rows_of_the_ledger_leave_it_as_types_only() -> None:
    def look(path: Path) -> Iterator[str]:
        yield from types_only(tree_of(path))
        yield from reads_only(tree_of(path))

    assert breaches(OUTSIDE, look) == {}


def test_the_ledger_gives_rows_and_no_question_to_go_on_with() -> None:
    for path in sorted((LEDGER / "queries").glob("*.py")):
        for node in tree_of(path).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                given = ast.unparse(node.returns) if node.returns else ""
                assert "QuerySet" not in given, node.name


def test_the_walls_see_a_breach() -> None:
    breach = (
        "def act(bin: Bin, it: Lot | None) -> list[Bin]:\n"
        "    bin.spot = 'rack'\n"
        "    it.photographs.filter(pk=1)\n"
        "    return Bin.objects.all()\n"
    )
    tree = ast.parse(breach)
    assert list(types_only(tree)) == ["line 4: Bin"]
    assert len(list(reads_only(tree))) == 2


@pytest.mark.parametrize(
    "once",
    [
        r"\b1_?000_?000\b(?!\))",  # the most pieces of anything
        r"\bDecimal\(1_?000_?000\)",  # the most money
        r"\b2_?147_?483_?647\b",  # the largest key of a row
        r"\{8\}.*\{4\}.*\{12\}",  # the form of a client's id
        'ledger.scan_id_reused",$',  # an id that came with something else
    ],
)
def test_a_limit_stands_in_one_place(once: str) -> None:
    found = [
        str(path.relative_to(ROOT))
        for room in ("inventory", "api")
        for path in sorted((ROOT / room).rglob("*.py"))
        if "migrations" not in path.parts
        for _each in re.finditer(once, path.read_text(), re.M)
    ]
    assert len(found) == 1, found


@pytest.mark.parametrize(
    ("name", "limit"),
    [
        ("most", rules.MAX_QUANTITY),
        ("few", rules.FEW),
        ("times", rules.TIMES),
        ("unknown", rules.UNKNOWN),
        ("tenth", rules.TENTH),
        ("twice", rules.TWICE),
        ("nearly_empty", NEARLY_EMPTY),
    ],
)
def test_the_device_knows_the_same_limit(name: str, limit: int) -> None:
    path = ROOT / "inventory" / "web" / "static" / "bench-data.js"
    assert re.search(rf'"{name}": {limit}\b', path.read_text())


VERBS = {each.value for each in Verb}


def verbs_as_texts(path: Path) -> Iterator[str]:
    """Lines where a verb is compared with a text."""
    for node in nodes_of(tree_of(path)):
        if isinstance(node, ast.Compare):
            texts = [
                each for each in node.comparators if isinstance(each, ast.Constant)
            ]
            compared = bool({each.value for each in texts} & VERBS)
            if compared and "verb" in ast.unparse(node.left):
                yield f"line {node.lineno}"


@pytest.mark.slow
def test_a_verb_is_compared_as_its_type() -> None:
    assert breaches(OUTSIDE, verbs_as_texts) == {}
