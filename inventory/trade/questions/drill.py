"""Which drill this is: its size in both units, its neighbours, and what it is for."""

from contextlib import suppress
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import cautions, drills, holders, holes, tables
from inventory.trade.drills import Drill
from inventory.trade.outlines import drill_outline
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Figure,
    Given,
    Question,
    both_units,
    missing,
    text_of,
)
from inventory.trade.sizes import MM_PER_INCH, parse_size

_SLIP_SOURCE = "common practice, no source"


def answer(given: Given) -> Answer:
    """The drill named, or the nearest to a size that no drill has.

    Raises Refused question.missing and drill.unknown.
    """
    text = text_of(given, "size")
    if not text:
        raise missing("size", "a drill such as #40, F, 3/32, .098 or 2.5 mm")
    size, found = _found(text)
    down, up = drills.next_sizes(size)
    uses = _uses(found) if found else ()
    slips = drills.slips(found) if found else ()
    return Answer(
        headline=f"{found.words if found else 'No drill'}: {both_units(size)}",
        data={
            "size": found.name if found else None,
            "series": found.series if found else None,
            "diameter_in": size,
            "diameter_mm": size * MM_PER_INCH,
            "nearest_down": _named(down),
            "nearest_up": _named(up),
            "used_for": [each.text for each in uses],
            "slips": slips,
        },
        figures=(
            *(_figure("this drill", each) for each in (found,) if each),
            *(_figure("next smaller", each) for each in (down,) if each),
            *(_figure("next larger", each) for each in (up,) if each),
            *uses,
            *(
                Figure("not to be mistaken", slip, _SLIP_SOURCE, "common practice")
                for slip in slips
            ),
        ),
        cautions=cautions.about("drilling"),
        drawing=drill_outline(size),
    )


def _found(text: str) -> tuple[Fraction, Drill | None]:
    """The size asked for and its drill; a decimal may fall between the drills."""
    try:
        found = drills.drill(text)
    except Refused:
        if "." not in text:
            raise
        size = parse_size(text)
        same = drills.nearest_up(size)
        return size, same if same.diameter_in == size else None
    return found.diameter_in, found


def _named(each: Drill | None) -> dict[str, object] | None:
    if each is None:
        return None
    return {"size": each.name, "diameter_in": each.diameter_in}


def _figure(name: str, each: Drill) -> Figure:
    text = f"{each.words}, {both_units(each.diameter_in)}"
    return Figure(name, text, each.source, each.certainty)


def _uses(found: Drill) -> tuple[Figure, ...]:
    """The fasteners whose hole this drill makes, each by its source."""
    uses = [
        Figure(
            "makes the hole of", f"a {row['fastener']}", row["source"], row["certainty"]
        )
        for row in tables.rows("holes")
        if row["drill"] == found.name
    ]
    uses += [
        Figure(
            "is the pilot of",
            f"the {row['fastener']} countersink",
            row["source"],
            row["certainty"],
        )
        for row in tables.rows("flush_tools")
        if row["pilot"] == found.name
    ]
    with suppress(Refused):
        size = holders.holder_size(found.name)
        row = tables.index("holder_sizes", "hole")[(found.name,)]
        words = f"the {size} temporary fastener, {holders.colour(size)}"
        uses.append(Figure("its hole takes", words, row["source"], row["certainty"]))
    if holes.pilots_for(found.diameter_in):
        pilot = "a number 40 or 30 pilot first, then enlarge"
        uses.append(Figure("begin with", pilot, holes.STEP_UP_SOURCE, "published"))
    return tuple(uses)


QUESTION = Question(
    name="drill",
    title="Drill",
    asks="How big is this drill, what is next to it, and what is it for?",
    fields=(
        Field(
            name="size",
            label="Drill",
            help="a number, letter, fraction, decimal or millimetres",
            example="#40",
            required=True,
        ),
    ),
    answer=answer,
    positional=True,
)
