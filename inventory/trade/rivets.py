"""Rivets by callout: solid, blind and pin, from their designations' grammar."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from inventory.trade import tables
from inventory.trade.reading import Grip, Reading, SplitCallout, material, refusal
from inventory.trade.sizes import exact, print_decimal, print_size

_DIAMETERS = range(2, 13)
_LONGEST = 64
_BLIND_DIAMETERS = (3, 4, 5, 6, 8)
_LONGEST_BLIND = 16
_BLIND_RULE = "the rule all rows of TM 10-5410-221-14/1 table 4-3 follow"
_RIVET = re.compile(
    r"-?(?P<alloy>[A-Z]*)-?(?P<diameter>[0-9]{0,2})"
    r"(?:-(?P<length>[0-9]{1,2}(?:\.[0-9]{0,3})?|))?"
)
_SERIES = re.compile(r"(?:SERIES)?,?(?:NO\.?|#)?-?(?P<number>[0-9]{2,3})")
_BLIND = re.compile(
    r"-?(?P<alloy>[A-Z]{1,2})-?(?P<diameter>[0-9]{1,2})(?P<style>W|-)(?P<grip>[0-9]{1,2})"
)
_PIN = re.compile(r"-?(?P<diameter>[0-9]{1,2})-(?P<grip>[0-9]{1,2})")


def solid(part: SplitCallout) -> Reading:
    """A solid rivet: letter, diameter in 32nds, length in 16ths, halves allowed.

    Raises Refused callout.incomplete, callout.unknown and callout.impossible.
    """
    match, example = _RIVET.fullmatch(part.tail), f"{part.standard}AD4-3.5"
    expected = f"{part.standard}, then alloy letter, diameter and length: {example}"
    if match is None:
        raise refusal("unknown", part.text, expected)
    letter, diameter, length = match["alloy"], match["diameter"], match["length"]
    if letter and letter not in part.row["letters"].split():
        raise refusal("unknown", part.text, f"an alloy of {part.row['letters']}")
    if not (letter and diameter and length):
        raise refusal("incomplete", part.text, expected)
    sixteenths = exact(length)
    _check_rivet(part.text, int(diameter), sixteenths)
    return _solid_reading(part, letter, int(diameter), sixteenths)


def _check_rivet(text: str, diameter: int, length: Fraction) -> None:
    if diameter not in _DIAMETERS:
        raise refusal("impossible", text, "a diameter of 2 to 12 thirty-seconds")
    if not 1 <= length <= _LONGEST or length.denominator > 2:
        expected = f"a length of 1 to {_LONGEST} sixteenths in whole or half steps"
        raise refusal("impossible", text, expected)


def designation(letter: str, diameter: int, length: Fraction) -> str:
    """The part of a solid rivet's callout after its standard: 'AD4-3.5'."""
    half = ".5" if length.denominator > 1 else ""
    return f"{letter}{diameter}-{length.numerator // length.denominator}{half}"


def next_sizes(reading: Reading) -> tuple[str, ...]:
    """The callouts half a sixteenth shorter and longer than this solid rivet."""
    diameter = int((reading.diameter_in or 0) * 32)
    sixteenths = (reading.length_in or 0) * 16
    return tuple(
        reading.standard + designation(reading.alloy, diameter, sixteenths + step)
        for step in (Fraction(-1, 2), Fraction(1, 2))
    )


def _solid_reading(
    part: SplitCallout, letter: str, diameter: int, length: Fraction
) -> Reading:
    row, tail = part.row, designation(letter, diameter, length)
    alloy = tables.index("rivet_alloys", "letter")[(letter,)]
    shank, long = exact(diameter, 32), exact(str(length), 16)
    label = f"{row['head']} {alloy['label']}".strip()
    return Reading(
        kind=row["kind"],
        standard=part.standard,
        callout=part.standard + tail,
        key=row["key"] + tail,
        words=f"{print_size(shank)} {label}, {print_size(long)} long",
        meaning=_solid_meaning(row, alloy, print_size(shank), print_size(long)),
        head=row["head"],
        head_words=row["head_words"],
        alloy=letter,
        alloy_words=alloy["alloy"],
        diameter_in=shank,
        length_in=long,
        equivalents=tuple(name + tail for name in _twins(part.standard)),
        heat_treat=alloy["heat_treat"] == "yes",
        source=row["source"],
        certainty=row["certainty"],
    )


@cache
def _twins(standard: str) -> tuple[str, ...]:
    """The other numbers under which the same rivet is drawn."""
    key = tables.index("standards", "standard")[(standard,)]["key"]
    return tuple(
        row["standard"]
        for row in tables.rows("standards")
        if row["key"] == key and row["standard"] != standard
    )


def _solid_meaning(
    row: Mapping[str, str], alloy: Mapping[str, str], shank: str, long: str
) -> str:
    if row["datum"] == "overall":
        length = f"{long} in long overall, the head included"
    else:
        length = f"{long} in long under the head"
    return (
        f"Solid rivet, {row['head_words']} head, alloy {alloy['alloy']}, shank {shank} "
        f"in, {length}; {alloy['before_driving']}."
    )


def blind(part: SplitCallout) -> Reading:
    """A blind rivet, by grip: 'MS20600 series, no. 42' or 'MS20600AD4W2'.

    Raises Refused callout.incomplete, callout.unknown, and callout.unknown_dash for
    a number the published grip table does not carry.
    """
    if series := _SERIES.fullmatch(part.tail):
        number = series["number"]
        return _blind_reading(part, "", number, f" series, no. {number}")
    match = _BLIND.fullmatch(part.tail)
    if match is None:
        short = re.fullmatch(r"-?[A-Z]{0,2}-?[0-9]{0,2}[W-]?|SERIES.{0,4}", part.tail)
        code = "incomplete" if short else "unknown"
        expected = f"{part.standard} series and number, as in no. 42, or as in AD4W2"
        raise refusal(code, part.text, expected)
    diameter, grip = int(match["diameter"]), int(match["grip"])
    tail = f"{match['alloy']}{diameter}{match['style']}{grip}"
    return _blind_reading(part, match["alloy"], f"{diameter}{grip}", tail)


@dataclass(frozen=True, slots=True)
class _BlindSize:
    """A blind rivet's grip and length; least grip and length are not always known."""

    grip: Grip
    length: Fraction | None
    source: str
    certainty: str


def _blind_size(part: SplitCallout, number: str) -> _BlindSize:
    """From the published table, or beyond it the most grip by the number's own rule."""
    row = tables.index("blind_grips", "number").get((number,))
    if row is not None:
        grip = (Fraction(row["grip_min_in"]), Fraction(row["grip_max_in"]))
        length = Fraction(row["length_in"])
        return _BlindSize(grip, length, row["source"], row["certainty"])
    most = int(number[1:])
    if int(number[0]) not in _BLIND_DIAMETERS or not 0 < most <= _LONGEST_BLIND:
        expected = (
            "a number of diameter 3, 4, 5, 6 or 8 in 32nds, then the most grip, 1 to "
            f"{_LONGEST_BLIND} sixteenths, such as 42"
        )
        raise refusal("unknown_dash", part.text, expected)
    return _BlindSize((None, Fraction(most, 16)), None, _BLIND_RULE, "computed")


def _blind_reading(part: SplitCallout, letter: str, number: str, tail: str) -> Reading:
    row, size = part.row, _blind_size(part, number)
    alloy = material(part, letter) if letter else ""
    diameter = Fraction(int(number[0]), 32)
    least, most = size.grip
    to_most = print_size(most) if least is None else _grip_text(most)
    span = f"{_grip_text(least)} to {to_most}" if least else f"to {to_most}"
    made_of = f" {alloy}" if alloy else ""
    return Reading(
        kind=row["kind"],
        standard=part.standard,
        callout=part.standard + tail,
        key=row["key"] + tail,
        words=f"{print_size(diameter)} blind {row['head']}{made_of}, grip {span}",
        meaning=(
            f"Blind rivet, {row['head_words']} head{made_of and ', of' + made_of}, "
            f"shank {print_size(diameter)} in, chosen by grip: sheets of {span} in."
        ),
        head=row["head"],
        head_words=row["head_words"],
        alloy=letter,
        alloy_words=alloy,
        diameter_in=diameter,
        length_in=size.length,
        grip_in=size.grip,
        source=size.source,
        certainty=size.certainty if not letter else "from memory",
    )


def _grip_text(inches: Fraction) -> str:
    return print_decimal(inches, places=3).removeprefix("0")


def pin(part: SplitCallout) -> Reading:
    """A pin rivet: diameter in 32nds, greatest grip in 16ths.

    Raises Refused callout.incomplete, callout.unknown and callout.impossible.
    """
    match = _PIN.fullmatch(part.tail)
    if match is None:
        code = "incomplete" if re.fullmatch(r"[-\d]*", part.tail) else "unknown"
        expected = f"{part.standard}, diameter and grip, as in -14-17"
        raise refusal(code, part.text, expected)
    diameter, most = Fraction(int(match["diameter"]), 32), int(match["grip"])
    if not (diameter and most):
        raise refusal("impossible", part.text, "a diameter and a grip above nought")
    row, tail = part.row, f"-{int(match['diameter'])}-{most}"
    shank, reach = print_size(diameter), print_size(Fraction(most, 16))
    return Reading(
        kind=row["kind"],
        standard=part.standard,
        callout=part.standard + tail,
        key=row["key"] + tail,
        words=f"{shank} pin rivet {row['head']}, grip to {reach}",
        meaning=(
            f"Pin rivet, {row['head_words']}, pin {shank} in, for a grip of {reach} in "
            "at most."
        ),
        head=row["head"],
        head_words=row["head_words"],
        diameter_in=diameter,
        grip_in=(None, Fraction(most, 16)),
        source=row["source"],
        certainty=row["certainty"],
    )
