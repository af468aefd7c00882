"""Where rivets may stand: diameter for the sheet, pitch, edge and row distance."""

from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.sizes import print_decimal, print_size

PITCH_SOURCES = ("course", "general", "review", "guide", "notes")
EDGE_SOURCES = ("manual", "review", "guide", "bolt")
ROW_SOURCES = ("manual", "review")
DIAMETER_SOURCE = "AC 43.13-1B p. 4-27; NAVEDTRA 14018 rules 5 to 7"
TUBE_SOURCE = "AC 43.13-1B para 4-58a p. 4-25"
OVERSIZE_SOURCE = "MIL-R-47196A as quoted"
ROW_OF_PITCH = Fraction(3, 4)
STRUCTURAL_LEAST = Fraction(3, 32)
_LARGEST = Fraction(12, 32)


@dataclass(frozen=True, slots=True)
class Limits:
    """What one source allows and usually sees, in inches; None where it is silent."""

    rule: str
    key: str
    least_in: Fraction
    usual_in: tuple[Fraction | None, Fraction | None]
    most_in: Fraction | None
    source: str
    certainty: str


def limits(
    rule: str, diameter: Fraction, head: str = "universal", source: str = ""
) -> Limits:
    """The limits of 'pitch', 'edge' or 'row' for a rivet of so many inches.

    Sources disagree: name one, or take the first that speaks of this head. Not
    airworthiness advice. Raises Refused layout.unknown.
    """
    for row in tables.rows("layout_limits"):
        if (row["rule"], row["head"] or head) != (rule, head):
            continue
        if source in ("", row["key"]):
            return Limits(
                rule=rule,
                key=row["key"],
                least_in=Fraction(row["least_d"]) * diameter,
                usual_in=(
                    _times(row["usual_least_d"], diameter),
                    _times(row["usual_most_d"], diameter),
                ),
                most_in=_times(row["most_d"], diameter),
                source=row["source"],
                certainty=row["certainty"],
            )
    known = ", ".join(
        row["key"] for row in tables.rows("layout_limits") if row["rule"] == rule
    )
    raise Refused(
        "layout.unknown",
        f"No {rule} rule by '{source}' for a {head} head is known here; known: {known}.",
        {"text": source, "expected": known},
    )


def _times(factor: str, diameter: Fraction) -> Fraction | None:
    return Fraction(factor) * diameter if factor else None


@dataclass(frozen=True, slots=True)
class EdgeMargin:
    """A rivet's edge distance where a specification gives it as one size, in inches."""

    edge_in: Fraction
    source: str
    certainty: str


def edge_margin(diameter: Fraction, head: str = "universal") -> EdgeMargin:
    """The specification's own edge distance. Raises Refused layout.unknown."""
    row = tables.index("layout_edges", "diameter_in", "head").get(
        (print_size(diameter), head)
    )
    if row is None:
        known = ", ".join(each["diameter_in"] for each in tables.rows("layout_edges"))
        raise Refused(
            "layout.unknown",
            f"No edge distance of a {print_size(diameter)} {head} rivet by "
            f"specification is known here; known: {known}.",
            {"text": print_size(diameter), "expected": known},
        )
    return EdgeMargin(Fraction(row["edge_in"]), row["source"], row["certainty"])


@dataclass(frozen=True, slots=True)
class Breach:
    """A layout that breaks a rule, in words, with the rule's source."""

    sentence: str
    source: str
    certainty: str


def breaches(
    rule: str, size: Fraction, diameter: Fraction, head: str = "universal"
) -> tuple[Breach, ...]:
    """What is wrong with a pitch, edge or row distance, by each source that speaks.

    One sentence for the strictest least that is broken and one for the most generous
    most; a size every source allows has none.
    """
    found = [
        limits(rule, diameter, head, row["key"])
        for row in tables.rows("layout_limits")
        if row["rule"] == rule and row["key"] != "bolt" and row["head"] in ("", head)
    ]
    under = [each for each in found if size < each.least_in]
    mosts = [each for each in found if each.most_in is not None]
    said = [
        _breach(rule, size, diameter, ("under", each.least_in), each)
        for each in sorted(under, key=lambda each: -each.least_in)[:1]
    ]
    if mosts and all(size > (each.most_in or size) for each in mosts):
        loosest = max(mosts, key=lambda each: each.most_in or size)
        over = ("over", loosest.most_in or size)
        said.append(_breach(rule, size, diameter, over, loosest))
    return tuple(said)


def _breach(
    rule: str,
    size: Fraction,
    diameter: Fraction,
    side: tuple[str, Fraction],
    by: Limits,
) -> Breach:
    where, bound = side
    name = {"pitch": "pitch", "edge": "edge distance", "row": "row distance"}[rule]
    sentence = (
        f"The {name} of {print_decimal(size, 3)} in is {where} {bound / diameter} D "
        f"({print_decimal(bound, 3)} in)."
    )
    return Breach(sentence, by.source, by.certainty)


def rivet_for_sheet(thickest: Fraction) -> Fraction:
    """The rivet diameter, in inches, for the thickest sheet of a joint.

    Three times the sheet, up to the next 1/32, never under 3/32 in a structural part.
    Published: DIAMETER_SOURCE. Raises Refused layout.sheet above 1/8 in of sheet.
    """
    size = _next_size(max(3 * thickest, STRUCTURAL_LEAST))
    if not thickest > 0 or size > _LARGEST:
        expected = "a sheet of up to 1/8 in"
        raise Refused(
            "layout.sheet",
            f"Expected {expected} for a rivet of three times its thickness; got "
            f"{print_size(thickest) if thickest > 0 else thickest}.",
            {"text": str(thickest), "expected": expected},
        )
    return size


def diameter_breaches(diameter: Fraction, thickest: Fraction) -> tuple[Breach, ...]:
    """What the course's rules 5 to 7 say against this rivet in this sheet."""
    said = []
    if diameter < STRUCTURAL_LEAST:
        said.append("A rivet under 3/32 does not belong in a structural part.")
    if diameter < thickest:
        said.append(
            f"A {print_size(diameter)} rivet is thinner than its thickest sheet, "
            f"{print_decimal(thickest, 3)} in."
        )
    if diameter > _largest_for_sheet(thickest):
        said.append(
            f"A {print_size(diameter)} rivet is large for its thickest sheet, "
            f"{print_decimal(thickest, 3)} in: the rule is three times the sheet, and a "
            "size more is satisfactory."
        )
    return tuple(Breach(each, DIAMETER_SOURCE, "published") for each in said)


def _largest_for_sheet(thickest: Fraction) -> Fraction:
    """The next size up from three times the sheet, and the one above: the circular
    calls 5/32 in .032 satisfactory, where the course stops at three times."""
    return max(_next_size(3 * thickest), STRUCTURAL_LEAST) + Fraction(1, 32)


def _next_size(inches: Fraction) -> Fraction:
    return Fraction(-(-(inches * 32) // 1), 32)


def rivet_for_tube(outer_diameter: Fraction) -> Fraction:
    """The least rivet diameter, in inches, through a tube: an eighth of its outside.

    Published: TUBE_SOURCE.
    """
    return outer_diameter / 8


def next_oversize(diameter: Fraction) -> Fraction:
    """The next rivet for a hole that has grown: 1/32 more up to 1/4, then 1/16.

    Restated: OVERSIZE_SOURCE.
    """
    return diameter + (
        Fraction(1, 32) if diameter < Fraction(1, 4) else Fraction(1, 16)
    )


def most_oversize(rivets: int) -> int:
    """How many rivets of a pattern may be oversize: a fifth or ten, the lesser.

    Restated: OVERSIZE_SOURCE.
    """
    return min(rivets // 5, 10)


def most_deburr_chamfer(thickness: Fraction) -> Fraction:
    """The deepest chamfer deburring may leave, in inches: a tenth of the sheet, and
    .032 at most. Restated: OVERSIZE_SOURCE."""
    return min(thickness / 10, Fraction("0.032"))
