"""How each engine must be set so that an acknowledged movement is never lost."""

import sqlite3
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

EMBEDDED_BROKER = "filesystem://"


def sqlite_is_mended(version: tuple[int, ...]) -> bool:
    """Whether this SQLite is free of the race that can lose commits in WAL mode.

    Source: the SQLite project's page on write-ahead logging, section on the reset
    bug: fixed in 3.51.3, and in 3.50.7 and 3.44.6 by back-port.
    """
    return (
        version >= (3, 51, 3)
        or (3, 50, 7) <= version < (3, 51)
        or (3, 44, 6) <= version < (3, 45)
    )


def sqlite_pragmas(version: tuple[int, ...] | None = None) -> tuple[str, str]:
    """Journal mode and synchronous level that lose no commit at a power cut."""
    mended = sqlite_is_mended(version or sqlite3.sqlite_version_info)
    return ("WAL", "FULL") if mended else ("DELETE", "EXTRA")


def sqlite_options() -> dict[str, Any]:
    """Django OPTIONS: write lock from the start, and time to wait for it."""
    journal, synchronous = sqlite_pragmas()
    return {
        "timeout": 20,
        "transaction_mode": "IMMEDIATE",
        "init_command": (
            f"PRAGMA journal_mode={journal}; PRAGMA synchronous={synchronous};"
        ),
    }


def broker_transport(url: str) -> str | None:
    """The transport of the broker at `url`, where it is not the one kombu would take.

    In the project's own settings, not in the URL: kombu takes no dotted name there.
    """
    embedded = url.startswith("filesystem:")
    return "inventory.config.broker:Transport" if embedded else None


def broker_options(url: str, folder: Path) -> dict[str, Any]:
    """Transport options of the broker at `url`; `folder` is the embedded one's."""
    if url.startswith("filesystem:"):
        return {
            "data_folder_in": str(folder / "queue"),
            "data_folder_out": str(folder / "queue"),
            "processed_folder": str(folder / "processed"),
            "control_folder": str(folder / "control"),
            "polling_interval": 0.25,
        }
    if url.startswith("redis"):
        return {"visibility_timeout": 600, "socket_timeout": 5}
    return {"confirm_publish": True}


def mail_backend(smtp: str | None) -> str:
    """SMTP where a server is named; otherwise letters become files in the outbox."""
    kind = "smtp" if smtp else "filebased"
    return f"django.core.mail.backends.{kind}.EmailBackend"


def mail_server(smtp: str | None) -> dict[str, Any]:
    """Django's mail settings from `smtp[s]://user:password@host:port`."""
    parts = urlsplit(smtp or "smtp://localhost:25")
    secure = parts.scheme == "smtps"
    return {
        "EMAIL_HOST": parts.hostname or "localhost",
        "EMAIL_PORT": parts.port or (465 if secure else 25),
        "EMAIL_HOST_USER": unquote(parts.username or ""),
        "EMAIL_HOST_PASSWORD": unquote(parts.password or ""),
        "EMAIL_USE_SSL": secure,
        "EMAIL_USE_TLS": parts.scheme == "smtp+tls",
    }
