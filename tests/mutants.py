"""Do the tests bite? `python -m tests.mutants ROOM... [--count 60] [--seed 1]`.

Small faults are put into a room's functions, one at a time, drawn by a seed: a changed
comparison, bound, number or boolean, a lost return value, a deleted statement. A fault is
killed when a test of the room's own folder, of `tests/api` or of `tests/web` fails with
it. Only tests that run the faulty line are tried, the room's own and the quickest first.

All tests run once to see which lines each of them runs; then each fault is tried in a
process forked from that one, on a database of its own.
"""

import argparse
import ast
import contextlib
import copy
import gc
import os
import random
import shutil
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import CodeType, FunctionType

import coverage
import pytest
from _pytest.runner import runtestprotocol
from django.db import connection

from inventory.photos.opening import end_children

ROOT = Path(__file__).resolve().parent.parent
DOORS = ("tests/api", "tests/web")
# A fault that makes a test hang is killed after its usual time, so many times over.
PATIENCE, LEAST_PATIENCE = 10.0, 20.0
# How a forked process says that the fault could not be tried at all, or that nothing of
# the running program is what it changes: that one is left out of the count.
BROKEN, UNPLANTED = 2, 3
# So many tests are tried without a fault first.
CONTROLS = 40
OPPOSITE: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Lt: ast.GtE,
    ast.GtE: ast.Lt,
    ast.Gt: ast.LtE,
    ast.LtE: ast.Gt,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
BOUND: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
}
Change = Callable[[ast.AST], None]


@dataclass(frozen=True)
class Mutant:
    """A fault: its file and line, in words, the node of the tree and what is done to it."""

    path: Path
    line: int
    words: str
    at: int
    change: Change = field(compare=False)

    def tree(self) -> ast.Module:
        """The file's tree with the fault in it."""
        tree = ast.parse(self.path.read_text())
        self.change(list(ast.walk(tree))[self.at])
        return ast.fix_missing_locations(tree)


def sources(room: str) -> list[Path]:
    """The files of a room: a package of inventory, or the API."""
    folder = ROOT / room if room == "api" else ROOT / "inventory" / room
    if not folder.is_dir():
        raise SystemExit(f"There is no room {room}: name one of inventory's, or api.")
    return sorted(folder.rglob("*.py"))


def mutants(path: Path) -> Iterator[Mutant]:
    """Every fault that can be put into a file's functions and constants."""
    tree = ast.parse(path.read_text())
    alive = set(map(id, _living(tree)))
    for at, node in enumerate(ast.walk(tree)):
        if id(node) in alive:
            for words, change in faults(node):
                yield Mutant(path, getattr(node, "lineno", 0), words, at, change)


def _living(tree: ast.Module) -> Iterator[ast.AST]:
    """Nodes whose change a test could see: not annotations, texts or docstrings."""
    for top in _tops(tree):
        if isinstance(top, ast.FunctionDef):
            yield top
            for child in top.body:
                yield from _inside(child)
        else:
            yield from _inside(top.value)


def _tops(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.Assign]:
    """Functions of the module and of its classes, and the module's constants."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            yield node
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant):
            yield node
        if isinstance(node, ast.ClassDef):
            for each in node.body:
                if isinstance(each, ast.FunctionDef) and each.name != "__str__":
                    yield each


def _inside(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.AnnAssign):
        yield from _inside(node.value) if node.value else ()
        return
    yield node
    for child in ast.iter_child_nodes(node):
        yield from _inside(child)


def faults(node: ast.AST) -> Iterator[tuple[str, Change]]:
    """What can be wrong at a node, in words, and how to make it so."""
    yield from _comparisons(node)
    yield from _values(node)
    yield from _statements(node)


def _comparisons(node: ast.AST) -> Iterator[tuple[str, Change]]:
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        for name, table in (("comparison", OPPOSITE), ("bound", BOUND)):
            other = table.get(type(node.ops[0]))
            if other:
                yield f"{name} {type(node.ops[0]).__name__}", _set("ops", [other()])
    if isinstance(node, ast.BoolOp):
        other_op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield f"boolean {type(node.op).__name__}", _set("op", other_op)
    if isinstance(node, ast.IfExp | ast.If | ast.While) and isinstance(
        node.test, ast.UnaryOp
    ):
        yield "boolean not", _set("test", node.test.operand)


def _values(node: ast.AST) -> Iterator[tuple[str, Change]]:
    if isinstance(node, ast.Constant):
        if isinstance(node.value, bool):
            yield f"boolean {node.value}", _set("value", not node.value)
        elif isinstance(node.value, int | float):
            yield f"number {node.value}", _set("value", node.value + 1)
    if isinstance(node, ast.Return) and node.value is not None:
        is_none = isinstance(node.value, ast.Constant) and node.value.value is None
        if not is_none:
            yield "return", _set("value", ast.Constant(None))


def _statements(node: ast.AST) -> Iterator[tuple[str, Change]]:
    for name in ("body", "orelse", "finalbody"):
        rows = getattr(node, name, None)
        for at, row in enumerate(rows if isinstance(rows, list) else ()):
            if isinstance(row, ast.Expr | ast.Assign | ast.AugAssign | ast.Raise):
                text = isinstance(row, ast.Expr) and isinstance(row.value, ast.Constant)
                if not text:
                    yield f"deleted line {row.lineno}", _drop(name, at)


def _set(name: str, value: object) -> Change:
    return lambda node: setattr(node, name, copy.deepcopy(value))


def _drop(name: str, at: int) -> Change:
    def change(node: ast.AST) -> None:
        getattr(node, name)[at] = ast.copy_location(ast.Pass(), getattr(node, name)[at])

    return change


def plant(mutant: Mutant) -> bool:
    """Put the fault into the running program: functions that exist, and constants.

    Whether anything was changed: what ran once, at import, has made what it made.
    """
    tree = mutant.tree()
    codes = {
        (code.co_qualname, code.co_firstlineno): code
        for code in _codes(compile(tree, str(mutant.path), "exec"))
    }
    planted = False
    for each in _functions().get(str(mutant.path), ()):
        old = each.__code__
        fresh = codes.get((old.co_qualname, old.co_firstlineno))
        if fresh and not fresh.co_freevars:
            # What the fault took the last use of, `super()` say, is closed over still.
            fresh = fresh.replace(co_freevars=old.co_freevars)
        if fresh and fresh.co_freevars == old.co_freevars:
            planted |= fresh.co_code != old.co_code or fresh.co_consts != old.co_consts
            each.__code__ = fresh
    return _plant_constant(tree, mutant.path) or planted


@cache
def _functions() -> dict[str, list[FunctionType]]:
    """The program's functions by file, found once, before the first fork.

    To look at every object makes a fork copy all memory; so would its own collector,
    which leaves alone what is frozen. What is frozen is not listed either: a suite that
    froze what it collected would let every fault survive, unplanted.
    """
    gc.unfreeze()
    found: dict[str, list[FunctionType]] = defaultdict(list)
    for each in gc.get_objects():
        # Not isinstance: that would wake lazy objects, which look like anything.
        if type(each) is FunctionType:
            found[each.__code__.co_filename].append(each)
    gc.freeze()
    if not any(path.startswith(str(ROOT / "inventory")) for path in found):
        raise SystemExit("None of the program's functions was found to be changed.")
    return found


def _codes(code: CodeType) -> Iterator[CodeType]:
    for each in code.co_consts:
        if isinstance(each, CodeType):
            yield each
            yield from _codes(each)


def _plant_constant(tree: ast.Module, path: Path) -> bool:
    """A constant may have been imported by name: it is changed wherever it stands."""
    planted = False
    before = ast.parse(path.read_text())
    for old, new in zip(before.body, tree.body, strict=True):
        if isinstance(old, ast.Assign) and ast.dump(old) != ast.dump(new):
            (name,) = [each.id for each in old.targets if isinstance(each, ast.Name)]
            value, fresh = ast.literal_eval(old.value), ast.literal_eval(new.value)
            for module in list(sys.modules.values()):
                ours = getattr(module, "__name__", "").startswith(("inventory", "api"))
                if ours and vars(module).get(name) == value:
                    setattr(module, name, fresh)
                    planted = True
    return planted


class Onward:
    """Stands for a next test of which only the session is known: that stays set up."""

    def __init__(self, item: pytest.Item) -> None:
        self.session = item.session

    def listchain(self) -> list[pytest.Session]:
        """What must stay: the session's own fixtures, the database among them."""
        return [self.session]


@dataclass
class Verdict:
    """What became of one fault."""

    mutant: Mutant
    killed: bool
    tried: int
    why: str = ""

    @property
    def words(self) -> str:
        """'survived: inventory/ledger/rules.py:12 number 1 (4 tests passed)'."""
        where = f"{self.mutant.path.relative_to(ROOT)}:{self.mutant.line}"
        said = self.why or f"{self.tried} tests passed"
        end = "killed" if self.killed else f"survived ({said})"
        return f"{where} {self.mutant.words}: {end}"


class Trial:
    """The plugin: runs the tests once, then each fault against those that reach it."""

    def __init__(self, rooms: list[str], count: int, seed: int, jobs: int) -> None:
        self.rooms, self.count, self.seed, self.jobs = rooms, count, seed, jobs
        self.seconds: dict[str, float] = defaultdict(float)
        self.failed: set[str] = set()
        self.verdicts: dict[str, list[Verdict]] = {}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.seconds[report.nodeid] += report.duration
        if report.failed:
            self.failed.add(report.nodeid)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Instead of pytest's own loop."""
        items = session.items
        reached = self._reached(items)
        if self.failed:
            raise SystemExit(f"Without any fault these fail: {sorted(self.failed)}")
        end_children()
        _functions()
        _proven_harmless(items[:: max(1, len(items) // CONTROLS)])
        by_name = {item.nodeid: item for item in items}
        for room in self.rooms:
            rng = random.Random(f"{self.seed} {room}")
            every = [each for path in sources(room) for each in mutants(path)]
            drawn = rng.sample(every, min(self.count, len(every)))
            tried = [(each, self._tests(room, each, reached)) for each in drawn]
            self.verdicts[room] = rows = []
            for row in self._judged(tried, by_name):
                rows.append(row)
                session.config.get_terminal_writer().line(f"{room}: {row.words}")
        return True

    def _reached(self, items: list[pytest.Item]) -> dict[tuple[str, int], set[str]]:
        """The tests that run each line."""
        cov = coverage.Coverage(
            data_file=None, source=[str(ROOT / "inventory"), str(ROOT / "api")]
        )
        cov.start()
        for item, after in zip(items, [*items[1:], Onward(items[0])], strict=True):
            cov.switch_context(item.nodeid)
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
        cov.stop()
        found: dict[tuple[str, int], set[str]] = defaultdict(set)
        data = cov.get_data()
        for path in data.measured_files():
            for line, names in data.contexts_by_lineno(path).items():
                found[path, line] |= set(names) - {""}
        return found

    def _tests(
        self, room: str, mutant: Mutant, reached: dict[tuple[str, int], set[str]]
    ) -> list[str]:
        """The room's own first, then the doors', each the quickest first."""
        line = mutant.line
        if mutant.words.startswith("deleted line"):
            line = int(mutant.words.rpartition(" ")[2])
        own = f"tests/{room}/"
        allowed = (own, *(f"{door}/" for door in DOORS))
        names = [n for n in self._at(mutant, line, reached) if n.startswith(allowed)]
        return sorted(names, key=lambda n: (not n.startswith(own), self.seconds[n]))

    @staticmethod
    def _at(
        mutant: Mutant, line: int, reached: dict[tuple[str, int], set[str]]
    ) -> Iterable[str]:
        """Tests that run the line's statement; of a constant, all that run its file.

        A statement of many lines may have none of its own on the first.
        """
        path, tree = str(mutant.path), ast.parse(mutant.path.read_text())
        *_around, inner = (
            each
            for each in ast.walk(tree)
            if isinstance(each, ast.stmt)
            and each.lineno <= line <= (each.end_lineno or 0)
        )
        if inner in tree.body:
            return {n for (p, _l), names in reached.items() if p == path for n in names}
        lines = range(inner.lineno, (inner.end_lineno or 0) + 1)
        return {n for each in lines for n in reached.get((path, each), ())}

    def _judged(
        self,
        tried: list[tuple[Mutant, list[str]]],
        by_name: dict[str, pytest.Item],
    ) -> Iterator[Verdict]:
        """Each fault in a process of its own, a few at a time."""
        running: dict[int, tuple[Mutant, list[str], float]] = {}
        waiting = list(reversed(tried))
        while waiting or running:
            while waiting and len(running) < self.jobs:
                mutant, names = waiting.pop()
                if not names:
                    yield Verdict(mutant, False, 0, "no test runs it")
                    continue
                patience = PATIENCE * sum(self.seconds[n] for n in names)
                until = time.monotonic() + max(LEAST_PATIENCE, patience)
                pid = _forked(mutant, [by_name[n] for n in names])
                running[pid] = (mutant, names, until)
            yield from _ended(running)


def _ended(running: dict[int, tuple[Mutant, list[str], float]]) -> Iterator[Verdict]:
    for pid, (mutant, names, until) in list(running.items()):
        done, status = os.waitpid(pid, os.WNOHANG)
        hangs = not done and time.monotonic() > until
        if hangs:
            os.killpg(pid, 9)
            done, status = os.waitpid(pid, 0)
        if done:
            del running[pid]
            _database_of(pid).unlink(missing_ok=True)
            code = os.waitstatus_to_exitcode(status)
            if code == BROKEN:
                raise SystemExit(f"This fault could not be planted: {mutant}")
            if code != UNPLANTED:
                yield Verdict(mutant, code != 0, len(names), "hangs" if hangs else "")
    time.sleep(0.01)


def _proven_harmless(items: list[pytest.Item]) -> None:
    """Where nothing is planted, nothing may fail: else every fault would seem killed."""
    _pid, status = os.waitpid(_forked(None, items), 0)
    if status:
        raise SystemExit("Tests fail in a forked process even without a fault.")


def _forked(mutant: Mutant | None, items: list[pytest.Item]) -> int:
    """A process that leaves with 1 at the first test that fails.

    Without a fault the failure is told; with one it is what was hoped for.
    """
    pid = os.fork()
    if pid:
        return pid
    code = BROKEN
    with contextlib.suppress(BaseException):
        os.setpgid(0, 0)
        _own_database()
        if mutant is not None:
            nothing = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nothing, 1)
            os.dup2(nothing, 2)
            if not plant(mutant):
                os._exit(UNPLANTED)
        failed = next((each for item in items for each in _failures(item)), None)
        if failed is not None and mutant is None:
            print(f"{failed.nodeid}\n{failed.longreprtext}", file=sys.__stderr__)
        code = 0 if failed is None else 1
    os._exit(code)


def _database_of(pid: int) -> Path:
    """The copy of the test database that a forked process works on."""
    name = Path(connection.settings_dict["NAME"])
    return name.with_name(f"{name.stem}-{pid}{name.suffix}")


def _own_database() -> None:
    connection.close()
    fresh = _database_of(os.getpid())
    shutil.copy(connection.settings_dict["NAME"], fresh)
    connection.settings_dict["NAME"] = str(fresh)


def _failures(item: pytest.Item) -> list[pytest.TestReport]:
    reports = runtestprotocol(item, log=False, nextitem=Onward(item))
    return [each for each in reports if each.failed]


def main() -> int:
    """Print the survivors and a table by room."""
    parser = argparse.ArgumentParser(prog="tests.mutants", description=__doc__)
    parser.add_argument("rooms", nargs="+")
    parser.add_argument("--count", type=int, default=60, help="faults a room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    asked = parser.parse_args()
    trial = Trial(asked.rooms, asked.count, asked.seed, asked.jobs)
    folders = [f"tests/{room}" for room in asked.rooms if room != "api"]
    marks = "not browser and not postgres"
    options = ["-q", "-m", marks]
    pytest.main([*options, *DOORS, *folders], plugins=[trial])
    return report(trial)


def report(trial: Trial) -> int:
    """Survivors first, then how many of each room's faults were killed."""
    for rows in trial.verdicts.values():
        for row in rows:
            if not row.killed:
                print(row.words)
    print(f"seed {trial.seed}")
    for room, rows in trial.verdicts.items():
        killed = sum(row.killed for row in rows)
        print(f"{room}: {killed} of {len(rows)} killed, {killed / len(rows):.0%}")
    return 0 if trial.verdicts else 1


if __name__ == "__main__":
    sys.exit(main())
