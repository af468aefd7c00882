"""Driven heads: their published limits, and the head a rivet will make, by volume."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.sizes import print_size

NOMINAL_SOURCES = ("handbook", "fighter")
MINIMUM_SOURCES = ("design", "equipment")
# No published most was found: a head up to this many nominal heights is taken as good.
MOST_HEIGHTS = Fraction(3, 2)
MOST_MARK = "a guess: 1.5 times the nominal height"
RULE = (
    "by volume: what stands out of the sheets, less what swells into the hole, upset "
    "to the nominal diameter"
)


@dataclass(frozen=True, slots=True)
class HeadLimit:
    """A driven head's nominal or least size, in inches, by one source."""

    diameter_in: Fraction
    height_in: Fraction
    key: str
    source: str
    certainty: str


@dataclass(frozen=True, slots=True)
class ShopHead:
    """The head a rivet makes when it is upset to the nominal diameter, in inches.

    `fit` is 'none' (nothing stands out), 'short' (under the published least), 'low'
    (above the least, under the nominal height), 'good', or 'tall' (over MOST_HEIGHTS).
    """

    diameter_in: Fraction
    height_in: Fraction
    fit: str

    @property
    def acceptable(self) -> bool:
        return self.fit in {"low", "good"}


def nominal_head(diameter: Fraction, source: str = "handbook") -> HeadLimit:
    """What a driven head should be. Raises Refused head.unknown."""
    return _limit("nominal", diameter, "", source)


def least_head(
    diameter: Fraction, alloy: str = "AD", source: str = "design"
) -> HeadLimit:
    """The least a driven head may be; 7050 rivets need more. Raises Refused
    head.unknown."""
    return _limit("minimum", diameter, alloy, source)


@lru_cache(maxsize=512)  # every length and stack of a question asks for the same few
def _limit(limit: str, diameter: Fraction, alloy: str, source: str) -> HeadLimit:
    size = print_size(diameter)
    for row in tables.rows("driven_heads"):
        if (row["key"], row["limit"]) != (source, limit):
            continue
        if alloy not in (row["alloys"].split() or [alloy]):
            continue
        if row["diameters_in"] in ("", size):
            return HeadLimit(
                _inches(row, "head_diameter", diameter),
                _inches(row, "head_height", diameter),
                source,
                row["source"],
                row["certainty"],
            )
    known = ", ".join(NOMINAL_SOURCES if limit == "nominal" else MINIMUM_SOURCES)
    raise Refused(
        "head.unknown",
        f"Source '{source}' gives no {limit} head for a {size} rivet; sources are "
        f"{known}.",
        {"text": source, "diameter": size, "expected": known},
    )


def _inches(row: Mapping[str, str], column: str, diameter: Fraction) -> Fraction:
    """A figure of the table: inches, or so many rivet diameters ('1.3 D')."""
    factor, _, times = row[column].partition(" ")
    return Fraction(factor) * (diameter if times else 1)


def shop_head(
    diameter: Fraction,
    length: Fraction,
    grip: Fraction,
    hole: Fraction,
    alloy: str = "AD",
) -> ShopHead:
    """The head that a rivet of this length makes on these sheets, all in inches.

    Computed, RULE: the rivet fills its hole along the whole grip first. A flush
    rivet's length and grip both include its head. The head is judged by the design
    handbook's least and by MOST_HEIGHTS.
    """
    nominal = nominal_head(diameter)
    section = length * diameter**2 - grip * hole**2
    height = max(section / nominal.diameter_in**2, Fraction(0))
    return ShopHead(nominal.diameter_in, height, _fit(height, nominal, alloy, diameter))


def _fit(height: Fraction, nominal: HeadLimit, alloy: str, diameter: Fraction) -> str:
    if not height:
        return "none"
    if height < least_head(diameter, alloy).height_in:
        return "short"
    if height < nominal.height_in:
        return "low"
    return "good" if height <= MOST_HEIGHTS * nominal.height_in else "tall"


def grips_for(
    diameter: Fraction, length: Fraction, hole: Fraction, alloy: str = "AD"
) -> tuple[Fraction, Fraction] | None:
    """The least and most grip, in inches, on which this rivet makes a good head.

    The reverse of `shop_head`; None for a rivet too short for any sheet.
    """
    nominal = nominal_head(diameter)
    tall, low = MOST_HEIGHTS * nominal.height_in, least_head(diameter, alloy).height_in

    def grip(height: Fraction) -> Fraction:
        return (length * diameter**2 - height * nominal.diameter_in**2) / hole**2

    most = grip(low)
    return (max(grip(tall), Fraction(0)), most) if most > 0 else None
