"""Which solid rivet suits these sheets: length, driven head, hole, flush work."""

from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

from inventory.errors import Refused
from inventory.trade import cautions, driven, holes, layout, lengths
from inventory.trade.drawing import Drawing
from inventory.trade.drills import drill
from inventory.trade.driven import ShopHead
from inventory.trade.flush import PLAIN, prepare
from inventory.trade.lengths import Fit, Joint, print_dash
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Figure,
    Given,
    Question,
    Warned,
    both_units,
    choice_of,
    missing,
    shank_of,
    size_of,
    text_of,
)
from inventory.trade.questions.sheets import sheets_of, unusual
from inventory.trade.rivets import designation
from inventory.trade.sizes import MM_PER_INCH, print_size
from inventory.trade.stacks import Sheet, stack_drawing

STANDARDS = {"universal": "MS20470", "flush": "MS20426"}
ALLOYS = ("A", "AD", "B", "D", "DD", "E", "KE", "M")
# Four inches of sheets, and the longest rivet a callout can name, in sixteenths.
_THICKEST = Fraction(4)
_LONGEST = 64

_HEAD = Field(
    name="head",
    label="Head",
    help="manufactured head",
    default="universal",
    choices=tuple(STANDARDS),
)
_ALLOY = Field(
    name="alloy",
    label="Alloy letter",
    help="alloy of the rivet",
    default="AD",
    choices=ALLOYS,
)


@dataclass(frozen=True, slots=True)
class _Asked:
    """The joint and the rivet's manufactured head."""

    joint: Joint
    head: str

    def callout(self, dash: Fraction) -> str | None:
        """None for a rivet longer than any callout says."""
        size = int(self.joint.diameter * 32)
        if dash > _LONGEST:
            return None
        return STANDARDS[self.head] + designation(self.joint.alloy, size, dash)


def answer(given: Given) -> Answer:
    """The rivet for a joint. Raises Refused question.*, size.unknown, rivet.*,
    sheets.impossible, hole.unknown and drill.unknown."""
    asked = _asked(given)
    joint = asked.joint
    length = lengths.required_length(joint.grip, joint.diameter)
    by_rule = lengths.dash_for(length)
    fits = [each for each in lengths.fits(joint) if each.head.acceptable]
    best = lengths.best(joint)
    shown = _shown(given, joint, best, by_rule)
    return Answer(
        headline=_headline(asked, best),
        data={
            "grip_in": joint.grip,
            "diameter_in": joint.diameter,
            "length_in": length,
            "length_mm": length * MM_PER_INCH,
            "dash": print_dash(by_rule),
            "callout": asked.callout(by_rule),
            "best": print_dash(best.dash) if best else None,
            "best_callout": asked.callout(best.dash) if best else None,
            "acceptable": [print_dash(each.dash) for each in fits],
            "shop_head": {"dash": print_dash(shown.dash), **_head_data(joint, shown)},
            "hole_in": joint.hole,
        },
        figures=_figures(asked, length, by_rule, fits, shown),
        warnings=(
            *unusual(_sheets(given)),
            *_sheet_rules(given, joint.diameter),
            *_warnings(joint, by_rule, best, shown),
        ),
        cautions=(*cautions.about("driving"), *cautions.about("squeezing")),
        drawing=_drawing(given, asked, shown),
    )


def _asked(given: Given) -> _Asked:
    diameter = shank_of(given)
    letter = choice_of(given, _ALLOY)
    joint = Joint(diameter, _grip(given), _hole(given, diameter), letter)
    return _Asked(joint, choice_of(given, _HEAD))


def _grip(given: Given) -> Fraction:
    sheets = _sheets(given)
    if not sheets and not text_of(given, "grip"):
        raise missing("grip", "the thickness of all sheets, .064, or sheets .032,.032")
    named = text_of(given, "grip")
    grip = size_of(given, "grip") if named else sum(sheets, Fraction(0))
    if grip > _THICKEST:
        expected = f"a grip of {_THICKEST} in at most"
        raise Refused(
            "rivet.grip",
            f"Expected {expected}; got {both_units(grip)}.",
            {"text": named or text_of(given, "sheets"), "expected": expected},
        )
    return grip


def _sheets(given: Given) -> tuple[Fraction, ...]:
    text = text_of(given, "sheets")
    return sheets_of(text) if text else ()


def _sheet_rules(given: Given, diameter: Fraction) -> tuple[Warned, ...]:
    """What the rules of rivet and sheet say, where the sheets are known."""
    sheets = _sheets(given)
    found = layout.diameter_breaches(diameter, max(sheets)) if sheets else ()
    return tuple(Warned(each.sentence, each.source, each.certainty) for each in found)


def _hole(given: Given, diameter: Fraction) -> Fraction:
    named = text_of(given, "hole")
    if not named:
        return holes.hole_for_rivet(diameter).diameter_in
    found = drill(named)
    if found.diameter_in < diameter:
        expected = f"a drill no smaller than the rivet, {both_units(diameter)}"
        raise Refused(
            "rivet.hole",
            f"Expected {expected}; got {found.words}, {both_units(found.diameter_in)}.",
            {"text": named, "expected": expected},
        )
    return found.diameter_in


def _shown(given: Given, joint: Joint, best: Fit | None, by_rule: Fraction) -> Fit:
    """The length whose driven head is shown: the one asked for, else the best."""
    asked = text_of(given, "length")
    if not asked and best:
        return best
    dash = _dash(asked) if asked else by_rule
    return lengths.fits(joint, [dash])[0]


def _dash(text: str) -> Fraction:
    expected = "a length dash in sixteenths, whole or half, such as 4 or 3.5"
    try:
        dash = Fraction(text.removeprefix("-"))
    except (ValueError, ZeroDivisionError):
        dash = Fraction(0)
    if not 1 <= dash <= _LONGEST or dash.denominator > 2 or "/" in text:
        raise Refused(
            "rivet.length",
            f"Expected {expected}; got '{text}'.",
            {"text": text, "expected": expected},
        )
    return dash


def _drawing(given: Given, asked: _Asked, fit: Fit) -> Drawing | None:
    """The rivet driven in its sheets; one sheet of the whole grip if none are named."""
    joint, style = asked.joint, asked.head
    sheets = _sheets(given) or (joint.grip,)
    done: tuple[str, ...] = ()
    # Without a rule for the sheet the rivet is drawn standing proud of it.
    with suppress(Refused):
        done = prepare(sheets, joint.diameter) if style == "flush" else ()
    stack = [
        Sheet(sheet, done[at] if done else PLAIN) for at, sheet in enumerate(sheets)
    ]
    head = (fit.head.diameter_in, fit.head.height_in) if fit.head.height_in else None
    size = (joint.diameter, fit.dash / 16)
    return stack_drawing(style, *size, stack, joint.hole, head)


def _headline(asked: _Asked, best: Fit | None) -> str:
    if best is None:
        return "No stocked length makes an acceptable head on these sheets."
    long = print_size(best.dash / 16)
    return (
        f"{asked.callout(best.dash)}: {long} long, grip {both_units(asked.joint.grip)}"
    )


def _head_data(joint: Joint, fit: Fit) -> dict[str, object]:
    nominal, least = (
        driven.nominal_head(joint.diameter),
        driven.least_head(joint.diameter, joint.alloy),
    )
    return {
        "diameter_in": fit.head.diameter_in,
        "height_in": fit.head.height_in,
        "fit": fit.head.fit,
        "acceptable": fit.head.acceptable,
        "nominal_diameter_in": nominal.diameter_in,
        "nominal_height_in": nominal.height_in,
        "min_diameter_in": least.diameter_in,
        "min_height_in": least.height_in,
        "max_height_in": nominal.height_in * driven.MOST_HEIGHTS,
        "diameter_at_nominal_height_in": _across(fit.head, nominal.height_in),
    }


def _across(head: ShopHead, height: Fraction) -> Fraction:
    """How wide the same head is when it is driven down to a height, to 1/100000 in."""
    steps = 10**5
    square = head.diameter_in**2 * head.height_in / height
    return Fraction(isqrt(int(square * steps**2)), steps)


def _figures(
    asked: _Asked,
    length: Fraction,
    by_rule: Fraction,
    fits: list[Fit],
    shown: Fit,
) -> tuple[Figure, ...]:
    joint = asked.joint
    least = driven.least_head(joint.diameter, joint.alloy)
    nominal = driven.nominal_head(joint.diameter)
    reach = driven.grips_for(joint.diameter, shown.dash / 16, joint.hole, joint.alloy)
    ideal = lengths.grip_for(shown.dash / 16, joint.diameter)
    head = f"{both_units(shown.head.diameter_in)} across, {both_units(shown.head.height_in)} high: {shown.head.fit}"
    acceptable = ", ".join(
        f"-{print_dash(each.dash)} ({each.head.fit})" for each in fits
    )
    nearest = asked.callout(by_rule) or f"none: -{print_dash(by_rule)} is not made"
    rows = [
        ("length before rounding", both_units(length), lengths.SOURCE, "published"),
        ("nearest whole length", nearest, lengths.SOURCE, "published"),
        (
            "acceptable lengths",
            acceptable or "none",
            f"{driven.RULE}; half lengths {lengths.HALVES_SOURCE}; most {driven.MOST_MARK}",
            "computed",
        ),
        (f"driven head of -{print_dash(shown.dash)}", head, driven.RULE, "computed"),
        (
            "least driven head",
            f"{both_units(least.diameter_in)} across, {both_units(least.height_in)} high",
            least.source,
            least.certainty,
        ),
        (
            "nominal driven head",
            f"{both_units(nominal.diameter_in)} across, {both_units(nominal.height_in)} high",
            nominal.source,
            nominal.certainty,
        ),
    ]
    if reach and ideal:
        rows.append(
            (
                f"grips for -{print_dash(shown.dash)}",
                f"{both_units(reach[0])} to {both_units(reach[1])}; by the rule {both_units(ideal)}",
                driven.RULE,
                "computed",
            )
        )
    return (*(Figure(*row) for row in rows), *_hole_figures(joint))


def _hole_figures(joint: Joint) -> tuple[Figure, ...]:
    """The hole by every source that has one: they differ."""
    found = holes.holes_for(f"{print_size(joint.diameter)} rivet")
    return tuple(
        Figure("hole", each.words, each.source, each.certainty) for each in found
    )


def _warnings(
    joint: Joint, by_rule: Fraction, best: Fit | None, shown: Fit
) -> tuple[Warned, ...]:
    said = []
    if best is None:
        said.append("None of the lengths from 2 to 32 sixteenths suits this grip.")
    elif best.dash != by_rule:
        said.append(
            f"A whole length would be -{print_dash(by_rule)}; -{print_dash(best.dash)} is "
            "nearer to the rule. Where only whole lengths are to be had, cut the longer "
            "one down."
        )
    if not shown.head.acceptable:
        said.append(
            f"-{print_dash(shown.dash)} makes a head that is {shown.head.fit}: do not "
            "drive it here."
        )
    return tuple(Warned(each, driven.RULE, "computed") for each in said)


QUESTION = Question(
    name="rivet",
    title="Rivet length and driven head",
    asks="Which length of solid rivet do these sheets take, and what head will it make?",
    fields=(
        Field(
            name="grip", label="Grip", help="thickness of all sheets", example=".064"
        ),
        Field(
            name="sheets",
            label="or the sheets",
            help="outer sheet first, commas between",
            example=".032,.032",
        ),
        Field(
            name="diameter",
            label="Rivet diameter",
            help="the shank, in 32nds of an inch",
            example="1/8",
            required=True,
        ),
        _HEAD,
        _ALLOY,
        Field(
            name="length",
            label="Length to judge",
            help="a length dash whose driven head is wanted",
            example="3.5",
        ),
        Field(name="hole", label="Hole", help="the hole's drill", example="#30"),
    ),
    answer=answer,
)
