"""What a seam takes: rivets, holes by operation, temporary fasteners and tools."""

from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import cautions, holes, layout, lengths, seams, strength, tables
from inventory.trade.callouts import parse
from inventory.trade.cautions import Caution
from inventory.trade.drawing import Drawing
from inventory.trade.fastening import BLIND, DECIDED, SOLID, Fastening
from inventory.trade.holes import hole_for_rivet
from inventory.trade.layout import Breach
from inventory.trade.questions.runs import runs_of
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
from inventory.trade.seams import SeamShape, Takes
from inventory.trade.sizes import MM_PER_INCH, print_size
from inventory.trade.stacks import Sheet, stack_drawing

_SPLICE_KINDS = tuple(row["key"] for row in tables.rows("splice_shares"))
# What a person calls each operation; a plan's file has the short names.
_WORK = {
    "pilot": "drill the pilot holes",
    "full": "drill to size",
    "open": "enlarge",
    "deburr": "deburr the edges",
}

_HEAD = Field(
    name="head",
    label="Head",
    help="manufactured head",
    default="universal",
    choices=tuple(seams.STANDARDS),
)
_SHARE = Field(
    name="share",
    label="Of the full strength",
    help="full, lap 75 %, stringer 80 %, frame 60 %",
    default="lap",
    choices=_SPLICE_KINDS,
)


def answer(given: Given) -> Answer:
    """What the seam takes. Raises Refused question.missing, size.unknown,
    seam.impossible, splice.table and what the callout, hole and length rules refuse."""
    seam = seam_of(given)
    found = seams.takes(seam)
    splice = _splice(given, seam.runs, seam.sheets, seam.diameter)
    rivet = found.callout or f"{print_size(seam.diameter)} rivets"
    if splice and found.how.kind != SOLID:
        raise Refused(
            "splice.kind",
            f"Expected a solid rivet for a strength table; got {found.callout}: give a "
            "pitch or a number for it.",
            {"text": found.callout, "expected": "a solid rivet"},
        )
    return Answer(
        headline=f"{found.rivets} of {rivet}",
        data=_data(seam, found, splice),
        figures=(*_layout(seam, found), *_work(seam, found), *_strength(splice)),
        warnings=(
            *unusual(seam.sheets),
            *(_warned(each) for each in found.breaches),
            *_holes_differ(found.how),
        ),
        cautions=_cautions(found.how),
        drawing=_drawing(seam, found),
    )


def _data(
    seam: SeamShape, found: Takes, splice: strength.Splice | None
) -> dict[str, object]:
    return {
        "rivets": found.rivets,
        "callout": found.callout or None,
        "diameter_in": seam.diameter,
        "rows": seam.rows,
        "runs": [
            {
                "length_in": run.length_in,
                "by_row": run.by_row,
                "pitch_in": run.pitch_in,
                "pitch_mm": run.pitch_in * MM_PER_INCH if run.pitch_in else None,
            }
            for run in found.runs
        ],
        "edge_in": seam.edge_in,
        "row_distance_in": seam.row_distance_in if seam.rows > 1 else None,
        "grip_in": sum(seam.sheets, Fraction(0)),
        "needed": splice.count if splice else None,
        "rivets_per_inch": splice.per_inch if splice else None,
        "work": [
            {"operation": each.operation, "size": each.size, "count": each.count}
            for each in found.work
        ],
        "temporary_fasteners": {
            "size": found.holder_size,
            "every": seam.hold_every,
            "count": found.holders,
        },
        "sheets": [
            {"thickness_in": sheet, "preparation": done}
            for sheet, done in zip(seam.sheets, found.preparation, strict=True)
        ],
        "tools": found.tools,
        "rule": seams.rule(found),
    }


def _cautions(how: Fastening) -> tuple[Caution, ...]:
    topics = {SOLID: ("drilling", "driving"), BLIND: ("drilling", "pulling")}
    named = topics.get(how.kind, ("drilling",) if how.hole else ())
    return tuple(each for topic in named for each in cautions.about(topic))


def _drawing(seam: SeamShape, found: Takes) -> Drawing | None:
    """The seam's solid rivet in its sheets, not yet driven; no other fastener is drawn."""
    reading = parse(found.callout) if found.callout else None
    if reading is None or not reading.length_in or not seam.sheets:
        return None
    if found.how.kind != SOLID or DECIDED in found.preparation:
        return None
    stack = [Sheet(*pair) for pair in zip(seam.sheets, found.preparation, strict=True)]
    hole = hole_for_rivet(seam.diameter).diameter_in
    return stack_drawing(reading.head, seam.diameter, reading.length_in, stack, hole)


def _holes_differ(how: Fastening) -> tuple[Warned, ...]:
    said = holes.disagreements(how.hole.fastener) if how.hole else ()
    return tuple(Warned(each, "the sources named", "computed") for each in said)


def _warned(each: Breach) -> Warned:
    return Warned(each.sentence, each.source, each.certainty)


def seam_of(given: Given) -> SeamShape:
    """The seam that these texts describe. Raises Refused as `answer`."""
    runs, sheets = runs_of(text_of(given, "length")), _sheets(text_of(given, "sheets"))
    diameter = _diameter(given, sheets)
    splice = _splice(given, runs, sheets, diameter)
    return SeamShape(
        runs=runs,
        sheets=sheets,
        diameter=diameter,
        pitch=_maybe(given, "pitch"),
        number=splice.count if splice else _whole(given, "number"),
        rows=_whole(given, "rows") or 1,
        staggered=text_of(given, "stagger").lower() in ("yes", "y", "1", "true"),
        edge_distance=_maybe(given, "edge_distance"),
        row_distance=_maybe(given, "row_distance"),
        head=_head(given),
        alloy=text_of(given, "alloy", "AD").upper(),
        callout=text_of(given, "callout"),
        hold_every=_hold_every(given),
        pilot=text_of(given, "pilot"),
        punched=text_of(given, "punched").lower() in ("yes", "y", "1", "true"),
    )


def _sheets(text: str) -> tuple[Fraction, ...]:
    return sheets_of(text) if text else ()


def _diameter(given: Given, sheets: tuple[Fraction, ...]) -> Fraction:
    """The rivet given, else the one that the callout or the thickest sheet asks for."""
    if text_of(given, "diameter"):
        return shank_of(given)
    if text_of(given, "callout"):
        reading = parse(text_of(given, "callout"))
        if reading.diameter_in:
            return reading.diameter_in
        raise missing("diameter", f"the diameter of {reading.callout}, such as 1/8")
    if not sheets:
        raise missing("diameter", "the rivet's diameter, such as 1/8, or the sheets")
    return layout.rivet_for_sheet(max(sheets))


def _head(given: Given) -> str:
    """The named rivet's own, else the one that was chosen."""
    named = text_of(given, "callout")
    return (parse(named).head if named else "") or choice_of(given, _HEAD)


def _maybe(given: Given, name: str) -> Fraction | None:
    return size_of(given, name) if text_of(given, name) else None


def _whole(given: Given, name: str) -> int | None:
    text = text_of(given, name)
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and 0 < int(text[:9]) == int(text)):
        expected = f"a whole number for {name.replace('_', ' ')}"
        raise Refused(
            "question.number",
            f"Expected {expected}; got '{text[:20]}'.",
            {"field": name, "text": text[:20], "expected": expected},
        )
    return int(text)


def _hold_every(given: Given) -> int:
    if text_of(given, "hold_every") == "0":
        return 0
    return _whole(given, "hold_every") or 2


def _splice(
    given: Given,
    runs: tuple[Fraction, ...],
    sheets: tuple[Fraction, ...],
    diameter: Fraction,
) -> strength.Splice | None:
    """The count by a strength table, where one is named: the first sheet is spliced."""
    table = text_of(given, "splice")
    if not table:
        return None
    if not sheets:
        raise missing("sheets", "the sheets, the spliced one first, such as .032,.032")
    kind = choice_of(given, _SHARE)
    return strength.splice(sum(runs, Fraction(0)), sheets[0], diameter, table, kind)


def _layout(seam: SeamShape, found: Takes) -> tuple[Figure, ...]:
    rows = [(found.how.noun, seams.rule(found), seams.SOURCE, "common practice")]
    if (hole := found.how.hole) is not None:
        rows.append(("hole", hole.words, hole.source, hole.certainty))
    for run in dict.fromkeys(found.runs):
        if run.pitch_in:
            text = f"{both_units(run.pitch_in)} over {both_units(run.length_in)}"
            rows.append(("pitch", text, seams.SOURCE, "computed"))
    rows.append(
        ("edge distance", both_units(seam.edge_in), seams.SOURCE, "common practice")
    )
    if grip := sum(seam.sheets, Fraction(0)):
        rows.append(("grip", both_units(grip), "the sum of the sheets", "computed"))
    if found.callout and not seam.callout:
        rows.append(("rivet", found.callout, lengths.SOURCE, "published"))
    return tuple(Figure(*row) for row in rows)


def _work(seam: SeamShape, found: Takes) -> tuple[Figure, ...]:
    rows = [
        Figure(
            _WORK.get(each.operation, each.operation),
            f"{each.count:,}" + f" with {each.size}" * bool(each.size),
            "common practice, no source",
            "common practice",
        )
        for each in found.work
    ]
    rows += [
        Figure("tool", each, "handbook practice", "from memory") for each in found.tools
    ]
    if found.holders:
        text = (
            f"{found.holders} of {found.holder_size}, one in every "
            f"{seam.hold_every} holes"
        )
        rows.append(
            Figure(
                "temporary fasteners",
                text,
                "common practice, no source",
                "common practice",
            )
        )
    return tuple(rows)


def _strength(splice: strength.Splice | None) -> tuple[Figure, ...]:
    if splice is None:
        return ()
    text = (
        f"{float(splice.per_inch):.1f} an inch, {float(splice.share):.0%} of it: "
        f"{splice.count} at least"
    )
    return (Figure("by strength", text, splice.source, splice.certainty),)


QUESTION = Question(
    name="seam",
    title="Seam",
    asks="What does this seam take: fasteners, holes, temporary fasteners, tools?",
    fields=(
        Field(
            name="length",
            label="Length",
            help="inches; several lengths as 10+12.5, 2x10 for two of ten",
            example="10",
            required=True,
        ),
        Field(
            name="pitch", label="Pitch", help="rivet to rivet, in inches", example="1"
        ),
        Field(
            name="number",
            label="or number of rivets",
            help="in the whole seam, all rows",
            example="38",
        ),
        Field(
            name="sheets",
            label="Sheets",
            help="outer sheet first, commas between; they decide the rivet's length",
            example=".032,.032",
        ),
        Field(
            name="diameter",
            label="Rivet diameter",
            help="the shank; without it the callout's, or the sheets decide",
            example="1/8",
        ),
        _HEAD,
        Field(name="alloy", label="Alloy letter", help="of the rivet", default="AD"),
        Field(
            name="callout",
            label="Callout, if the drawing names it",
            help="overrides the length the sheets ask for",
            example="MS20470AD4-4",
        ),
        Field(name="rows", label="Rows", help="1 to 9", default="1"),
        Field(
            name="stagger",
            label="Staggered rows",
            help="every second row stands in the gaps, one fewer",
            flag=True,
        ),
        Field(
            name="edge_distance",
            label="Edge distance",
            help="end rivet to the end of the sheet; without it 2 D, flush 2 1/2 D",
            example="1/4",
        ),
        Field(
            name="row_distance",
            label="Row distance",
            help="row to row; without it 2 1/2 D",
            example="3/8",
        ),
        Field(
            name="hold_every",
            label="Hold every",
            help="a temporary fastener in every so many holes; 0 for none",
            default="2",
        ),
        Field(name="pilot", label="Pilot drill", help="drilled first", example="#40"),
        Field(
            name="punched",
            label="Holes are pre-punched",
            help="they are only opened to size",
            flag=True,
        ),
        Field(
            name="splice",
            label="Count by strength",
            help="a table of AC 43.13-1B: the rivets the splice needs",
            choices=strength.TABLES,
        ),
        _SHARE,
    ),
    answer=answer,
)
