"""What is due and how long orders take: stated or guessed, until the record speaks."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median
from typing import NamedTuple

# What is believed of late parcels before any came: worth so many parcels, a guess.
_PARCELS_GUESSED = 10

# So many parcels must have come before they outweigh what is stated; older ones than
# the last few say little of today: both a choice.
ENOUGH, LATEST = 3, 8


class Late(NamedTuple):
    """The share of parcels that come late, and by how many days on average.

    One in ten by ten days is a guess, until receipts speak.
    """

    share: float = 0.1
    days: float = 10.0


GUESSED = Late()


@dataclass(frozen=True)
class Due:
    """Pieces of an item that an order still owes, when they are expected, how sure."""

    item_id: int
    pieces: int
    on: date
    late: Late = GUESSED


def late_for(due: Sequence[Due], start: date) -> tuple[int, int]:
    """Of what is due: the pieces that come after a day, and by how many days at least."""
    late = [each for each in due if each.on > start]
    days = min(((each.on - start).days for each in late), default=0)
    return sum(each.pieces for each in late), days


@dataclass(frozen=True)
class Lead:
    """Days from order to bench, and whether that is a guess."""

    days: int
    is_guess: bool


def lead_days(stated: int | None, taken: Sequence[int]) -> int | None:
    """Days from order to first parcel, None where nothing is known.

    `taken` are the days of past orders, the latest last. Their middle is used, so that
    one parcel that was forgotten somewhere does not decide; the chance that a parcel is
    late is reckoned apart.
    """
    latest = taken[-LATEST:]
    return round(median(latest)) if len(latest) >= ENOUGH else stated


def lateness(days_late: Sequence[int]) -> Late:
    """How many parcels are late, and by how much, from each order's days beyond its day.

    The guess counts as ten parcels, the one late among them by its ten days; the
    record is added to it. Days of nought or less were in time.
    """
    guess = GUESSED
    late = [days for days in days_late if days > 0]
    known = guess.share * _PARCELS_GUESSED
    return Late(
        (known + len(late)) / (_PARCELS_GUESSED + len(days_late)),
        (known * guess.days + sum(late)) / (known + len(late)),
    )
