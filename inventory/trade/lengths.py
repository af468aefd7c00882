"""How long a solid rivet must be for its sheets, and which dash that is."""

from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.sizes import print_size

EXTRUDED_SOURCES = ("rule", "fighter")
SOURCE = "TM 9-2320-303-24-2 table 5; NAVEDTRA 14018 fig. 13-43"
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
        raise Refused(
            "length.impossible",
            f"Expected a grip and a diameter above nought; got {grip} and {diameter}.",
            {"grip": str(grip), "diameter": str(diameter)},
        )
    every = 2 if diameter <= _SLENDER else 1
    thick = grip // every if grip > every else 0
    return grip + extruded_length(diameter) + thick * _STEP


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
            {"source": source, "diameter": print_size(diameter)},
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
