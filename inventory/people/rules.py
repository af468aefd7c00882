"""Who may do what: roles in a row, each may what the one before may, and more."""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Role(StrEnum):
    """What a person does in the shop."""

    READER = "reader"
    HELPER = "helper"
    BUILDER = "builder"
    OWNER = "owner"

    @property
    def words(self) -> str:
        """What it may, as the page of people says it."""
        return _WORDS[self]

    def may(self, least: "Role") -> bool:
        """Whether this role is at least another."""
        return _ROW.index(self) >= _ROW.index(least)


_ROW = tuple(Role)
_WORDS = {
    Role.READER: "sees everything but the settings, changes nothing",
    Role.HELPER: "pulls, returns, counts and scans too",
    Role.BUILDER: "plans, orders, closes and prints too",
    Role.OWNER: "sets the shop, its people and its devices too",
}


class Scope(StrEnum):
    """What a device's token opens."""

    SCAN = "scan"
    READ = "read"
    ALL = "all"

    @property
    def words(self) -> str:
        """What it opens, as the settings say it."""
        return {"scan": "scan only", "read": "read only", "all": "everything"}[self]


@dataclass(frozen=True)
class Doing:
    """What somebody did that moved no piece: when, who, in words, and where it is mended.

    `page` and `key` are the name of that page and its number, None for a page of all.
    """

    at: datetime
    by: str
    person: int
    words: str
    page: str
    key: int | None = None


def token_hash(token: str) -> str:
    """What is kept of a token that is shown once."""
    return hashlib.sha256(token.encode()).hexdigest()
