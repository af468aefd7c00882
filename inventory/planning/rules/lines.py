"""A plan file's rows become plan lines; a bad row becomes a sentence with its line."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from inventory import days
from inventory.catalog.rules import (
    DESCRIBED,
    KINDS,
    PART_NUMBER,
    Description,
    described_in,
)
from inventory.errors import Refused
from inventory.planning.rules import seaming
from inventory.sheets import Columns, Row
from inventory.sheets.cells import day, name, whole
from inventory.trade import drills

COLUMNS = (
    "stage",
    "start",
    "assembly",
    "how_many",
    "callout",
    "each",
    "hole_size",
    "holes",
    "operation",
    "fasten_every",
    "days_held",
    *seaming.COLUMNS,
    *(column for column in DESCRIBED if column not in seaming.COLUMNS),
    "list",
)
# How other people's lists name them: common practice, no source.
LIST = Columns(
    names=COLUMNS,
    whole=("how_many", "each", "holes", "fasten_every", "days_held"),
    measures=("pitch", "edge_distance", "row_distance", "diameter"),
    lists=("seam_length",),
    days=("start",),
    filled=("stage", "assembly"),
    called={
        **dict.fromkeys(PART_NUMBER, "callout"),
        **dict.fromkeys(("qty", "quantity", "pieces", "count", "amount"), "each"),
        **dict.fromkeys(("sub-assembly", "subassembly", "component"), "assembly"),
        **dict.fromkeys(("section", "chapter", "phase"), "stage"),
        **dict.fromkeys(("start date", "begins", "date"), "start"),
        **dict.fromkeys(("drill", "drill size"), "hole_size"),
        **dict.fromkeys(("number of holes", "no. of holes"), "holes"),
        "times": "how_many",
    },
)
# What is done to a hole, as a file and as a page say it; the shop settles what each
# wears a bit.
OPERATIONS = {"full": "drill to size", "open": "enlarge", "removal": "drill out"}
# The list of what was entered on a page, as a file names it.
BY_HAND = "by hand"


@dataclass(frozen=True)
class PlanLine:
    """One good row: what an assembly of a stage asks, drills and holds.

    Without an assembly it is a stage that has none yet. `how_many` 0 leaves it as it is
    (1 at first). `what` stands for a callout where there is none. `origin` is the list
    that the row itself names, None where it names none.
    """

    line: int
    stage: str
    start: date | None
    assembly: str
    how_many: int
    callout: str = ""
    each: int = 0
    hole_size: str = ""
    holes: int = 0
    operation: str = "full"
    every_nth: int = 0
    days_held: int = 0
    seam: seaming.Seamed | None = None
    what: Description | None = None
    unit: str = ""
    origin: str | None = None

    @property
    def asks(self) -> str:
        """What it asks for, in one spelling; '' for holes alone."""
        if self.what is not None:
            return self.what.key
        return " ".join(self.callout.upper().split())


@dataclass(frozen=True)
class BadRow:
    """A row that cannot be taken, with the file's line and a sentence."""

    line: int
    sentence: str


def parse(rows: Iterable[Row]) -> tuple[list[PlanLine], list[BadRow]]:
    """Every row either as a plan line or as a bad row; none is dropped, none both."""
    good: list[PlanLine] = []
    bad: list[BadRow] = []
    for row in rows:
        try:
            good += parse_row(row)
        except Refused as error:
            bad.append(BadRow(row.line, error.sentence))
    odd = _contradictions(good)
    refused = {row.line for row in odd}
    return [row for row in good if row.line not in refused], bad + odd


def parse_row(row: Row) -> list[PlanLine]:
    """One line; a seam drilled in two goes gives a second one for its holes.

    Errors: `plan.row` with the sentence for the builder.
    """
    if seaming.is_seam(row):
        return _seam_lines(row)
    callout, what = row["callout"].strip(), _what(row)
    holes = whole(row, "holes", default=0)
    nothing = not (callout or what or holes)
    if nothing and row["each"].strip() != "0":
        raise Refused(
            "plan.row",
            "It asks for nothing: give a callout (or a kind with its name) and 'each', "
            "or holes with their size; 0 in 'each' if it asks for nothing yet.",
        )
    if len(callout) > 120:
        raise Refused("plan.row", "The callout is longer than 120 characters.")
    return [
        replace(
            _place(row, bare=nothing),
            callout=callout,
            what=what,
            unit=row["unit"].strip(),
            each=whole(row, "each", least=1) if callout or what else 0,
            hole_size=hole_size(row) if holes else "",
            holes=holes,
            operation=_operation(row),
            every_nth=whole(row, "fasten_every", default=0),
        )
    ]


def _what(row: Row) -> Description | None:
    """A need that no callout names. Errors: `plan.row`, `catalog.*`."""
    if not row["kind"].strip():
        return None
    if row["callout"].strip():
        raise Refused(
            "plan.row", "Give a callout, or a kind with its size or name, not both."
        )
    found = described_in(row)
    kind = KINDS[found.kind]
    if not kind.consumed:
        raise Refused(
            "plan.row",
            f"A {kind.word} is not used up, so that a plan cannot ask for it by the "
            "piece: give the holes, and how they are held.",
        )
    return found


def other_unit(what: Description, unit: str | None) -> str:
    """What to say of a thing that is asked for in another unit than it is kept in."""
    return f"{what.words} is kept in {unit}, not in {what.unit}: ask for it in {unit}."


def _place(row: Row, *, bare: bool = False) -> PlanLine:
    """Where in the build a row belongs, and how long its sheets are held."""
    alone = bare and not row["assembly"].strip()
    origin = " ".join(row["list"].split())[:80]
    return PlanLine(
        line=row.line,
        stage=name(row, "stage"),
        start=day(row, "start"),
        assembly="" if alone else name(row, "assembly"),
        how_many=whole(row, "how_many", default=0, least=1),
        days_held=whole(row, "days_held", default=0, most=3650),
        origin=None if not origin else "" if origin.lower() == BY_HAND else origin,
    )


def _seam_lines(row: Row) -> list[PlanLine]:
    """The rivets of a seam, and its holes for each time they are drilled.

    Only the last drilling is held: the fasteners of its size stay until riveted.
    """
    place, found = _place(row), seaming.seamed(row)
    drillings = [
        replace(place, hole_size=size, holes=found.rivets, operation=operation)
        for size, operation in found.drilled
    ]
    last = replace(
        drillings.pop(),
        callout=found.callout,
        each=found.rivets,
        every_nth=found.hold_every,
        seam=found,
    )
    return [last, *drillings]


def hole_size(row: Row) -> str:
    """A drill size as the trade writes it: '#40'. Errors: `plan.row`."""
    text = row["hole_size"].strip()
    if not text:
        raise Refused("plan.row", "Holes need a hole size, such as #40.")
    try:
        return drills.drill(text).name
    except Refused as error:
        raise Refused("plan.row", f"hole size: {error.sentence}") from error


def _operation(row: Row) -> str:
    text = " ".join(row["operation"].lower().split()) or "full"
    for operation, words in OPERATIONS.items():
        if text in (operation, words):
            return operation
    raise Refused(
        "plan.row",
        f"operation '{text[:20]}' is unknown: write {', '.join(OPERATIONS)}.",
    )


def _contradictions(lines: list[PlanLine]) -> list[BadRow]:
    """Rows of one stage or assembly that say different things about it."""
    starts: dict[str, date] = {}
    counts: dict[tuple[str, str], int] = {}
    bad: list[BadRow] = []
    for row in lines:
        if row.start and starts.setdefault(row.stage, row.start) != row.start:
            bad.append(
                BadRow(
                    row.line,
                    f"Stage {row.stage} starts {days.said(starts[row.stage])} above and "
                    f"{days.said(row.start)} here: give it one date.",
                )
            )
        first = counts.setdefault((row.stage, row.assembly), row.how_many)
        if (first or 1) != (row.how_many or 1):
            bad.append(
                BadRow(
                    row.line,
                    f"{row.assembly} is made {first or 1} times above and "
                    f"{row.how_many or 1} times here: give one number.",
                )
            )
    return bad
