"""`python -m inventory.config.locks`: the oldest pip we promise would install each lock.

A lock that a newer pip takes may be refused by an older one, as soon as a package that
it pins asks for another by an extra and that one has a newer release. So both locks are
resolved, with their hashes, by the pip that Python 3.11 brought; nothing is installed.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from inventory.config.bootstrap import ROOT, pip_options

LOCKS = ROOT / ".lock"
Running = dict[Path, "subprocess.Popen[str]"]


def main() -> int:
    """0 when every lock is taken; else what pip said, and 1."""
    with tempfile.TemporaryDirectory(prefix="oldest-pip-") as folder:
        python = _empty_environment(Path(folder))
        failed = _failures(
            {
                LOCKS / name: _try(python, Path(folder), LOCKS / name)
                for name in ("run.txt", "test.txt")
            }
        )
    for lock, said in failed.items():
        print(f"{lock.name} cannot be installed by the oldest pip:\n{said}")
    return 1 if failed else 0


def _empty_environment(folder: Path) -> str:
    """An environment with nothing in it, so that every line is resolved anew."""
    ours = [sys.executable, "-m"]
    target = str(folder / "pip")
    oldest = ["--target", target, "-r", str(LOCKS / "pip.txt")]
    subprocess.run([*ours, "pip", "install", *pip_options(), *oldest], check=True)
    empty = folder / "empty"
    subprocess.run([*ours, "venv", "--without-pip", str(empty)], check=True)
    return str(empty / "bin" / "python")


def _try(python: str, folder: Path, lock: Path) -> "subprocess.Popen[str]":
    line = [python, "-m", "pip", "install", "--dry-run", *pip_options()]
    return subprocess.Popen(
        [*line, "-r", str(lock)],
        env={**os.environ, "PYTHONPATH": str(folder / "pip")},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def _failures(running: Running) -> dict[Path, str]:
    said = {lock: process.communicate()[0] for lock, process in running.items()}
    return {lock: said[lock] for lock, process in running.items() if process.returncode}


if __name__ == "__main__":
    sys.exit(main())
