"""What a callout means: the part in plain words, its equivalents and look-alikes."""

from contextlib import suppress
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import callouts, cautions, holes, lengths, tables
from inventory.trade.callouts import Reading, Readings
from inventory.trade.fastening import PRACTICE
from inventory.trade.outlines import outline_of
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Figure,
    Given,
    Question,
    Warned,
    both_units,
    text_of,
)
from inventory.trade.reading import Grip
from inventory.trade.sizes import MM_PER_INCH, print_size

# Shanks that are made, in 32nds of an inch: common practice, no source.
_MADE = (2, 3, 4, 5, 6, 8, 10, 12)
_TOPICS = {"solid_rivet": "driving", "blind_rivet": "pulling"}


def answer(given: Given) -> Answer:
    """The part a callout names.

    Raises Refused callout.* with what was expected; callout.ambiguous carries every
    reading, and why the others failed, in its data.
    """
    text = text_of(given, "text")
    every = callouts.readings(text)
    try:
        reading = callouts.one_of(text, every)
    except Refused as error:
        error.data.update(_every(every))
        raise
    return Answer(
        headline=f"{reading.callout}: {reading.words}",
        data={**data_of(reading), "text": text, **_every(every)},
        figures=_figures(reading),
        warnings=(*_odd(reading), *_differ(reading), *_alike(reading)),
        cautions=cautions.about(_TOPICS.get(reading.kind, "")),
        drawing=outline_of(reading),
    )


def _every(every: Readings) -> dict[str, object]:
    return {
        "readings": [reading.callout for reading in every.found],
        "failed": [
            {"standard": standard, "error": error.sentence}
            for standard, error in every.failed
        ],
    }


def data_of(reading: Reading) -> dict[str, object]:
    """A reading for a program; sizes in inches, and what is measured in mm too.

    `grip_in` is one figure for a bolt and [least, most] for a blind or pin rivet.
    """
    alloy = tables.index("rivet_alloys", "letter").get((reading.alloy,))
    rivet = alloy if reading.kind == "solid_rivet" else None
    return {
        "callout": reading.callout,
        "kind": reading.kind.replace("_", " "),
        "standard": reading.standard,
        "head": reading.head,
        "head_words": reading.head_words,
        "alloy": reading.alloy_words,
        "alloy_letter": reading.alloy,
        "diameter_in": reading.diameter_in,
        "diameter_mm": _mm(reading.diameter_in),
        "length_in": reading.length_in,
        "length_mm": _mm(reading.length_in),
        "nominal_in": reading.nominal_in,
        "thickness_in": reading.thickness_in,
        "grip_in": _grip(reading.grip_in),
        "thread": reading.thread,
        "equivalents": reading.equivalents,
        "meaning": reading.meaning,
        "words": reading.words,
        "head_mark": rivet["head_mark"] if rivet else None,
        "heat_treat": reading.heat_treat,
        "before_driving": rivet["before_driving"] if rivet else None,
        "alike": callouts.next_sizes(reading),
        "source": reading.source,
        "certainty": reading.certainty,
    }


def _mm(inches: Fraction | None) -> Fraction | None:
    return None if inches is None else inches * MM_PER_INCH


def _grip(grip: Grip | None) -> object:
    if grip is None:
        return None
    return grip[1] if grip[0] == grip[1] else grip


def _figures(reading: Reading) -> tuple[Figure, ...]:
    by = (reading.source or "kept as written", reading.certainty or "computed")
    rows = [("meaning", reading.meaning)]
    for name, size in (
        ("diameter", reading.diameter_in),
        ("length", reading.length_in),
        ("thickness", reading.thickness_in),
    ):
        if size is not None:
            rows.append((name, both_units(size)))
    if reading.equivalents:
        rows.append(("the same as", ", ".join(reading.equivalents)))
    return (
        *(Figure(name, text, *by) for name, text in rows),
        *_alloy(reading),
        *_holes(reading),
    )


def _alloy(reading: Reading) -> tuple[Figure, ...]:
    row = tables.index("rivet_alloys", "letter").get((reading.alloy,))
    if reading.kind != "solid_rivet" or row is None:
        return ()
    return (
        Figure("head mark", row["head_mark"], row["source"], row["certainty"]),
        Figure(
            "before driving", row["before_driving"], row["source"], row["certainty"]
        ),
    )


def _holes(reading: Reading) -> tuple[Figure, ...]:
    with suppress(Refused):
        return tuple(
            Figure("hole", hole.words, hole.source, hole.certainty)
            for hole in holes.holes_for(holes.fastener_of(reading))
        )
    return ()


def _odd(reading: Reading) -> tuple[Warned, ...]:
    """A size that nobody stocks, or a grip of which only one end is known."""
    said = []
    if reading.kind == "solid_rivet" and reading.diameter_in and reading.length_in:
        if reading.diameter_in * 32 not in _MADE:
            said.append(
                f"No {print_size(reading.diameter_in)} rivet is stocked: read the "
                "callout again."
            )
        if reading.length_in * 16 not in lengths.STOCKED:
            said.append(
                f"No rivet {print_size(reading.length_in)} long is stocked: read the "
                "callout again."
            )
    if reading.grip_in and reading.grip_in[0] is None:
        said.append(
            f"Its least grip is not known here, only its most, "
            f"{both_units(reading.grip_in[1])}: try one in the thinnest joint first."
        )
    return tuple(Warned(each, *PRACTICE) for each in said)


def _differ(reading: Reading) -> tuple[Warned, ...]:
    """The sources that disagree on its hole."""
    return tuple(
        Warned(said, "the sources named", "computed")
        for said in holes.disagreements(holes.fastener_of(reading))
    )


def _alike(reading: Reading) -> tuple[Warned, ...]:
    """The parts one step away: they look the same in the hand."""
    alike = callouts.next_sizes(reading)
    if not alike:
        return ()
    return (
        Warned(
            f"Easily mistaken for {' and '.join(alike)}: measure one before driving.",
            "common practice, no source",
            "common practice",
        ),
    )


QUESTION = Question(
    name="callout",
    title="Callout",
    asks="What does this part number mean?",
    fields=(
        Field(
            name="text",
            label="Callout",
            help="a part number as the drawing writes it",
            example="MS20470AD4-3.5",
            required=True,
        ),
    ),
    answer=answer,
    positional=True,
    many=True,
)
