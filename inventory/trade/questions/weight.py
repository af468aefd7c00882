"""What a piece weighs and how many a pound holds, by geometry or by a weighed sample."""

import math
import re
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import callouts, mass
from inventory.trade.mass import Mass
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Figure,
    Given,
    Question,
    Warned,
    missing,
    text_of,
)
from inventory.trade.reading import Reading

_USUAL_DIVISION = "0.1"
_COUNT = "a whole count such as 100"
_NUMBER = re.compile(
    r"(?:(?P<whole>[0-9]{1,4}) )?(?P<over>[0-9]{1,4})/(?P<under>[1-9][0-9]{0,3})"
    r"|(?P<decimal>[0-9]{1,6}(?:\.[0-9]{0,4})?|\.[0-9]{1,4})",
    re.ASCII,
)

_LIMIT = Warned(
    "Weight shows that a whole tin is the wrong size, never that it is unmixed.",
    "arithmetic: a mix of lengths weighs as their mean",
    "computed",
)


def answer(given: Given) -> Answer:
    """The mass of a piece and the pieces in a pound.

    Raises Refused question.missing, weight.number, mass.unknown, mass.sample and what
    callouts.parse raises.
    """
    text = text_of(given, "text")
    if not text:
        raise missing("text", "a callout such as MS20470AD4-4")
    reading, sample = callouts.parse(text), _sample(given)
    piece = sample or mass.piece_mass(reading)
    pounds = _number(given, "pounds", "pounds such as 1/4 or 0.5")
    in_pack = piece.pieces_in(pounds) if pounds else None
    low, high = piece.pieces_in(Fraction(1))
    return Answer(
        headline=f"{reading.callout}: {_milligrams(piece)}, {low} to {high} to the pound",
        data={
            "callout": reading.callout,
            "piece_mg": round(piece.mg, 1),
            "piece_mg_low": _down(piece.low_mg),
            "piece_mg_high": _up(piece.high_mg),
            "pieces_per_pound_low": low,
            "pieces_per_pound_high": high,
            "pieces": in_pack and {"low": in_pack[0], "high": in_pack[1]},
            "replaced": sample is not None,
        },
        figures=tuple(_figures(reading, piece, in_pack, given)),
        warnings=(*_contradicts(reading, sample), _LIMIT),
    )


def _contradicts(reading: Reading, sample: Mass | None) -> tuple[Warned, ...]:
    """A weighed sample that is not what the dimensions weigh: it is another part."""
    try:
        by_size = mass.piece_mass(reading)
    except Refused:
        return ()
    if sample is None or (
        sample.low_mg <= by_size.high_mg and by_size.low_mg <= sample.high_mg
    ):
        return ()
    said = (
        f"This is not {reading.callout}, or the sample was miscounted: it weighs "
        f"{_milligrams(sample)}, and the dimensions make {_milligrams(by_size)}. Measure "
        "one before you drive any."
    )
    return (Warned(said, by_size.source, by_size.certainty),)


def _number(given: Given, name: str, expected: str) -> Fraction | None:
    """A positive number as '20', '0.5', '1/4' or '1 1/4'; None when not given.

    Raises Refused weight.number.
    """
    text = text_of(given, name)
    number = _read(text)
    if text and not number:
        raise _refused(name, text, expected)
    return number


def _refused(name: str, text: str, expected: str) -> Refused:
    return Refused(
        "weight.number",
        f"Expected {name} as {expected}; got '{text}'.",
        {"field": name, "text": text, "expected": expected},
    )


def _read(text: str) -> Fraction | None:
    match = _NUMBER.fullmatch(text)
    if match is None:
        return None
    if match["decimal"]:
        return Fraction(match["decimal"])
    return int(match["whole"] or 0) + Fraction(int(match["over"]), int(match["under"]))


def _sample(given: Given) -> Mass | None:
    """The lot's own piece mass, where a counted sample was weighed."""
    pieces = _number(given, "sample_pieces", _COUNT)
    grams = _number(given, "sample_grams", "grams such as 8.1")
    if pieces is None and grams is None:
        return None
    if pieces is None:
        raise missing("sample_pieces", "the count of pieces beside the grams")
    if grams is None:
        raise missing("sample_grams", "the grams beside the count of pieces")
    if pieces.denominator > 1:
        raise _refused("sample_pieces", text_of(given, "sample_pieces"), _COUNT)
    usual = Fraction(_USUAL_DIVISION)
    division = _number(given, "division", "grams such as 0.1") or usual
    return mass.weighed(int(pieces), grams, division)


def _down(milligrams: float) -> float:
    return math.floor(milligrams * 10) / 10


def _up(milligrams: float) -> float:
    return math.ceil(milligrams * 10) / 10


def _milligrams(piece: Mass) -> str:
    return f"{_down(piece.low_mg):g} to {_up(piece.high_mg):g} mg a piece"


def _figures(
    reading: Reading, piece: Mass, in_pack: tuple[int, int] | None, given: Given
) -> list[Figure]:
    low, high = piece.pieces_in(Fraction(1))
    source, certainty = piece.source, piece.certainty
    found = [
        Figure("piece", _milligrams(piece), source, certainty),
        Figure("pieces to the pound", f"{low} to {high}", source, certainty),
    ]
    if in_pack:
        words = f"{in_pack[0]} to {in_pack[1]}"
        pounds = text_of(given, "pounds")
        found.append(Figure(f"pieces in {pounds} lb", words, source, certainty))
    return [*found, *_density(reading)]


def _density(reading: Reading) -> list[Figure]:
    if reading.kind != "solid_rivet":
        return []
    row = mass.density(reading.alloy)
    pounds = mass.pounds_per_cubic_inch(Fraction(row["density_g_cm3"]))
    words = f"{row['density_g_cm3']} g/cm3 ({float(pounds):.4f} lb/in3)"
    certainty = row["density_certainty"]
    return [Figure("density", words, mass.DENSITY_SOURCES[certainty], certainty)]


QUESTION = Question(
    name="weight",
    title="Weight",
    asks="What does a piece weigh, and how many are in a pound?",
    fields=(
        Field(
            name="text",
            label="Callout",
            help="a part number as a drawing writes it",
            example="MS20470AD4-4",
            required=True,
        ),
        Field(name="pounds", label="Pounds", help="of the pack", example="1/4"),
        Field(
            name="sample_pieces",
            label="Pieces weighed",
            help="a counted sample of the lot",
            example="100",
        ),
        Field(
            name="sample_grams",
            label="Grams they weigh",
            help="without the container",
            example="8.1",
        ),
        Field(
            name="division",
            label="The scale's division",
            help="in grams",
            default=_USUAL_DIVISION,
            example="0.1",
        ),
    ),
    answer=answer,
    positional=True,
)
