"""Drills by number, letter, fraction or millimetre, and the slips made with them."""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.sizes import MM_PER_INCH, parse_size, print_decimal, print_size
from inventory.trade.spelling import plain

NUMBER_RULE = "A bigger drill number is a smaller drill."

_NUMBER = re.compile(r"(?:#|NO\.?|NUMBER)?\s*(?P<name>[0-9]{1,2})", re.ASCII)
_LETTER = re.compile(r"(?:LETTER)?\s*(?P<name>[A-Z])")
_FRACTION = re.compile(r"(?:[0-9]+[ -])?[0-9]+/[0-9]+\s*(?:\"|IN\.?|INCH)?", re.ASCII)
_METRIC = re.compile(r"(?P<name>[0-9]{1,2}(?:\.[0-9]{1,2})?)\s*MM", re.ASCII)


@dataclass(frozen=True, slots=True)
class Drill:
    """One drill size: its series, canonical name and exact diameter."""

    series: str
    name: str
    diameter_in: Fraction
    source: str
    certainty: str

    @property
    def diameter_mm(self) -> Fraction:
        return self.diameter_in * MM_PER_INCH

    @property
    def words(self) -> str:
        """'number 40', 'letter F', '3/32', '2.5 mm'."""
        if self.series == "number":
            return f"number {self.name.removeprefix('#')}"
        return f"letter {self.name}" if self.series == "letter" else self.name


@cache
def _table() -> dict[str, Drill]:
    return {
        row["name"]: Drill(
            row["series"],
            row["name"],
            Fraction(row["name"] if "/" in row["name"] else row["diameter_in"]),
            row["source"],
            row["certainty"],
        )
        for row in tables.rows("drills")
    }


def drill(name: str) -> Drill:
    """The drill of this name: '#40', '40', 'no. 40', 'F', '3/32', '2.5 mm'.

    A bare whole number is a number drill. Restated from ANSI/ASME B94.11M copies;
    fractions and millimetres are arithmetic. Raises Refused drill.unknown.
    """
    cleaned = plain(name)
    if match := _METRIC.fullmatch(cleaned):
        return _metric(name, Fraction(match["name"]))
    found = _table().get(_canonical(cleaned))
    return found if found else _unknown(name)


def _canonical(cleaned: str) -> str:
    if match := _NUMBER.fullmatch(cleaned):
        return f"#{int(match['name'])}"
    if match := _LETTER.fullmatch(cleaned):
        return match["name"]
    if _FRACTION.fullmatch(cleaned):
        try:
            return print_size(parse_size(cleaned))
        except Refused:
            return ""
    return ""


def _metric(name: str, mm: Fraction) -> Drill:
    if not mm:
        return _unknown(name)
    printed = print_decimal(mm, places=2).rstrip("0").rstrip(".")
    return Drill("metric", f"{printed} mm", mm / MM_PER_INCH, "arithmetic", "computed")


def _unknown(name: str) -> Drill:
    expected = "a drill from #80 to #1, A to Z, 1/64 to 1/2, or a size in mm"
    raise Refused(
        "drill.unknown",
        f"Expected {expected}; got '{name}'.",
        {"text": name, "expected": expected},
    )


def nearest_up(diameter: Fraction) -> Drill:
    """The smallest drill of at least these inches; of equals the fraction.

    Raises Refused drill.unknown above the largest.
    """
    fitting = [each for each in _table().values() if each.diameter_in >= diameter]
    if not fitting:
        return _unknown(print_size(diameter))
    return min(fitting, key=lambda each: (each.diameter_in, each.series))


def nearest_down(diameter: Fraction) -> Drill:
    """The largest drill of at most these inches; of equals the fraction.

    Raises Refused drill.unknown below the smallest.
    """
    fitting = [each for each in _table().values() if each.diameter_in <= diameter]
    if not fitting:
        return _unknown(print_size(diameter))
    return min(fitting, key=lambda each: (-each.diameter_in, each.series))


def next_sizes(size: Fraction) -> tuple[Drill | None, Drill | None]:
    """The next smaller and next larger inch drill than a size in inches.

    None past the ends; a drill of this very size is neither.
    """
    every = _table().values()
    smaller = [each for each in every if each.diameter_in < size]
    larger = [each for each in every if each.diameter_in > size]
    return (
        max(smaller, key=_by_size, default=None),
        min(larger, key=_by_size, default=None),
    )


def _by_size(each: Drill) -> Fraction:
    return each.diameter_in


def slips(each: Drill) -> tuple[str, ...]:
    """The mistakes people make with this drill, in words: common practice, no source.

    A number reads like a size in thirty-seconds, a bigger number is a smaller drill,
    and the nominal fraction of a rivet is not the drill of its hole.
    """
    pairs = [
        row
        for row in tables.rows("drill_slips")
        if each.name in (row["drill"], row["mistaken_for"])
    ]
    said = [
        f"{compare(row['drill'], row['mistaken_for'])} {row['why']}" for row in pairs
    ]
    return (*said, NUMBER_RULE) if each.series == "number" else tuple(said)


def compare(first: str, second: str) -> str:
    """One sentence on which of two drills is the smaller, for the classic slip.

    Raises Refused drill.unknown.
    """
    one, other = drill(first), drill(second)
    gap = one.diameter_in - other.diameter_in
    relation = "smaller than" if gap < 0 else "larger than" if gap else "as large as"
    return f"A {_sized(one)} drill is {relation} a {_sized(other)} drill."


def _sized(each: Drill) -> str:
    return f"{each.words} ({print_decimal(each.diameter_in)} in)"


def forms() -> tuple[str, ...]:
    """The forms of drill a shop keeps: common practice, no source."""
    return tuple(row["form"] for row in tables.rows("drill_forms"))
