"""The house stands: what is visible, how large, how pure, how complete."""

import ast
import re
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings as shop_settings
from django.core.management import call_command

from inventory.config.celery import app
from tests.house.trees import nodes_of, tree_of
from tests.pictures import PICTURES

ROOT = Path(shop_settings.ROOT)
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "pyproject.toml",
    "inventory",
    "api",
    "templates",
    "tests",
    "fixtures",
}
SOURCES = [
    path
    for room in ("inventory", "api")
    for path in sorted((ROOT / room).rglob("*.py"))
    if "migrations" not in path.parts
]


def test_the_visible_top_level_is_the_customers():
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    visible = {row.split("/")[0] for row in listed if not row.startswith(".")}
    assert visible <= TOP


@pytest.mark.slow
def test_files_and_functions_stay_small():
    assert SOURCES
    for path in SOURCES:
        assert len(path.read_text().splitlines()) <= 400, path
        for node in nodes_of(tree_of(path)):
            if isinstance(node, ast.FunctionDef):
                assert (node.end_lineno or 0) - node.lineno < 60, (path, node.name)


def test_scripts_stay_small():
    """Their functions are held by the lint of the scripts."""
    scripts = list((ROOT / "inventory").rglob("*.js"))
    large = [each.name for each in scripts if len(each.read_text().splitlines()) > 250]
    assert scripts
    assert large == []


def test_no_line_of_a_template_is_long():
    pages = list((ROOT / "templates").rglob("*.html"))
    lines = [
        (page.name, row) for page in pages for row in page.read_text().splitlines()
    ]
    assert pages
    assert [each for each in lines if len(each[1]) > 200] == []


@pytest.mark.slow
def test_pure_floors_load_no_framework():
    code = (
        "import sys, inventory.errors, inventory.sheets, inventory.trade.callouts, "
        "inventory.ledger.rules, inventory.forecasting.rules.readiness, "
        "inventory.planning.rules.lines, inventory.ordering.rules.lists, "
        "inventory.buying.rules.orderplan, inventory.buying.rules.passing, "
        "inventory.scanning.rules.bench, inventory.alerts.rules, inventory.catalog.rules\n"
        "sys.exit(sum(name in sys.modules for name in ('django', 'celery', 'rest_framework')))"
    )
    assert (
        subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode
        == 0
    )


def test_every_beat_entry_is_a_registered_task(settings):
    app.loader.import_default_modules()
    wanted = {row["task"] for row in settings.CELERY_BEAT_SCHEDULE.values()}
    assert wanted <= set(app.tasks)


def test_no_migration_imports_the_house():
    for path in (ROOT / "inventory" / "migrations").glob("0*.py"):
        text = path.read_text()
        assert "import inventory." not in text
        assert "from inventory" not in text.replace(
            "import inventory.people.models", ""
        )


def test_the_readme_has_exactly_two_commands():
    text = (ROOT / "README.md").read_text()
    for mark in ("run", "test"):
        block = text.split(f"<!-- {mark} -->", 1)[1].split("```")[1]
        assert len(block.strip().splitlines()) == 1


@pytest.mark.slow
@pytest.mark.django_db
def test_the_readmes_story_is_what_the_commands_print(owner, tmp_path):
    story = (ROOT / "README.md").read_text()
    for command in ("import_plan", "import_stock", "check_ledger"):
        said = StringIO()
        if command == "check_ledger":
            call_command(command, stdout=said)
        else:
            example, file = StringIO(), tmp_path / f"{command}.csv"
            call_command(command, "--template", stdout=example)
            file.write_text(example.getvalue())
            call_command(command, str(file), stdout=said)
        assert said.getvalue().strip() in story


def test_the_readmes_pictures_are_there_and_no_others():
    text = (ROOT / "README.md").read_text()
    shown = set(
        re.findall(r"!\[[^\]]{10,}\]\((fixtures/pictures/[a-z-]+\.png)\)", text)
    )
    kept = {f"fixtures/pictures/{each.name}" for each in PICTURES.iterdir()}
    assert shown == kept
    assert len(kept) == text.count("![")
