"""Processes of our own that may die without harm: pictures are opened, plans solved there.

A child gets nothing of the environment but where programs and libraries are, so that
what it opens cannot learn a password; it is ended by whoever started it.
"""

import contextlib
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from subprocess import DEVNULL, PIPE

ROOT = Path(__file__).resolve().parent.parent
KEPT = ("PATH", "LD_LIBRARY_PATH", "SYSTEMROOT")
# One thing at a time gains nothing by threads, and each would take memory.
ALONE = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}


def module(name: str) -> tuple[str, ...]:
    """The arguments that run a module of ours, apart from the person's own Python."""
    return ("-E", "-s", "-m", name)


def start(
    arguments: Sequence[str], *, talks: bool = False
) -> "subprocess.Popen[bytes]":
    """A Python process with these arguments; what `talks` is heard on its pipes."""
    pipe = PIPE if talks else DEVNULL
    return subprocess.Popen(
        [sys.executable, *arguments],
        stdin=pipe,
        stdout=pipe,
        stderr=DEVNULL,
        cwd=ROOT,
        env=ALONE | {name: os.environ[name] for name in KEPT if name in os.environ},
    )


def end(child: "subprocess.Popen[bytes]") -> None:
    """Kill it where it still runs, reap it, and close its pipes."""
    child.kill()
    child.wait()
    for pipe in (child.stdin, child.stdout):
        if pipe is not None:
            # A pipe to a dead process may still hold bytes that go nowhere.
            with contextlib.suppress(OSError):
                pipe.close()
