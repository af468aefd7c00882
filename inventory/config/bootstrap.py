"""From a bare Python 3.11 to the project's own environment, and into it.

Standard library only: it runs before anything is installed. A stamp in the environment
names the locks it was made from. It is written last, so that an interrupted install is
never taken for a whole one: without it the environment is made again from nothing.
"""

import ctypes
import fcntl
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
STAMP = "gripcount-locks"


class CannotStart(Exception):
    """Something stands in the way; the text says what, and what to do about it."""


def say(text: str) -> None:
    """One sentence to the person at the terminal, at once."""
    print(text, flush=True)


def note(text: str) -> None:
    """One sentence beside the answer: what a command prints stays clean for scripts."""
    print(text, file=sys.stderr, flush=True)


def lock_for(arguments: Sequence[str]) -> Path:
    """The lock that the command needs; the checks need more than the program."""
    name = "test.txt" if arguments[1:2] == ["test"] else "run.txt"
    return ROOT / ".lock" / name


def locks_met_by(lock: Path) -> list[Path]:
    """The locks an environment made from `lock` satisfies: test.txt contains run.txt."""
    return [lock] if lock.name == "run.txt" else [lock.with_name("run.txt"), lock]


def fingerprint(lock: Path) -> str:
    """What the stamp holds for one lock."""
    return hashlib.sha256(lock.read_bytes()).hexdigest()


def environment() -> Path:
    """The environment's folder: .venv, or the one GRIPCOUNT_VENV names."""
    named = os.environ.get("GRIPCOUNT_VENV")
    return Path(named).expanduser().absolute() if named else ROOT / ".venv"


def interpreter(folder: Path) -> str:
    """The Python behind the environment; another one after a system upgrade."""
    return str((folder / "bin" / "python").resolve())


def read_stamp(folder: Path) -> list[str]:
    """The stamp's lines: the Python it was made with, then the locks' fingerprints."""
    stamp = folder / STAMP
    lines = stamp.read_text().splitlines() if stamp.is_file() else []
    # An environment whose Python is gone or replaced is as good as none.
    sound = lines[:1] == [interpreter(folder)] and Path(lines[0]).is_file()
    return lines if sound else []


def write_stamp(folder: Path, lock: Path) -> None:
    """Say that the environment is whole."""
    met = [fingerprint(each) for each in locks_met_by(lock)]
    (folder / STAMP).write_text("\n".join([interpreter(folder), *met]))


def is_whole(folder: Path, lock: Path) -> bool:
    """Whether `folder` was made, to the end, from `lock` as it is now."""
    return fingerprint(lock) in read_stamp(folder)


def is_inside(folder: Path) -> bool:
    """Whether this Python is the environment's own."""
    return folder.is_dir() and os.path.samefile(sys.prefix, folder)


def is_kept_by_hand(folder: Path) -> bool:
    """Whether someone made this environment without us and runs inside it now."""
    made_here = (folder / STAMP).is_file()
    return not made_here and is_inside(folder) and bool(_spec("django"))


def has_zbar() -> bool:
    """Whether the system's library that decodes photos is here."""
    try:
        ctypes.CDLL("libzbar.so.0")
    except OSError:
        return False
    return True


def system_packages(*, venv: bool, zbar: bool) -> list[str]:
    """What is missing of the two things only the system can give."""
    return ["python3-venv"] * (not venv) + ["libzbar0"] * (not zbar)


def may_apt() -> bool:
    """Whether this process may install system packages."""
    return os.geteuid() == 0 and shutil.which("apt-get") is not None


def apt_install(packages: Sequence[str]) -> bool:
    """Install system packages without a question; whether that went well."""
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    # The lists may be absent or old. If this fails, the install says so itself.
    subprocess.run(["apt-get", "update", "-qq"], env=quiet, check=False)
    line = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages]
    done = subprocess.run(line, env=quiet, check=False, stdout=subprocess.DEVNULL)
    importlib.invalidate_caches()
    return done.returncode == 0


def enter(arguments: Sequence[str]) -> None:
    """Return inside the project's environment, making it first if need be."""
    folder, lock = environment(), lock_for(arguments)
    try:
        if not is_whole(folder, lock) and not is_kept_by_hand(folder):
            make_alone(folder, lock)
    except CannotStart as reason:
        print(reason, file=sys.stderr)
        raise SystemExit(2) from None
    except KeyboardInterrupt:
        print("Stopped. The next start begins the install anew.", file=sys.stderr)
        raise SystemExit(130) from None
    if not is_inside(folder):
        python = str(folder / "bin" / "python")
        os.execv(python, [python, *arguments])


def make_alone(folder: Path, lock: Path) -> None:
    """Make the environment, or wait for another start that is at it."""
    with open(lock, "rb") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)
        if not is_whole(folder, lock):
            make(folder, lock)


def make(folder: Path, lock: Path) -> None:
    """Make the environment from the lock, and stamp it when that is done."""
    refuse_foreign(folder)
    count = sum("==" in line for line in lock.read_text().splitlines())
    note(f"Installing {count} Python packages into {folder} (needed once, 20 s or so).")
    get_system_packages()
    reusable = bool(read_stamp(folder))
    (folder / STAMP).unlink(missing_ok=True)
    python = str(folder / "bin" / "python")
    if not reusable:
        run([sys.executable, "-m", "venv", "--clear", str(folder)])
    run([python, "-m", "pip", "install", *pip_options(), "-r", str(lock)])
    write_stamp(folder, lock)


def pip_options() -> list[str]:
    """Only what the lock names, checked by its hash; nothing is built here.

    Python compiles a module when it is first wanted: to compile all of them would take
    longer than everything else before the first page.
    """
    strict = ["--require-hashes", "--only-binary", ":all:", "--no-compile"]
    return [*strict, "-qq", "--no-input", "--disable-pip-version-check"]


def refuse_foreign(folder: Path) -> None:
    """Never empty a folder that is not a Python environment, nor try in vain."""
    nearest = next(each for each in (folder, *folder.parents) if each.exists())
    if not os.access(nearest, os.W_OK):
        raise CannotStart(
            f"{nearest} cannot be written. Name a folder of yours in GRIPCOUNT_VENV."
        )
    occupied = folder.exists() and not (folder / "pyvenv.cfg").is_file()
    if occupied and (not folder.is_dir() or any(folder.iterdir())):
        raise CannotStart(
            f"{folder} is in the way: it is no Python environment. Move it, or name"
            " another folder in GRIPCOUNT_VENV."
        )


def get_system_packages() -> None:
    """Install what only the system can give, or print the line that does."""
    missing = system_packages(venv=bool(_spec("ensurepip")), zbar=has_zbar())
    if not missing:
        return
    line = f"apt install {' '.join(missing)}"
    if may_apt():
        note(f"Installing from Debian first: {' '.join(missing)}")
        apt_install(missing)
        missing = system_packages(venv=bool(_spec("ensurepip")), zbar=has_zbar())
    if "python3-venv" in missing:
        raise CannotStart(f"Python's venv module is missing. Install it: sudo {line}")
    if missing:
        note(f"Photos are not decoded without libzbar0. To have it: sudo {line}")


def run(command: Sequence[str]) -> None:
    """Run one step of the install; what it prints is the reason if it fails."""
    done = subprocess.run(command, check=False)
    if done.returncode != 0:
        raise CannotStart(
            "The install did not finish, for the reason above. Nothing half-made is"
            " used: the next start begins it anew."
        )


def _spec(module: str) -> bool:
    return importlib.util.find_spec(module) is not None
