"""The hole a rivet, bolt or screw takes: pilot, final drill and limits, by source."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.cautions import AIRWORTHINESS
from inventory.trade.drills import Drill, drill
from inventory.trade.reading import Reading
from inventory.trade.sizes import print_decimal, print_size

# The default order of sources: what shops do, then the maintenance handbook, the design
# handbook, the specification, the 1940s manual, a maintenance manual's limits, and the
# close and free fits of screws. Each fastener is in some of them.
SOURCES = (
    "common",
    "handbook",
    "design",
    "specification",
    "fighter",
    "manual",
    "close",
    "free",
)
STEP_UP_SOURCE = "FAA-H-8083-31 Hole Drilling part two"
_STEP_UP = Fraction(3, 16)
_SCREW_NUMBER = re.compile(r"(?P<size>[0-9]{1,2})-[0-9]+")


@dataclass(frozen=True, slots=True)
class Hole:
    """The hole for a fastener by one source, in inches.

    `drill` is None where the source gives limits and no drill; `pilot` is empty, and
    `limits_in` None, where it is silent.
    """

    fastener: str
    drill: Drill | None
    pilot: str
    limits_in: tuple[Fraction, Fraction] | None
    key: str
    source: str
    certainty: str
    caution: str = AIRWORTHINESS

    @property
    def diameter_in(self) -> Fraction:
        """What is drilled; the lower limit where no drill is named."""
        if self.drill:
            return self.drill.diameter_in
        return self.limits_in[0] if self.limits_in else Fraction(0)

    @property
    def words(self) -> str:
        """'number 30 (.1285 in), .128 to .132'."""
        size = (
            f"{self.drill.words} ({_short(self.diameter_in)} in)" if self.drill else ""
        )
        if self.limits_in is None:
            return size
        span = f"{_short(self.limits_in[0])} to {_short(self.limits_in[1])} in"
        return f"{size}, {span}".removeprefix(", ")


def _short(inches: Fraction) -> str:
    return print_decimal(inches).removeprefix("0")


def hole_for(fastener: str, source: str = "") -> Hole:
    """The final hole for '3/32 rivet', '1/8 blind rivet', 'AN3', '#8 screw'.

    Sources disagree: name one of SOURCES, or take the first that has the fastener. Not
    airworthiness advice. Raises Refused hole.unknown.
    """
    found = holes_for(fastener)
    for hole in found:
        if source in ("", hole.key):
            return hole
    expected = ", ".join(hole.key for hole in found) or "a fastener of the hole table"
    raise Refused(
        "hole.unknown",
        f"No hole for a {fastener} by {source or 'any source'} is known here; "
        f"known: {expected}.",
        {"text": fastener, "source": source, "expected": expected},
    )


def holes_for(fastener: str) -> tuple[Hole, ...]:
    """What every source says of a fastener's hole, in the default order."""
    rows = [row for row in tables.rows("holes") if row["fastener"] == fastener]
    return tuple(map(_hole, sorted(rows, key=lambda row: SOURCES.index(row["key"]))))


def disagreements(fastener: str) -> tuple[str, ...]:
    """Where one source's drill lies outside another's limits, in a sentence each."""
    found = holes_for(fastener)
    return tuple(
        f"Sources differ: {one.drill.words} ({_short(one.diameter_in)} in, {one.source}) is "
        f"outside {_short(other.limits_in[0])} to {_short(other.limits_in[1])} in "
        f"({other.source}). The drawing decides."
        for one in found
        for other in found
        if one.drill
        and other.limits_in
        and not other.limits_in[0] <= one.diameter_in <= other.limits_in[1]
    )


def _hole(row: Mapping[str, str]) -> Hole:
    low, _, high = row["limits_in"].partition("-")
    return Hole(
        fastener=row["fastener"],
        drill=drill(row["drill"]) if row["drill"] else None,
        pilot=row["pilot"],
        limits_in=(Fraction(low), Fraction(high)) if high else None,
        key=row["key"],
        source=row["source"],
        certainty=row["certainty"],
    )


def hole_for_rivet(diameter: Fraction, source: str = "") -> Hole:
    """The final hole for a solid rivet of this shank, in inches. As `hole_for`."""
    return hole_for(f"{print_size(diameter)} rivet", source)


def fastener_of(reading: Reading) -> str:
    """The hole table's name for what a callout is; empty for what takes no hole."""
    size = print_size(reading.diameter_in) if reading.diameter_in else ""
    if reading.kind == "screw":
        number = _SCREW_NUMBER.fullmatch(reading.thread)
        return f"#{number['size']} screw" if number else size and f"{size} screw"
    names = {
        "solid_rivet": f"{size} rivet",
        "blind_rivet": f"{size} blind rivet",
        "bolt": reading.standard,
    }
    return names.get(reading.kind, "")


def pilots_for(diameter: Fraction) -> tuple[str, ...]:
    """The drills to begin a hole of these inches with, before its own.

    Over 3/16 a number 40 or 30 first, then enlarge. Published: STEP_UP_SOURCE. Smaller
    holes need none by that source.
    """
    return ("#40", "#30") if diameter > _STEP_UP else ()
