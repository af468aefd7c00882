"""`manage.py test`: no check is left out, and none can fail unseen."""

import os
import subprocess
import sys
import tomllib
from itertools import chain
from pathlib import Path

import pytest
from django.conf import settings

from inventory.config import proof, services
from inventory.config.bootstrap import CannotStart
from tests import conftest


def step(code, *, name="a step", is_shown=False):
    return proof.Step(name, [sys.executable, "-c", code], is_shown=is_shown)


@pytest.mark.parametrize(
    ("closing", "expected"),
    [
        ("12 passed in 1.0s", False),
        ("12 passed, 40 deselected in 1.0s", False),
        ("12 passed, 1 skipped in 1.0s", True),
        ("12 passed, 1 skipped, 40 deselected in 1.0s", True),
        ("1 skipped in 1.0s", True),
    ],
)
def test_a_skipped_test_is_a_test_left_out(closing, expected):
    assert proof.left_out(closing) is expected


@pytest.mark.parametrize(
    ("code", "is_shown", "passed"),
    [
        ("print('3 passed in 1s')", True, True),
        ("print('3 passed, 1 skipped in 1s')", True, False),
        ("print('3 passed in 1s'); raise SystemExit(1)", True, False),
        ("raise SystemExit(5)", True, False),
        ("pass", False, True),
        ("raise SystemExit(1)", False, False),
    ],
)
def test_a_step_passes_only_when_all_of_it_did(tmp_path, code, is_shown, passed):
    outcome = proof.perform(step(code, is_shown=is_shown), str(tmp_path))
    assert outcome.passed is passed


def test_a_failing_static_step_shows_what_it_said(tmp_path, capsys):
    proof.perform(step("print('line 7 is wrong'); raise SystemExit(1)"), str(tmp_path))
    assert "line 7 is wrong" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("said", "closing"),
    [
        (
            "..s\n2 passed, 1 skipped in 0.12s\nHighs: a line",
            "2 passed, 1 skipped in 0.12s",
        ),
        ("1 passed in 0.1s\n\n3 failed, 1 passed in 60.25s (0:01:00)\n", None),
        ("All checks passed!\n\n", "All checks passed!"),
        ("", "no output"),
    ],
)
def test_the_closing_line_is_the_test_runners(said, closing):
    expected = closing or "3 failed, 1 passed in 60.25s (0:01:00)"
    assert proof.closing_of(said) == expected


def test_one_failure_fails_the_whole_and_the_closing_lines_come_last(capsys):
    good = proof.CheckResult(step("", is_shown=True), True, "9 passed in 2s", 2.0)
    bad = proof.CheckResult(step(""), False, "wrong", 1.0)
    assert proof.report([good, good]) == 0
    assert proof.report([bad, good]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[-1] == "a step: 9 passed in 2s"
    assert "FAILED: a step" in lines


def test_no_check_meets_a_real_shop(tmp_path):
    real = {"GRIPCOUNT_DATA": "/home/x", "GRIPCOUNT_SMTP": "smtp://x", "PATH": "p"}
    found = proof.environment_for(step(""), str(tmp_path), real)
    assert found.pop("GRIPCOUNT_DATA").startswith(str(tmp_path))
    assert found == {"COVERAGE_FILE": str(tmp_path / "coverage"), "PATH": "p"}


def test_nothing_around_it_leaves_a_test_or_an_assertion_out(tmp_path):
    around = {
        "PYTEST_ADDOPTS": "--collect-only",
        "PYTHONOPTIMIZE": "1",
        "HYPOTHESIS_DATABASE_FILE": "elsewhere",
        "COVERAGE_CORE": "pytrace",
        "DJANGO_SETTINGS_MODULE": "another",
    }
    found = proof.environment_for(step(""), str(tmp_path), around)
    assert not found.keys() & around.keys()


def test_two_checks_side_by_side_keep_folders_of_their_own(tmp_path):
    one, other = (
        proof.environment_for(step("", name=name), str(tmp_path), {})
        for name in ("tests on one", "tests on another")
    )
    assert one["GRIPCOUNT_DATA"] != other["GRIPCOUNT_DATA"]
    assert one["COVERAGE_FILE"] == other["COVERAGE_FILE"]


def test_two_checks_run_at_once_and_each_is_shown_in_one_piece(tmp_path, capsys):
    """Each waits for a sign of the other: one after the other they would never end."""
    code = (
        "import pathlib, time\n"
        "folder = pathlib.Path({folder!r})\n"
        "print('{own} first')\n"
        "(folder / '{own}').touch()\n"
        "while not (folder / '{other}').exists():\n"
        "    time.sleep(0.01)\n"
        "print('{own} last')\n"
    )
    steps = [
        step(
            code.format(folder=str(tmp_path), own=own, other=other),
            name=own,
            is_shown=True,
        )
        for own, other in (("red", "blue"), ("blue", "red"))
    ]
    outcomes = proof.side_by_side(steps, str(tmp_path))
    assert [(each.step.name, each.passed) for each in outcomes] == [
        ("red", True),
        ("blue", True),
    ]
    shown = capsys.readouterr().out
    assert "red first\nred last\npassed: red" in shown
    assert "blue first\nblue last\npassed: blue" in shown


def test_every_test_runs_on_one_engine_or_the_other():
    asked = [after("-m", each) for each in proof.suites()]
    first = "not postgres and not browser"
    assert asked == [first, first, first, "not browser", "not browser", "browser"]
    only = [proof.ONLY_DATABASE in each.command for each in proof.suites()]
    assert only == [False, False, False, True, True, False]


def after(option, step):
    """What a step says after an option."""
    return step.command[step.command.index(option) + 1]


def kept(modules, command):
    """Which modules a suite reads."""
    options = dict(zip(command, [*command[1:], None], strict=True))
    asked = {
        "--part": options.get("--part", "1/1"),
        "markexpr": options["-m"],
        "--only-database": "--only-database" in command,
    }
    return [each for each in modules if not conftest.left_out(each, asked.get)]


def test_the_parts_are_the_whole_and_share_nothing():
    modules = conftest.every_module()
    assert modules == sorted(Path(settings.ROOT, "tests").rglob("test_*.py"))
    for suites in (proof.suites()[:3], proof.suites()[3:5]):
        parts = [conftest.part_of(modules, after("--part", each)) for each in suites]
        assert sorted(chain.from_iterable(parts)) == modules
        assert max(map(len, parts)) - min(map(len, parts)) <= 1


def test_a_suite_leaves_out_no_module_that_holds_something_for_it():
    modules = [each for each in conftest.every_module() if each != Path(__file__)]
    *halves, browser = (kept(modules, each.command) for each in proof.suites()[3:])
    second = list(chain.from_iterable(halves))
    shown = [each for each in modules if "open_page(" in each.read_text()]
    assert shown
    assert set(shown) <= set(browser)
    asking = [each for each in modules if "django_db" in each.read_text()]
    assert set(asking) <= set(second) < set(modules)
    assert kept(modules, ["-m", "not slow"]) == modules


def run_measured(folder, *programs):
    """What the last check says of a tiny project after these programs ran, measured."""
    (folder / "pyproject.toml").write_text(
        "[tool.coverage.run]\nbranch = true\nparallel = true\nsource = ['.']\n"
        "[tool.coverage.report]\nfail_under = 95\n"
    )
    (folder / "shop.py").write_text(
        "import sys\nif sys.argv[1] == 'a':\n    print('a')\nelse:\n    print('b')\n"
    )
    data = str(folder / "coverage")
    measured = {"COVERAGE_PROCESS_START": str(folder / "pyproject.toml")}
    environ = {**os.environ, **measured, "COVERAGE_FILE": data}
    for each in programs:
        line = [sys.executable, "-E", "-s", "shop.py", each]
        subprocess.run(line, cwd=folder, env=environ, check=True)
    last = {**os.environ, "COVERAGE_FILE": data}
    return subprocess.run(
        proof.coverage().command, cwd=folder, env=last, capture_output=True, text=True
    )


@pytest.mark.slow
def test_what_the_suites_took_of_the_code_is_added_up_and_held(tmp_path):
    """Every process that starts under the sign writes its own; a floor holds the sum."""
    whole, half = tmp_path / "whole", tmp_path / "half"
    whole.mkdir()
    half.mkdir()
    done = run_measured(whole, "a", "b")
    assert (done.returncode, done.stdout.split()[-1]) == (0, "100")
    done = run_measured(half, "a")
    assert done.returncode != 0
    assert "less than fail-under=95" in done.stdout


def test_every_test_is_measured_once_and_the_floor_is_the_projects_own():
    measured = [step for step in proof.suites() if step.extra == proof.MEASURED]
    first = "not postgres and not browser"
    assert [after("-m", each) for each in measured] == [first] * 3 + ["browser"]
    config = Path(proof.MEASURED["COVERAGE_PROCESS_START"])
    project = tomllib.loads(config.read_text())["tool"]["coverage"]
    assert project["run"]["branch"] is True
    assert project["report"]["fail_under"] >= 95


@pytest.mark.parametrize(
    ("room", "may_ask"),
    [
        (
            "inventory",
            [
                "archiving",
                "backing",
                "checking",
                "copying",
                "restore",
                "running",
                "scans",
                "taking",
            ],
        ),
        ("api", []),
    ],
)
def test_what_is_not_measured_on_the_second_engine_ran_on_the_first(room, may_ask):
    """Only the proof of the record, what the shop runs on, a benchmark, backups and archives
    do; no test is for one engine alone."""
    root = settings.ROOT
    code = [
        path for path in root.glob(f"{room}/**/*.py") if "migrations" not in str(path)
    ]
    asking = [path.stem for path in code if ".vendor" in path.read_text()]
    tests = [path for path in root.glob("tests/**/*.py") if path != Path(__file__)]
    alone = [path.name for path in tests if "mark.postgres" in path.read_text()]
    assert code
    assert tests
    assert (sorted(asking), alone) == (may_ask, [])


def test_what_runs_on_one_engine_only_touches_no_database():
    tests = Path(__file__).parent.parent
    pure = [path for each in conftest.PURE for path in tests.glob(each)]
    touching = [path.name for path in pure if "django_db" in path.read_text()]
    assert pure
    assert touching == []


def test_the_programs_of_the_checks_are_there():
    for each in [*proof.static_steps(), *proof.suites(), proof.coverage()]:
        assert os.access(each.command[0], os.X_OK), each.name


def test_nothing_is_checked_when_the_services_cannot_be_had(monkeypatch, capsys):
    def refuse():
        raise CannotStart("sudo apt install everything")

    monkeypatch.setattr(services, "ensure", refuse)
    monkeypatch.setattr(proof, "perform", lambda *_: pytest.fail("ran all the same"))
    assert proof.main([]) == 2
    assert "sudo apt install everything" in capsys.readouterr().out


def test_without_rights_the_one_apt_line_is_given(monkeypatch):
    monkeypatch.setattr(services, "may_apt", lambda: False)
    line = "sudo apt install --no-install-recommends poppler-utils libzbar0"
    with pytest.raises(CannotStart, match=line):
        services.install(["poppler-utils", "libzbar0"])


def test_what_is_missing_is_found(monkeypatch):
    monkeypatch.setattr(services, "SERVERS", [])
    monkeypatch.setattr(services, "OTHERS", {"a": lambda: True, "b": lambda: False})
    assert services.missing_packages() == ["b"]


def test_while_installing_no_server_starts_by_itself(monkeypatch, tmp_path):
    policy = Path(tmp_path, "policy-rc.d")
    monkeypatch.setattr(services, "POLICY", policy)
    with services.services_stay_down():
        assert "exit 101" in policy.read_text()
        assert os.access(policy, os.X_OK)
    assert not policy.exists()
    policy.write_text("the machine's own")
    with services.services_stay_down():
        assert policy.read_text() == "the machine's own"
    assert policy.exists()
