"""The thicknesses aircraft sheet is sold in."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from inventory.trade import tables


@dataclass(frozen=True, slots=True)
class Gauge:
    """One usual sheet, in inches."""

    thickness_in: Fraction
    source: str
    certainty: str


@cache
def gauges() -> tuple[Gauge, ...]:
    """Every usual sheet, thinnest first: the circular's rows and present decimal sizes."""
    found = [
        Gauge(Fraction(row["thickness_in"]), row["source"], row["certainty"])
        for row in tables.rows("sheet_gauges")
    ]
    return tuple(sorted(found, key=lambda each: each.thickness_in))


def nearest(thickness: Fraction) -> Gauge:
    """The usual sheet nearest to so many inches; of equals the thinner."""
    return min(gauges(), key=lambda each: abs(each.thickness_in - thickness))
