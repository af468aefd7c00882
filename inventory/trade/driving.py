"""Driving and squeezing rivets, and drilling for them: pressures, sets, times, speeds."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.sizes import print_size


@dataclass(frozen=True, slots=True)
class Known:
    """A figure from least to most, the two equal where the source gives one."""

    least: Fraction
    most: Fraction
    source: str
    certainty: str

    @property
    def span(self) -> str:
        """'10 to 20', or one figure."""
        if self.least == self.most:
            return f"{float(self.least):g}"
        return f"{float(self.least):g} to {float(self.most):g}"


def _known(row: Mapping[str, str] | None, least: str, most: str = "") -> Known | None:
    if row is None:
        return None
    low, high = Fraction(row[least]), Fraction(row[most or least])
    return Known(low, high, row["source"], row["certainty"])


def fact(name: str) -> Mapping[str, str]:
    """A sentence on driving by name: its value, source and certainty."""
    return tables.index("driving", "fact")[(name,)]


def drilling_fact(name: str) -> Mapping[str, str]:
    """A sentence on drilling by name: its value, source and certainty."""
    return tables.index("drilling_facts", "fact")[(name,)]


def gun_pressure(diameter: Fraction) -> Known | None:
    """Air for a rivet gun in psi, for a shank in inches; None off the table.

    Published in the Navy course's table 4-1, its last row from memory.
    """
    row = tables.index("gun_pressures", "diameter").get((print_size(diameter),))
    return _known(row, "psi")


def squeeze_force(diameter: Fraction, letter: str) -> Known | None:
    """Pounds to squeeze a rivet of this shank in inches and alloy; None off the table.

    Common practice and a guess: no public table was found.
    """
    forces = tables.index("squeeze_forces", "diameter", "alloy")
    return _known(forces.get((print_size(diameter), letter)), "lb")


def heads() -> tuple[str, ...]:
    """The heads there is a set for, in the table's order."""
    return tuple(row["head"] for row in tables.rows("hammer_sets"))


def hammer_set(head: str) -> Mapping[str, str]:
    """The gun's set for a head: `set`, and in `sized` whether it has the rivet's size.

    Handbook practice, from memory. Raises Refused driving.head.
    """
    row = tables.index("hammer_sets", "head").get((head,))
    if row is None:
        raise _refused("head", head, heads())
    return row


def letters() -> tuple[str, ...]:
    """The alloy letters of solid rivets, in the table's order."""
    return tuple(row["letter"] for row in tables.rows("rivet_alloys"))


def alloy(letter: str) -> Mapping[str, str]:
    """A rivet alloy's row by its letter. Raises Refused driving.alloy."""
    row = tables.index("rivet_alloys", "letter").get((letter,))
    if row is None:
        raise _refused("alloy", letter, letters())
    return row


def icebox(letter: str) -> Known | None:
    """Minutes in which an alloy must be driven once out of the cold store.

    From memory; None for an alloy that is driven as received.
    """
    row = tables.index("icebox", "letter").get((letter,))
    return _known(row, "least_minutes", "most_minutes")


def cold_words(letter: str) -> str:
    """What to know of a rivet that is kept cold, in a sentence; '' for all others.

    The minutes are `icebox`'s.
    """
    window = icebox(letter)
    if window is None:
        return ""
    return f"Keep it in the freezer: drive it within {window.span} min of leaving it."


def materials() -> tuple[str, ...]:
    """The materials with a drilling speed, in the table's order."""
    return tuple(
        dict.fromkeys(row["material"] for row in tables.rows("drilling_speeds"))
    )


def speed(material: str, source: str = "") -> Known:
    """Cutting speed in ft/min for a drill of high-speed steel, from memory.

    Sources differ: name one (table, single, wrought), or take the first that has the
    material. Raises Refused driving.material.
    """
    for row in tables.rows("drilling_speeds"):
        if row["material"] == material and source in ("", row["key"]):
            least, most = Fraction(row["least_ft_min"]), Fraction(row["most_ft_min"])
            return Known(least, most, row["source"], row["certainty"])
    raise _refused("material", f"{material} {source}".strip(), materials())


def rpm(ft_min: Fraction, diameter: Fraction) -> float:
    """Turns a minute for a cutting speed in ft/min and a drill in inches.

    12 V / (pi D): computed.
    """
    return float(12 * ft_min / diameter) / math.pi


def feed(diameter: Fraction) -> Known | None:
    """Inches per turn for a drill in inches, from memory; None over 1/2 in."""
    for row in tables.rows("drilling_feeds"):
        if diameter <= Fraction(row["up_to_in"]):
            return _known(row, "least_in", "most_in")
    return None


def _refused(code: str, text: str, known: tuple[str, ...]) -> Refused:
    expected = f"one of {', '.join(known)}"
    return Refused(
        f"driving.{code}",
        f"Expected {expected}; got '{text}'.",
        {"text": text, "expected": expected},
    )
