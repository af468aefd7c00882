"""Countersink or dimple: what each sheet of a flush stack takes, and with which tools."""

from contextlib import suppress
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import cautions, flush
from inventory.trade.drawing import Drawing
from inventory.trade.holes import hole_for_rivet
from inventory.trade.lengths import dash_for, required_length
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Figure,
    Given,
    Question,
    Warned,
    both_units,
    missing,
    shank_of,
    text_of,
)
from inventory.trade.questions.sheets import sheets_of, unusual
from inventory.trade.sizes import print_size
from inventory.trade.stacks import Sheet, stack_drawing

_CAUTIONS = ("drilling", "deburring")


def answer(given: Given) -> Answer:
    """What is done to each sheet. Raises Refused question.missing, size.unknown and
    countersink.unknown."""
    diameter = shank_of(given)
    if not text_of(given, "sheets"):
        raise missing("sheets", "the sheets, the outer one first, such as .032,.040")
    sheets = sheets_of(text_of(given, "sheets"))
    source = text_of(given, "source", flush.SOURCES[0])
    done = flush.prepare(sheets, diameter, source)
    by_source = {
        each.key: flush.prepare(sheets, diameter, each.key)
        for each in flush.least_sheets(diameter)
    }
    recess = _nest(diameter, sheets, done)
    return Answer(
        headline=f"{print_size(diameter)} flush: " + _in_words(sheets, done),
        data={
            "diameter_in": diameter,
            "angle_deg": flush.ANGLE_DEG,
            "preparation": done,
            "by_source": by_source,
            "least_sheet_in": {
                each.key: each.sheet_in for each in flush.least_sheets(diameter)
            },
            "across_in": recess.across_in,
            "depth_in": recess.depth_in,
            **_tool_data(diameter),
        },
        figures=_figures(diameter, sheets, recess, done),
        warnings=(*unusual(sheets), *_warnings(by_source, recess, sheets, done)),
        cautions=tuple(each for topic in _CAUTIONS for each in cautions.about(topic)),
        drawing=_drawing(diameter, sheets, done),
    )


def _nest(
    diameter: Fraction, sheets: tuple[Fraction, ...], done: tuple[str, ...]
) -> flush.Recess:
    """What the countersunk sheet is cut to: for the dimples above it, else for the head."""
    own = flush.recess(diameter)
    if flush.COUNTERSINK not in done:
        return own
    return flush.under_dimples(
        own, sum(sheets[: done.index(flush.COUNTERSINK)], Fraction(0))
    )


def _drawing(
    diameter: Fraction, sheets: tuple[Fraction, ...], done: tuple[str, ...]
) -> Drawing | None:
    """A flush rivet of the rule's length, not yet driven, in these sheets."""
    length = dash_for(required_length(sum(sheets, Fraction(0)), diameter)) / 16
    stack = [Sheet(*pair) for pair in zip(sheets, done, strict=True)]
    hole = hole_for_rivet(diameter).diameter_in
    return stack_drawing("flush", diameter, length, stack, hole)


def _in_words(sheets: tuple[Fraction, ...], done: tuple[str, ...]) -> str:
    return ", then ".join(
        f"{name} the {print_size(sheet)}"
        if name != flush.PLAIN
        else f"{print_size(sheet)} plain"
        for sheet, name in zip(sheets, done, strict=True)
    )


def _tool_data(diameter: Fraction) -> dict[str, object]:
    with suppress(Refused):
        tools = flush.tools(f"{print_size(diameter)} rivet")
        return {"pilot": tools.pilot, "dies": tools.dies}
    return {"pilot": None, "dies": None}


def _figures(
    diameter: Fraction,
    sheets: tuple[Fraction, ...],
    recess: flush.Recess,
    done: tuple[str, ...],
) -> tuple[Figure, ...]:
    rows = []
    for each in flush.least_sheets(diameter):
        words = _in_words(sheets, flush.prepare(sheets, diameter, each.key))
        text = f"from {both_units(each.sheet_in, 3)} up countersink: {words}"
        rows.append(Figure("least sheet", text, each.source, each.certainty))
    rows.append(
        Figure("stack", flush.STACK_RULE, flush.STACK_SOURCE, "common practice")
    )
    width = f"{both_units(recess.across_in)} across, {both_units(recess.depth_in)} deep"
    name = "countersink" if flush.COUNTERSINK in done else "the head"
    rows.append(Figure(name, width, recess.source, recess.certainty))
    with suppress(Refused):
        tools = flush.tools(f"{print_size(diameter)} rivet")
        cutter = f"{flush.ANGLE_DEG} degrees, pilot {tools.pilot}"
        if flush.COUNTERSINK in done:
            rows.append(Figure("cutter", cutter, tools.source, tools.certainty))
        if flush.DIMPLE in done:
            rows.append(Figure("dies", tools.dies, tools.source, tools.certainty))
    return tuple(rows)


def _warnings(
    by_source: dict[str, tuple[str, ...]],
    recess: flush.Recess,
    sheets: tuple[Fraction, ...],
    done: tuple[str, ...],
) -> tuple[Warned, ...]:
    said = []
    if len(set(by_source.values())) > 1:
        keys = ", ".join(by_source)
        said.append(
            Warned(
                f"The sources differ here ({keys}): the drawing decides.",
                "TM 9-2320-363-34-2 table 4 against common practice",
                "published",
            )
        )
    for sheet, name in zip(sheets, done, strict=True):
        if name == flush.COUNTERSINK and recess.depth_in >= sheet:
            said.append(
                Warned(
                    f"The countersink is as deep as the {print_size(sheet)} sheet: its "
                    "hole would have a knife edge.",
                    recess.source,
                    recess.certainty,
                )
            )
    return tuple(said)


QUESTION = Question(
    name="countersink",
    title="Countersink or dimple",
    asks="Which of these sheets is countersunk or dimpled for a flush rivet?",
    fields=(
        Field(
            name="diameter",
            label="Rivet diameter",
            help="the shank",
            example="3/32",
            required=True,
        ),
        Field(
            name="sheets",
            label="Sheets",
            help="outer sheet first, commas between",
            example=".032,.040",
            required=True,
        ),
        Field(
            name="source",
            label="Rule",
            help="whose least sheet: a manual, shops' habit, or the 1940s manual",
            default=flush.SOURCES[0],
            choices=flush.SOURCES,
        ),
    ),
    answer=answer,
)
