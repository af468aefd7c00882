"""How long a solid rivet must be for its sheets, and which stocked lengths will do."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.driven import ShopHead, shop_head
from inventory.trade.sizes import print_size

EXTRUDED_SOURCES = ("rule", "fighter")
SOURCE = "TM 9-2320-303-24-2 table 5; NAVEDTRA 14018 fig. 13-43"
HALVES_SOURCE = "AC 43.13-1B p. 4-16"
# Whole and half lengths, in sixteenths, from the shortest made to two inches.
STOCKED = tuple(Fraction(steps, 2) for steps in range(4, 65))
_STEP = Fraction(1, 16)
_SLENDER = Fraction(1, 4)


def required_length(grip: Fraction, diameter: Fraction) -> Fraction:
    """Inches of shank for a grip and a rivet diameter in inches: G + 1.5 D.

    A grip over 2 in adds 1/16 for every 2 in; with rivets over 1/4 in, a grip over
    1 in adds 1/16 for every 1 in. Published: SOURCE. (It gives 1/4 and under, and
    5/16 and over; what lies between follows the thicker rule.) Not airworthiness
    advice. Raises Refused length.impossible unless both are above nought.
    """
    if grip <= 0 or diameter <= 0:
        expected = "a grip and a diameter above nought"
        raise Refused(
            "length.impossible",
            f"Expected {expected}; got {grip} and {diameter}.",
            {"text": f"{grip} and {diameter}", "expected": expected},
        )
    added = _sixteenths_added(grip, diameter)
    return grip + extruded_length(diameter) + added * _STEP


def _sixteenths_added(grip: Fraction, diameter: Fraction) -> int:
    every = _thick_every(diameter)
    return grip // every if grip > every else 0


def _thick_every(diameter: Fraction) -> int:
    """Inches of grip for which the rule adds a sixteenth."""
    return 2 if diameter <= _SLENDER else 1


def extruded_length(diameter: Fraction, source: str = "rule") -> Fraction:
    """Inches of shank that become the driven head.

    Source 'rule' is 1.5 D; 'fighter' the 1940s fighter repair manual's table, which
    is shorter for 5/32 and 3/16. Raises Refused length.unknown where that source is
    silent.
    """
    if source == "rule":
        return diameter * Fraction(3, 2)
    lengths = tables.index("extruded_lengths", "key", "diameter_in")
    row = lengths.get((source, print_size(diameter)))
    if row is None:
        known = ", ".join(EXTRUDED_SOURCES)
        raise Refused(
            "length.unknown",
            f"Source '{source}' gives no length for {print_size(diameter)}; "
            f"sources are {known}.",
            {"text": source, "diameter": print_size(diameter), "expected": known},
        )
    return Fraction(row["length_in"])


def dash_for(length: Fraction, *, halves: bool = False) -> Fraction:
    """The length dash, in sixteenths, nearest to these inches.

    With `halves` the half lengths count too. Midway goes to the longer, which can
    be cut down.
    """
    per_inch = 32 if halves else 16
    steps = (length * per_inch + Fraction(1, 2)) // 1
    return Fraction(steps * 16, per_inch)


def print_dash(sixteenths: Fraction) -> str:
    """A dash as a callout writes it: '4', '3.5'."""
    whole, rest = divmod(sixteenths, 1)
    return f"{whole}.5" if rest else str(whole)


@dataclass(frozen=True, slots=True)
class Joint:
    """What a rivet goes through: its shank, the sheets and the hole, in inches.

    A flush rivet's grip includes the sheet its head sits in, countersunk or dimpled:
    its length is measured over all, and nested dimples add nothing to the sheets.
    """

    diameter: Fraction
    grip: Fraction
    hole: Fraction
    alloy: str = "AD"


@dataclass(frozen=True, slots=True)
class Fit:
    """A stocked length, in sixteenths, and the driven head it makes in a joint."""

    dash: Fraction
    head: ShopHead


def fits(joint: Joint, dashes: Iterable[Fraction] = STOCKED) -> tuple[Fit, ...]:
    """Each stocked length with its driven head, shortest first."""
    return tuple(
        Fit(
            dash,
            shop_head(joint.diameter, dash / 16, joint.grip, joint.hole, joint.alloy),
        )
        for dash in sorted(dashes)
    )


def best(joint: Joint, dashes: Iterable[Fraction] = STOCKED) -> Fit | None:
    """Of the lengths that make an acceptable head the nearest to the rule's length.

    Midway goes to the longer, which can be cut down. None when none is acceptable.
    Raises Refused length.impossible.
    """
    wanted = required_length(joint.grip, joint.diameter) * 16
    acceptable = [each for each in fits(joint, dashes) if each.head.acceptable]
    return min(
        acceptable, key=lambda each: (abs(each.dash - wanted), -each.dash), default=None
    )


def grip_for(length: Fraction, diameter: Fraction) -> Fraction | None:
    """The grip, in inches, whose rule length is this: the reverse of required_length.

    None when the rivet is no longer than its own driven head. A length that falls into
    the step where a sixteenth is added goes to the thickest grip before the step.
    """
    bare = length - extruded_length(diameter)
    if bare <= 0:
        return None
    added = 0
    while _sixteenths_added(bare - added * _STEP, diameter) > added:
        added += 1
    grip = bare - added * _STEP
    if _sixteenths_added(grip, diameter) < added:
        return Fraction(added * _thick_every(diameter))
    return grip
