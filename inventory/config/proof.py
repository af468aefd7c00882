"""`manage.py test`: every check of the project, none left out, six side by side.

No check needs another's outcome but the last, which holds what the suites took of the
code. What a check says is shown in one piece, when it has ended.
"""

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
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
    is_shown: bool = False


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
ONLY_DATABASE, FIRST = "--only-database", "not postgres and not browser"
# Every Python that starts with this in its environment measures what it runs.
# Source: coverage.py's documentation, 'Measuring subprocesses'.
MEASURED = {"COVERAGE_PROCESS_START": str(ROOT / "pyproject.toml")}


def suites() -> list[Step]:
    """The tests, on both engines: SQLite's in thirds, PostgreSQL's in halves.

    Measuring doubles a suite's time. Hardly a line of the code asks which engine it runs
    on: the second one's tests run again what was measured on the first.
    """
    server = {"GRIPCOUNT_DATABASE": services.POSTGRES}
    return [
        *(
            suite(f"tests on SQLite, {part}", "-m", FIRST, "--part", part, **MEASURED)
            for part in ("1/3", "2/3", "3/3")
        ),
        *(
            suite(
                f"tests on PostgreSQL, {part}",
                *("-m", "not browser", ONLY_DATABASE, "--part", part),
                **server,
            )
            for part in ("1/2", "2/2")
        ),
        suite("tests in the browser", "-m", "browser", **MEASURED),
    ]


def suite(name: str, *options: str, **extra: str) -> Step:
    """Tests, and what they find in their environment."""
    return Step(name, [tool("pytest"), "-q", *options], extra, is_shown=True)


def coverage() -> Step:
    """What all suites took together of the code's lines and branches, against the floor."""
    line = '"$0" combine -q && "$0" report && "$0" report --format=total'
    return Step("coverage", ["/bin/sh", "-c", line, tool("coverage")], is_shown=True)


def quick_suite() -> list[Step]:
    """The tests that take less than a minute together."""
    return [Step("quick tests", [tool("pytest"), "-q"], is_shown=True)]


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
    # The longest first, so that all end at about the same time.
    steps = (quick_suite() if quick else suites()) + static_steps()
    with tempfile.TemporaryDirectory(prefix="gripcount-checks-") as folder:
        outcomes = side_by_side(steps, folder)
        if not quick:
            outcomes.append(perform(coverage(), folder))
    return report(outcomes)


def side_by_side(steps: Sequence[Step], folder: str) -> list[CheckResult]:
    """Run the checks, six at a time; stopped by hand, none begins any more.

    A suite waits now and then, for a letter or a child, and suites are of unlike length:
    one to a core would leave a core idle.
    """
    pool = ThreadPoolExecutor(6)
    try:
        return list(pool.map(lambda step: perform(step, folder), steps))
    finally:
        pool.shutdown(cancel_futures=True)


# Of the caller's environment: the shop's settings, and what changes a tool's own;
# PYTHONOPTIMIZE would drop what is asserted.
KEPT_OUT = ("GRIPCOUNT_", "DJANGO_", "PYTHON", "PYTEST_", "HYPOTHESIS_", "COVERAGE_")


def environment_for(
    step: Step, folder: str, environ: Mapping[str, str]
) -> dict[str, str]:
    """The caller's environment less what would meet a real shop or leave tests out."""
    plain = {k: v for k, v in environ.items() if not k.startswith(KEPT_OUT)}
    own = Path(folder, re.sub(r"\W+", "-", step.name))
    written = {"GRIPCOUNT_DATA": str(own), "COVERAGE_FILE": f"{folder}/coverage"}
    return {**plain, **written, **step.extra}


def perform(step: Step, folder: str) -> CheckResult:
    """Run one check. Suites show what they said, the others only when they fail."""
    began = time.monotonic()
    say(f"--- {step.name}")
    done = subprocess.run(
        step.command,
        cwd=ROOT,
        env=environment_for(step, folder, os.environ),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        check=False,
    )
    closing = closing_of(done.stdout)
    passed = done.returncode == 0 and not (step.is_shown and left_out(closing))
    seconds = time.monotonic() - began
    ending = f"{'passed' if passed else 'FAILED'}: {step.name}, {seconds:.1f} s"
    shown = step.is_shown or not passed
    # In one call, so that another check's words do not come in between.
    say(f"{done.stdout.rstrip()}\n{ending}" if shown else ending)
    return CheckResult(step, passed, closing, seconds)


# What pytest ends with: '3 passed, 1 skipped in 0.12s'.
_SUMMARY = re.compile(r"\b\d+ (passed|failed|skipped|errors?)\b.* in [0-9.]+s\b")


def closing_of(said: str) -> str:
    """The test runner's last word; a library may still print a line after it.

    >>> closing_of("3 passed in 0.12s\\na solver's line"), closing_of("a\\nb\\n\\n")
    ('3 passed in 0.12s', 'b')
    """
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    endings = [line for line in lines if _SUMMARY.search(line)]
    return next(reversed(endings or lines), "no output")


def left_out(closing: str) -> bool:
    """Whether pytest says that tests were skipped; deselected ones have their own run.

    >>> left_out("3 passed, 1 skipped in 0.1s"), left_out("3 passed, 2 deselected")
    (True, False)
    """
    return re.search(r"\b\d+ skipped\b", closing) is not None


def report(outcomes: Sequence[CheckResult]) -> int:
    """The sum of it all, the suites' own closing lines last."""
    failed = [each.step.name for each in outcomes if not each.passed]
    say("")
    say(f"{len(outcomes) - len(failed)} of {len(outcomes)} checks")
    if failed:
        say(f"FAILED: {', '.join(failed)}")
    for each in outcomes:
        if each.step.is_shown:
            say(f"{each.step.name}: {each.closing}")
    return 1 if failed else 0
