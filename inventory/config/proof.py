"""`manage.py test`: every check of the project, one after the other, none left out.

One after the other, because some tests measure times and would disturb one another.
"""

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from inventory.config import scripts, services
from inventory.config.bootstrap import ROOT, CannotStart, say


@dataclass(frozen=True)
class Step:
    """One check: its name, what is run, and what it finds in its environment."""

    name: str
    command: Sequence[str]
    extra: Mapping[str, str] = field(default_factory=dict)
    is_suite: bool = False


@dataclass(frozen=True)
class CheckResult:
    """How a check ended."""

    step: Step
    passed: bool
    closing: str
    seconds: float


def tool(name: str) -> str:
    """A program of this environment."""
    return str(Path(sys.prefix) / "bin" / name)


def manage(*arguments: str) -> list[str]:
    """A command of this project."""
    return [sys.executable, str(ROOT / "manage.py"), *arguments]


def static_steps() -> list[Step]:
    """What is checked without running a test."""
    deploy = manage("check", "--deploy", "--fail-level", "WARNING")
    return [
        Step("format", [tool("ruff"), "format", "--check"]),
        Step("lint", [tool("ruff"), "check"]),
        Step("walls", [tool("lint-imports")]),
        Step("locks", [sys.executable, "-m", "inventory.config.locks"]),
        Step("types", [tool("mypy")]),
        Step("script lint", scripts.lint()),
        Step("script types", scripts.types()),
        Step("migrations", manage("makemigrations", "--check", "--dry-run")),
        Step("deployment", deploy, {"GRIPCOUNT_HTTPS": "1"}),
    ]


# What knows no database is tested once, on the first engine.
ONLY_DATABASE = "--only-database"


def suites() -> list[Step]:
    """The tests, on both engines."""
    run = [tool("pytest"), "-q", "-m"]
    server = {"GRIPCOUNT_DATABASE": services.POSTGRES}
    second = [*run, "not browser", ONLY_DATABASE]
    return [
        Step("tests on SQLite", [*run, "not postgres"], is_suite=True),
        Step("tests on PostgreSQL", second, server, is_suite=True),
    ]


def quick_suite() -> list[Step]:
    """The tests that take less than a minute together."""
    return [Step("quick tests", [tool("pytest"), "-q"], is_suite=True)]


def main(arguments: Sequence[str]) -> int:
    """Run the checks; 0 if all passed, 1 if one did not, 2 if they cannot be run."""
    parser = argparse.ArgumentParser(prog="manage.py test", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="no servers, short tests")
    quick = parser.parse_args(arguments).quick
    try:
        scripts.ensure()
        if not quick:
            services.ensure()
    except CannotStart as reason:
        say(str(reason))
        return 2
    steps = static_steps() + (quick_suite() if quick else suites())
    with tempfile.TemporaryDirectory(prefix="gripcount-checks-") as folder:
        outcomes = [perform(step, folder) for step in steps]
    return report(outcomes)


# Of the caller's environment: the shop's settings, and what changes a tool's own.
KEPT_OUT = ("GRIPCOUNT_", "DJANGO_", "PYTEST_", "HYPOTHESIS_", "COVERAGE_")


def environment_for(
    step: Step, folder: str, environ: Mapping[str, str]
) -> dict[str, str]:
    """The caller's environment less what would meet a real shop or leave tests out."""
    plain = {k: v for k, v in environ.items() if not k.startswith(KEPT_OUT)}
    return {**plain, "GRIPCOUNT_DATA": folder, **step.extra}


def perform(step: Step, folder: str) -> CheckResult:
    """Run one check. A suite is shown as it goes, the others only when they fail."""
    began = time.monotonic()
    say(f"--- {step.name}")
    with subprocess.Popen(
        step.command,
        cwd=ROOT,
        env=environment_for(step, folder, os.environ),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    ) as process:
        lines = follow(process, aloud=step.is_suite)
    closing = next((line for line in reversed(lines) if line.strip()), "no output")
    passed = process.returncode == 0 and not (step.is_suite and left_out(closing))
    if not passed and not step.is_suite:
        say("".join(lines))
    seconds = time.monotonic() - began
    say(f"{'passed' if passed else 'FAILED'}: {step.name}, {seconds:.1f} s")
    return CheckResult(step, passed, closing.strip(), seconds)


def follow(process: "subprocess.Popen[str]", *, aloud: bool) -> list[str]:
    """Everything the process prints, line by line."""
    lines = []
    for line in process.stdout or []:
        lines.append(line)
        if aloud:
            say(line.rstrip("\n"))
    return lines


def left_out(closing: str) -> bool:
    """Whether pytest says that tests were skipped; deselected ones have their own run.

    >>> left_out("3 passed, 1 skipped in 0.1s"), left_out("3 passed, 2 deselected")
    (True, False)
    """
    return re.search(r"\b\d+ skipped\b", closing) is not None


def report(outcomes: Sequence[CheckResult]) -> int:
    """The sum of it all, the suites' own closing lines last."""
    failed = [each.step.name for each in outcomes if not each.passed]
    total = sum(each.seconds for each in outcomes)
    say("")
    say(f"{len(outcomes) - len(failed)} of {len(outcomes)} checks, {total:.0f} s")
    if failed:
        say(f"FAILED: {', '.join(failed)}")
    for each in outcomes:
        if each.step.is_suite:
            say(f"{each.step.name}: {each.closing}")
    return 1 if failed else 0
