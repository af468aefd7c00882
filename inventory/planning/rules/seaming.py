"""A plan row that gives a seam instead of counts: what it comes to, and why."""

import json
from collections.abc import Mapping
from dataclasses import dataclass

from inventory.errors import Refused
from inventory.sheets import Row
from inventory.trade import seams
from inventory.trade.questions.seam import seam_of

# The plan's column for each text that describes a seam.
COLUMNS = {
    "seam_length": "length",
    "pitch": "pitch",
    "number": "number",
    "rows": "rows",
    "stagger": "stagger",
    "sheets": "sheets",
    "diameter": "diameter",
    "head": "head",
    "alloy": "alloy",
    "edge_distance": "edge_distance",
    "row_distance": "row_distance",
    "pilot": "pilot",
    "punched": "punched",
    "splice": "splice",
    "share": "share",
}
# Columns that say what the seam's own figures would say.
_COUNTED = ("each", "holes", "hole_size", "operation")
_DRILLED = {"pilot": "full", "open": "open", "full": "full"}


@dataclass(frozen=True)
class Seamed:
    """A seam as the file gave it, its rivet and count, and how they were reckoned.

    `drilled` is (drill size, operation) for each time its holes are drilled.
    """

    given: Mapping[str, str]
    callout: str
    rivets: int
    rule: str
    drilled: tuple[tuple[str, str], ...]
    hold_every: int


def as_given(text: str) -> dict[str, str]:
    """A seam's texts out of the JSON they are compared by."""
    return {str(name): str(value) for name, value in json.loads(text).items()}


def seam_source(given: Mapping[str, str]) -> str:
    """The seam as the file gave it, and the rule it was counted by."""
    said = ", ".join(f"{name.replace('_', ' ')} {text}" for name, text in given.items())
    return f"seam: {said}; rule: {seams.SOURCE}"


def is_seam(row: Row) -> bool:
    """Whether a row describes a seam."""
    return bool(row["seam_length"].strip())


def seamed(row: Row) -> Seamed:
    """What a row's seam takes. Errors: `plan.row` in the builder's words."""
    counted = [name for name in _COUNTED if row[name].strip()]
    if counted:
        raise Refused(
            "plan.row",
            f"It gives a seam and '{counted[0]}': a seam is counted here, so leave "
            f"{', '.join(_COUNTED)} empty.",
        )
    try:
        return _takes(given_in(row))
    except Refused as error:
        raise Refused("plan.row", f"seam: {error.sentence}") from error


def given_in(row: Row) -> dict[str, str]:
    """The seam's own texts, under the names the trade's question takes."""
    given = {name: row[column].strip() for column, name in COLUMNS.items()}
    given |= {"callout": row["callout"].strip(), "hold_every": row["fasten_every"]}
    return {name: text for name, text in given.items() if text.strip()}


def _takes(given: dict[str, str]) -> Seamed:
    seam = seam_of({**given, "hold_every": given.get("hold_every", "0")})
    if not (seam.sheets or seam.callout):
        raise Refused("plan.row", "Give the sheets, or the rivet's callout.")
    found = seams.takes(seam)
    return Seamed(
        given=given,
        callout=found.callout,
        rivets=found.rivets,
        rule=seams.rule(found),
        drilled=tuple(
            (each.size, _DRILLED[each.operation])
            for each in found.work
            if each.operation in _DRILLED
        ),
        hold_every=seam.hold_every,
    )
