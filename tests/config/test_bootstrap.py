"""The first start: what is installed, when, and that half of it never counts."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from inventory.config import bootstrap


@pytest.fixture
def lock(tmp_path):
    for name in ("run.txt", "test.txt"):
        (tmp_path / name).write_text(f"{name}==1\n")
    return tmp_path / "run.txt"


@pytest.fixture
def venv(tmp_path):
    """A folder that looks like an environment, its Python being this one."""
    folder = tmp_path / "venv"
    (folder / "bin").mkdir(parents=True)
    (folder / "bin" / "python").symlink_to(sys.executable)
    (folder / "pyvenv.cfg").touch()
    return folder


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        (["manage.py", "test"], "test.txt"),
        (["manage.py", "test", "--quick"], "test.txt"),
        (["manage.py", "serve", "--demo"], "run.txt"),
        (["manage.py"], "run.txt"),
    ],
)
def test_the_checks_need_more_than_the_program(arguments, name):
    lock = bootstrap.lock_for(arguments)
    assert lock.name == name
    assert "--hash=sha256:" in lock.read_text()


def test_the_checks_lock_contains_the_programs(lock):
    def pinned(path):
        lines = path.read_text().splitlines()
        return {line.split(" ")[0] for line in lines if "==" in line}

    run, test = (bootstrap.ROOT / ".lock" / name for name in ("run.txt", "test.txt"))
    assert pinned(run) <= pinned(test)
    assert len(pinned(run)) > 20


def test_an_environment_is_whole_once_stamped_until_its_lock_changes(venv, lock):
    assert not bootstrap.is_whole(venv, lock)
    bootstrap.write_stamp(venv, lock)
    assert bootstrap.is_whole(venv, lock)
    assert not bootstrap.is_whole(venv, lock.with_name("test.txt"))
    lock.write_text("run.txt==2\n")
    assert not bootstrap.is_whole(venv, lock)


def test_what_serves_the_checks_serves_the_program(venv, lock):
    bootstrap.write_stamp(venv, lock.with_name("test.txt"))
    assert bootstrap.is_whole(venv, lock)


def test_an_environment_whose_python_was_replaced_is_none(venv, lock):
    bootstrap.write_stamp(venv, lock)
    (venv / "bin" / "python").unlink()
    (venv / "bin" / "python").symlink_to("/bin/sh")
    assert not bootstrap.is_whole(venv, lock)


@pytest.mark.parametrize("fails_at", ["venv", "pip"])
def test_an_interrupted_install_is_never_taken_for_whole(
    venv, lock, monkeypatch, fails_at
):
    bootstrap.write_stamp(venv, lock)
    lock.write_text("run.txt==2\n")
    if fails_at == "venv":
        (venv / bootstrap.STAMP).unlink()

    def run(command):
        if fails_at in command:
            raise bootstrap.CannotStart

    monkeypatch.setattr(bootstrap, "run", run)
    monkeypatch.setattr(bootstrap, "get_system_packages", lambda: None)
    with pytest.raises(bootstrap.CannotStart):
        bootstrap.make(venv, lock)
    assert not bootstrap.is_whole(venv, lock)
    assert bootstrap.read_stamp(venv) == []


def test_a_half_made_environment_is_made_from_nothing(venv, lock, monkeypatch):
    commands = []
    monkeypatch.setattr(bootstrap, "run", commands.append)
    monkeypatch.setattr(bootstrap, "get_system_packages", lambda: None)
    bootstrap.make(venv, lock)
    assert "--clear" in commands[0]
    assert {"--require-hashes", "--only-binary"} <= set(commands[1])
    assert bootstrap.is_whole(venv, lock)
    lock.write_text("run.txt==2\n")
    bootstrap.make(venv, lock)
    assert len(commands) == 3
    assert "install" in commands[2]


def test_a_folder_that_is_no_environment_is_never_emptied(tmp_path):
    (tmp_path / "letters").touch()
    with pytest.raises(bootstrap.CannotStart, match="in the way"):
        bootstrap.refuse_foreign(tmp_path)
    assert (tmp_path / "letters").exists()


def test_a_folder_that_cannot_be_written_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr(bootstrap.os, "access", lambda path, _mode: path != tmp_path)
    with pytest.raises(bootstrap.CannotStart, match="GRIPCOUNT_VENV"):
        bootstrap.refuse_foreign(tmp_path / "deep" / "venv")


def lacking(monkeypatch, *, venv, zbar, root):
    calls = []
    monkeypatch.setattr(bootstrap, "_spec", lambda _name: venv)
    monkeypatch.setattr(bootstrap, "has_zbar", lambda: zbar)
    monkeypatch.setattr(bootstrap, "may_apt", lambda: root)
    monkeypatch.setattr(bootstrap, "apt_install", calls.append)
    return calls


def test_without_venv_and_rights_the_line_is_given(monkeypatch):
    calls = lacking(monkeypatch, venv=False, zbar=False, root=False)
    with pytest.raises(
        bootstrap.CannotStart, match="sudo apt install python3-venv libzbar0"
    ):
        bootstrap.get_system_packages()
    assert calls == []


def test_without_zbar_and_rights_the_start_goes_on(monkeypatch, capsys):
    calls = lacking(monkeypatch, venv=True, zbar=False, root=False)
    bootstrap.get_system_packages()
    assert "sudo apt install libzbar0" in capsys.readouterr().err
    assert calls == []


def test_root_says_what_it_installs_then_installs_it(monkeypatch, capsys):
    calls = lacking(monkeypatch, venv=True, zbar=False, root=True)
    bootstrap.get_system_packages()
    assert "Installing from Debian first: libzbar0" in capsys.readouterr().err
    assert calls == [["libzbar0"]]


def test_nothing_is_said_where_nothing_is_missing(monkeypatch, capsys):
    calls = lacking(monkeypatch, venv=True, zbar=True, root=True)
    bootstrap.get_system_packages()
    assert (capsys.readouterr().err, calls) == ("", [])


def test_another_folder_may_be_named(monkeypatch, tmp_path):
    monkeypatch.setenv("GRIPCOUNT_VENV", str(tmp_path))
    assert bootstrap.environment() == tmp_path
    monkeypatch.delenv("GRIPCOUNT_VENV")
    assert bootstrap.environment() == bootstrap.ROOT / ".venv"


@pytest.mark.parametrize(
    "module", ["bootstrap", "paths", "services", "proof", "supervisor", "demo"]
)
def test_what_runs_before_the_install_needs_nothing_installed(module):
    line = [sys.executable, "-S", "-c", f"import inventory.config.{module}"]
    done = subprocess.run(line, cwd=bootstrap.ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_an_old_python_is_told_so(tmp_path):
    start = bootstrap.ROOT / "manage.py"
    code = (
        "import runpy, sys; sys.version_info = (3, 9, 2);"
        f"sys.argv = ['manage.py', 'serve'];"
        f"runpy.run_path({str(start)!r}, run_name='__main__')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 2
    assert "needs Python 3.11 or newer, and this is 3.9.2" in done.stdout


@pytest.mark.parametrize("result", [0, 3])
def test_the_ci_runs_the_readmes_command_and_passes_its_end_on(tmp_path, result):
    (tmp_path / ".ci").mkdir()
    script = Path(tmp_path, ".ci", "run")
    script.write_bytes((bootstrap.ROOT / ".ci" / "run").read_bytes())
    script.chmod(0o755)
    readme = (
        "x\n\n```sh\nfalse\n```\n\n<!-- test -->\n\n```sh\necho tried; exit "
        f"{result}\n```\n\n```sh\nfalse\n```\n"
    )
    (tmp_path / "README.md").write_text(readme)
    done = subprocess.run(
        [script], capture_output=True, text=True, cwd="/", env=dict(os.environ)
    )
    assert done.returncode == result
    assert done.stdout.splitlines()[-1] == "tried"


def test_the_ci_refuses_a_readme_without_the_one_line(tmp_path):
    (tmp_path / ".ci").mkdir()
    script = tmp_path / ".ci" / "run"
    script.write_bytes((bootstrap.ROOT / ".ci" / "run").read_bytes())
    script.chmod(0o755)
    for readme in ("nothing", "<!-- test -->\n```\ntrue\ntrue\n```\n"):
        (tmp_path / "README.md").write_text(readme)
        done = subprocess.run([script], capture_output=True, text=True)
        assert done.returncode == 1
        assert "exactly one command" in done.stderr
