"""Flush fasteners: countersink or dimple, how deep, with which cutter and dies."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.sizes import print_size

SOURCES = ("manual", "practice", "fighter")
PLAIN, COUNTERSINK, DIMPLE = "plain", "countersink", "dimple"
ANGLE_DEG = 100
DEPTH_SOURCE = "depth computed from the head of the {} sheet"
STACK_RULE = (
    "the outer sheet is countersunk where it is thick enough, else dimpled; under a "
    "dimple each sheet is dimpled too, down to the first that is thick enough to be "
    "countersunk for it; the rest stays plain"
)
STACK_SOURCE = "common practice, no source"
# The shapes of a 100 degree head nest: the depth of a cone of that angle is its half
# width over the tangent of half the angle.
_TANGENT = Fraction(str(round(math.tan(math.radians(ANGLE_DEG / 2)), 9)))
# How much wider a dimple's lower face is than its upper, for each unit of thickness and
# side: the tangent of half of what the cone's half angle lacks of a right angle.
_AROUND = Fraction(str(round(math.tan(math.radians((90 - ANGLE_DEG / 2) / 2)), 9)))


@dataclass(frozen=True, slots=True)
class LeastSheet:
    """The thinnest sheet to countersink for a rivet, in inches, by one source."""

    sheet_in: Fraction
    key: str
    source: str
    certainty: str


@dataclass(frozen=True, slots=True)
class Tools:
    """What flush work takes: the countersink's pilot, a drill's size; the die set."""

    pilot: str
    dies: str
    source: str
    certainty: str


@dataclass(frozen=True, slots=True)
class Recess:
    """A countersink in inches: across at the surface, and deep."""

    across_in: Fraction
    depth_in: Fraction
    source: str
    certainty: str


def least_sheet(diameter: Fraction, source: str = "manual") -> LeastSheet:
    """The thinnest sheet a source lets one countersink for this rivet.

    'manual' differs by rivet, 'practice' and 'fighter' give one sheet for all. Not
    airworthiness advice. Raises Refused countersink.unknown.
    """
    found = [each for each in least_sheets(diameter) if each.key == source]
    if found:
        return found[0]
    expected = ", ".join(each.key for each in least_sheets(diameter))
    raise Refused(
        "countersink.unknown",
        f"No least sheet for a {print_size(diameter)} rivet by '{source}' is known "
        f"here; sources for it are {expected}.",
        {"text": source, "diameter": print_size(diameter), "expected": expected},
    )


def least_sheets(diameter: Fraction) -> tuple[LeastSheet, ...]:
    """What every source says, in the default order."""
    return tuple(
        LeastSheet(
            Fraction(row["least_sheet_in"]), row["key"], row["source"], row["certainty"]
        )
        for row in tables.rows("countersink_sheets")
        if row["diameter_in"] in ("any", print_size(diameter))
    )


def prepare(
    sheets: Sequence[Fraction], diameter: Fraction, source: str = "manual"
) -> tuple[str, ...]:
    """What is done to each sheet of a flush stack, the outer one first: STACK_RULE.

    PLAIN, COUNTERSINK or DIMPLE for each. Common practice over the source's least
    sheet. Raises Refused countersink.unknown.
    """
    least = least_sheet(diameter, source).sheet_in
    done: list[str] = []
    for sheet in sheets:
        if done and done[-1] != DIMPLE:
            done.append(PLAIN)
        else:
            done.append(COUNTERSINK if sheet >= least else DIMPLE)
    return tuple(done)


def tools(fastener: str) -> Tools:
    """The pilot and the dies for '3/32 rivet' or '#8 screw'. Raises Refused
    countersink.tools."""
    row = tables.index("flush_tools", "fastener").get((fastener,))
    if row is None:
        expected = ", ".join(each["fastener"] for each in tables.rows("flush_tools"))
        raise Refused(
            "countersink.tools",
            f"No countersink pilot and dies for a {fastener} are known here; known are "
            f"{expected}.",
            {"text": fastener, "expected": expected},
        )
    return Tools(row["pilot"], row["dies"], row["source"], row["certainty"])


def recess(diameter: Fraction, head: str = "MS20426") -> Recess:
    """The countersink that takes a flush rivet's head level with the sheet.

    Across is the head's diameter, from memory; the depth follows from 100 degrees.
    Raises Refused countersink.unknown without the head's dimensions.
    """
    row = tables.index("rivet_heads", "key", "diameter_32nds").get(
        (head, str(diameter * 32))
    )
    if row is None:
        expected = "a flush rivet of 1/16 to 3/16, or 1/4"
        raise Refused(
            "countersink.unknown",
            f"Expected {expected}; the head of a {print_size(diameter)} {head} rivet is "
            "not known here.",
            {"text": head, "expected": expected},
        )
    across = Fraction(row["head_diameter_in"])
    depth = (across - diameter) / (2 * _TANGENT)
    source = DEPTH_SOURCE.format(head)
    return Recess(across, depth, source, row["certainty"])


def under_dimples(recess: Recess, dimpled: Fraction) -> Recess:
    """The nest that takes the dimple above it: so many inches of dimpled sheet lie in it.

    A dimpled sheet keeps its thickness around the cone, so that its lower face is wider
    than the head by twice the thickness times tan(20 degrees). Computed from 100 degrees.
    """
    if not dimpled:
        return recess
    wider = 2 * dimpled * _AROUND
    return Recess(
        recess.across_in + wider,
        recess.depth_in + wider / (2 * _TANGENT),
        f"{recess.source}, and the dimple of {print_size(dimpled)} in above it",
        "computed",
    )


def countersink_across(fastener: str) -> tuple[Fraction, Fraction]:
    """The least and most width of a blind rivet's countersink, in inches.

    Published: TM 9-2320-363-34-2 table 3. Raises Refused countersink.unknown.
    """
    row = tables.index("countersink_diameters", "fastener").get((fastener,))
    if row is None:
        known = ", ".join(
            each["fastener"] for each in tables.rows("countersink_diameters")
        )
        raise Refused(
            "countersink.unknown",
            f"No countersink width for a {fastener} is known here; known: {known}.",
            {"text": fastener, "expected": known},
        )
    return Fraction(row["least_in"]), Fraction(row["most_in"])
