"""The scripts' tools: installed once, from their lock, and their laws bite."""

import json
import subprocess

import pytest

from inventory.config import scripts
from inventory.config.bootstrap import ROOT, CannotStart


@pytest.fixture
def folder(monkeypatch, tmp_path):
    """A folder of tools of our own, and every npm that was asked for."""
    (tmp_path / "package-lock.json").write_text("{}")
    tools, ran = tmp_path / "node_modules", []
    monkeypatch.setattr(scripts, "FOLDER", tmp_path)
    monkeypatch.setattr(scripts, "TOOLS", tools)
    monkeypatch.setattr(scripts, "STAMP", tools / "gripcount-lock")

    def run(command, **more):
        ran.append(command)
        tools.mkdir(exist_ok=True)
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(scripts.subprocess, "run", run)
    return tmp_path, ran


def test_they_are_installed_once_for_each_lock(folder):
    path, ran = folder
    scripts.ensure()
    scripts.ensure()
    assert [command[2] for command in ran] == ["ci"]
    (path / "package-lock.json").write_text('{"other": 1}')
    scripts.ensure()
    assert len(ran) == 2


def test_a_half_made_install_is_begun_anew(folder, monkeypatch):
    _path, ran = folder
    whole = scripts.subprocess.run
    failed = subprocess.CompletedProcess([], 1)
    monkeypatch.setattr(scripts.subprocess, "run", lambda *_, **__: failed)
    with pytest.raises(CannotStart, match="Begin again"):
        scripts.ensure()
    monkeypatch.setattr(scripts.subprocess, "run", whole)
    scripts.ensure()
    assert len(ran) == 1


def test_the_lock_holds_names_versions_and_hashes_and_no_address():
    text = (ROOT / ".js" / "package-lock.json").read_text()
    assert "://" not in text
    packages = json.loads(text)["packages"]
    assert all("integrity" in row for name, row in packages.items() if name)


LONG = "export function long() {\n" + "  long();\n" * 59 + "}\n"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "rule"),
    [
        (LONG, "max-lines-per-function"),
        ("// a line\n" * 251, "max-lines"),
        ("let open = 1;\nopen += 1;\n", "no-restricted-syntax"),
        ("export let open = 1;\n", "no-restricted-syntax"),
        ("there();\n", "no-undef"),
    ],
)
def test_the_laws_of_scripts_bite(text, rule):
    name = "inventory/web/static/bench.js"
    command = [*scripts.lint()[:-2], "--stdin", "--stdin-filename", name]
    done = subprocess.run(
        command, cwd=ROOT, input=text, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert rule in done.stdout
