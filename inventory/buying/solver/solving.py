"""Solving an order plan in a child process: progress, a limit, and a way to stop it."""

import json
import subprocess
import tempfile
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from inventory import children
from inventory.buying.rules.orderplan import Problem, Solution
from inventory.buying.rules.passing import plan_of, problem_data
from inventory.buying.rules.proof import broken
from inventory.buying.rules.reach import Reachable, reachable
from inventory.errors import Refused

GAP = 0.001
SECONDS = 30
# Starting and writing take time beside the solving itself.
GRACE_SECONDS = 20.0
POLL_SECONDS = 0.05
CHILD = children.module("inventory.buying.solver.child")
SENTENCES = {
    "time": "No plan was found in the time allowed: give it longer, or ask for fewer "
    "days ahead.",
    "died": "The solver ended without an answer: ask again; the last plan stays.",
    "stopped": "The solver was stopped; the last plan stays.",
    "unsound": "The solver's plan did not hold when it was checked, so it is not shown: "
    "ask again with more time.",
}
Tick = Callable[[float], bool]


def solve(
    problem: Problem,
    *,
    gap: float = GAP,
    limit: float = SECONDS,
    tick: Tick = lambda elapsed: True,
) -> Solution:
    """The cheapest plan found for what can be had, checked piece by piece.

    `tick` is told the seconds gone by and answers whether to go on.
    Errors: `supply.solver_time`, `.solver_died`, `.solver_stopped`, `.solver_unsound`.
    """
    within = reachable(problem)
    with tempfile.TemporaryDirectory(prefix="order-plan-") as folder:
        answer = _asked(Path(folder), within.problem, (gap, limit), tick)
    return checked(within, answer)


def checked(within: Reachable, answer: Mapping[str, Any]) -> Solution:
    """An answer as a plan, checked piece by piece, with what is out of reach.

    Errors: `supply.solver_time`, `.solver_died`, `.solver_unsound`.
    """
    if "refused" in answer:
        raise _refused("time" if answer["refused"] == "time" else "died")
    plan = plan_of(answer)
    if broken(within.problem, plan):
        raise _refused("unsound")
    return replace(plan, missed=[*within.missed, *plan.missed])


def _refused(code: str) -> Refused:
    return Refused(f"supply.solver_{code}", SENTENCES[code])


def _asked(
    folder: Path, problem: Problem, terms: tuple[float, float], tick: Tick
) -> dict[str, Any]:
    """The child's answer. A child that dies or dawdles is a refusal."""
    (folder / "problem.json").write_text(json.dumps(problem_data(problem)))
    child = children.start([*CHILD, str(folder), *map(str, terms)])
    try:
        _wait(child, terms[1], tick)
    finally:
        children.end(child)
    try:
        answer: dict[str, Any] = json.loads((folder / "answer.json").read_text())
    except (OSError, ValueError) as error:
        raise _refused("died") from error
    return answer


def _wait(child: "subprocess.Popen[bytes]", limit: float, tick: Tick) -> None:
    started = last_tick = time.monotonic()
    while child.poll() is None:
        now = time.monotonic()
        if now - started > limit + GRACE_SECONDS:
            raise _refused("time")
        if now - last_tick >= 1:
            last_tick = now
            if not tick(now - started):
                raise _refused("stopped")
        time.sleep(POLL_SECONDS)
