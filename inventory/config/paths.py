"""Where a shop's data lives: one folder a shop, outside the program's own folder.

Standard library only: the bootstrap reads it before Django is installed.
"""

import os
import secrets
from pathlib import Path

SECRET_FILE = "secret-key"  # noqa: S105 - a file's name


def shop_folder(*, demo: bool) -> Path:
    """The default data folder of the builder's own shop, or of the demo."""
    home = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(home) / "gripcount" / ("demo" if demo else "shop")


def data_folder() -> Path:
    """The data folder of this process: GRIPCOUNT_DATA, else the own shop's."""
    given = os.environ.get("GRIPCOUNT_DATA")
    return Path(given) if given else shop_folder(demo=False)


def kept_secret(folder: Path) -> str | None:
    """The shop's secret key, if one was made."""
    try:
        return (folder / SECRET_FILE).read_text(encoding="ascii").strip() or None
    except OSError:
        return None


def keep_private() -> None:
    """Whatever this process and its children write, only its owner may read."""
    os.umask(0o077)


def prepare(folder: Path) -> None:
    """Make the data folder and its secret key, readable by the owner only.

    A folder that was made before, or by hand, is closed to others too.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    folder.chmod(0o700)
    for database in folder.glob("gripcount.sqlite3*"):
        database.chmod(0o600)
    for room in ("broker/queue", "broker/processed", "broker/control", "outbox"):
        (folder / room).mkdir(parents=True, exist_ok=True)
    if kept_secret(folder) is None:
        handle = os.open(
            folder / SECRET_FILE, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600
        )
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(secrets.token_urlsafe(50))
