"""`manage.py test`: no check is left out, and none can fail unseen."""

import os
import sys
from pathlib import Path

import pytest

from inventory.config import proof, services
from inventory.config.bootstrap import CannotStart


def step(code, *, is_suite=False):
    return proof.Step("a step", [sys.executable, "-c", code], is_suite=is_suite)


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
    ("code", "is_suite", "passed"),
    [
        ("print('3 passed in 1s')", True, True),
        ("print('3 passed, 1 skipped in 1s')", True, False),
        ("print('3 passed in 1s'); raise SystemExit(1)", True, False),
        ("raise SystemExit(5)", True, False),
        ("pass", False, True),
        ("raise SystemExit(1)", False, False),
    ],
)
def test_a_step_passes_only_when_all_of_it_did(tmp_path, code, is_suite, passed):
    outcome = proof.perform(step(code, is_suite=is_suite), str(tmp_path))
    assert outcome.passed is passed


def test_a_failing_static_step_shows_what_it_said(tmp_path, capsys):
    proof.perform(step("print('line 7 is wrong'); raise SystemExit(1)"), str(tmp_path))
    assert "line 7 is wrong" in capsys.readouterr().out


def test_one_failure_fails_the_whole_and_the_closing_lines_come_last(capsys):
    good = proof.CheckResult(step("", is_suite=True), True, "9 passed in 2s", 2.0)
    bad = proof.CheckResult(step(""), False, "wrong", 1.0)
    assert proof.report([good, good]) == 0
    assert proof.report([bad, good]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[-1] == "a step: 9 passed in 2s"
    assert "FAILED: a step" in lines


def test_no_check_meets_a_real_shop(tmp_path):
    real = {"GRIPCOUNT_DATA": "/home/x", "GRIPCOUNT_SMTP": "smtp://x", "PATH": "p"}
    found = proof.environment_for(step(""), str(tmp_path), real)
    assert found == {"GRIPCOUNT_DATA": str(tmp_path), "PATH": "p"}


def test_every_marker_runs_on_one_engine_or_the_other():
    sqlite, postgres = (each.command for each in proof.suites())
    assert sqlite[-1] == "not postgres"
    assert postgres[postgres.index("-m") + 1] == "not browser"


def test_what_runs_on_one_engine_only_touches_no_database():
    tests = Path(__file__).parent.parent
    pure = [*tests.glob("trade/*.py"), *tests.glob("sheets/*.py")]
    pure += tests.glob("*/test_rules*.py")
    touching = [path.name for path in pure if "django_db" in path.read_text()]
    assert pure
    assert touching == []


def test_the_programs_of_the_checks_are_there():
    for each in [*proof.static_steps(), *proof.suites()]:
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
    line = "sudo apt install --no-install-recommends chromium libzbar0"
    with pytest.raises(CannotStart, match=line):
        services.install(["chromium", "libzbar0"])


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
