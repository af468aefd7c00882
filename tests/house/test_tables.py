"""A shop that begins today has the tables of one that went through every migration."""

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from inventory import migrations
from inventory.config.bootstrap import ROOT
from tests.processes import unmeasured

pytestmark = pytest.mark.slow
AT_ONCE = "0001_squashed_0044.py"
_RULE = re.compile(r'CONSTRAINT "\w+" .*?(?=, CONSTRAINT "|, "\w+" |$)', re.DOTALL)


def tables_of(folder, **more):
    """The tables of a fresh shop, made as its settings say."""
    subprocess.run(
        [sys.executable, "-m", "django", "migrate", "-v0"],
        cwd=ROOT,
        env={**unmeasured(os.environ), "GRIPCOUNT_DATA": str(folder), **more},
        check=True,
    )
    with sqlite3.connect(folder / "gripcount.sqlite3") as shop:
        rows = shop.execute("SELECT type, name, tbl_name, sql FROM sqlite_master")
        return {
            name: described(shop, kind, table, sql)
            for kind, name, table, sql in rows.fetchall()
            if "autoindex" not in name
        }


def described(shop, kind, table, sql):
    """What a part of the tables says, in whatever order its columns stand."""
    if kind != "table":
        return kind, table, sql
    columns = shop.execute(f"PRAGMA table_info({table})")
    links = shop.execute(f"PRAGMA foreign_key_list({table})")
    rules = {" ".join(each.split()) for each in _RULE.findall(sql[:-1])}
    keys = shop.execute(f"PRAGMA index_list({table})").fetchall()
    only = {
        tuple(row[2] for row in shop.execute(f"PRAGMA index_info({name})"))
        for _seq, name, is_unique, *_rest in keys
        if is_unique
    }
    return {row[1:] for row in columns}, {row[2:] for row in links}, rules, only


def test_all_at_once_are_the_tables_of_one_after_another(tmp_path):
    place = Path(migrations.__file__).parent
    after = tmp_path / "one_after_another"
    ignored = shutil.ignore_patterns(AT_ONCE, "__pycache__")
    shutil.copytree(place, after, ignore=ignored)
    settings = tmp_path / "chained.py"
    settings.write_text(
        "from inventory.config.settings import *\n"
        'MIGRATION_MODULES = {"inventory": "one_after_another"}\n'
    )
    shops = [tmp_path / "once", tmp_path / "chain"]
    for each in shops:
        each.mkdir()
    once = tables_of(shops[0], DJANGO_SETTINGS_MODULE="inventory.config.settings")
    chain = tables_of(
        shops[1],
        DJANGO_SETTINGS_MODULE="chained",
        PYTHONPATH=f"{tmp_path}{os.pathsep}{ROOT}",
    )
    assert once.keys() == chain.keys()
    for name, told in chain.items():
        assert once[name] == told, name
