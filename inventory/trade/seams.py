"""A seam: a row of fasteners by length, pitch, rows and sheets, and all that it takes."""

from dataclasses import dataclass, replace
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import flush, layout, lengths
from inventory.trade.callouts import parse
from inventory.trade.drills import drill
from inventory.trade.fastening import (
    Fastening,
    against,
    drilled,
    fastening,
    flush_tools,
    holder,
)
from inventory.trade.holes import hole_for_rivet, pilots_for
from inventory.trade.layout import Breach
from inventory.trade.lengths import Joint
from inventory.trade.reading import Reading
from inventory.trade.rivets import designation
from inventory.trade.sizes import print_size

SOURCE = (
    "equal spacing not over the pitch, the end rivets one edge distance from the ends: "
    "common practice; reckoned so in AC 43.13-1B para 4-58g"
)
STANDARDS = {"universal": "MS20470", "flush": "MS20426"}
# Under a flush head half a diameter more is wanted (from memory).
EDGE_D, FLUSH_EDGE_D = 2, Fraction(5, 2)
ROW_D = Fraction(5, 2)
_MOST_RIVETS = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamShape:
    """What describes a seam. Sizes in inches, sheets outer one first.

    Either `pitch` or `number` (rivets in the whole seam, all rows) is given. Without
    `edge_distance` the end rivets stand 2 D from the ends, flush ones 2 1/2 D; without
    `row_distance` rows stand 2 1/2 D apart. `callout` overrides the rivet that the sheets ask for. `pilot` is the
    drill of a pilot hole; `punched` says the holes are there and only opened.
    """

    runs: tuple[Fraction, ...]
    sheets: tuple[Fraction, ...]
    diameter: Fraction
    pitch: Fraction | None = None
    number: int | None = None
    rows: int = 1
    staggered: bool = False
    edge_distance: Fraction | None = None
    row_distance: Fraction | None = None
    head: str = "universal"
    alloy: str = "AD"
    callout: str = ""
    hold_every: int = 2
    pilot: str = ""
    punched: bool = False

    @property
    def edge_in(self) -> Fraction:
        times = FLUSH_EDGE_D if "flush" in self.head else EDGE_D
        return self.edge_distance or times * self.diameter

    @property
    def row_distance_in(self) -> Fraction:
        return self.row_distance or ROW_D * self.diameter


@dataclass(frozen=True, slots=True)
class Run:
    """One length of the seam: rivets row by row, and the pitch they come to."""

    length_in: Fraction
    by_row: tuple[int, ...]
    pitch_in: Fraction | None

    @property
    def rivets(self) -> int:
        return sum(self.by_row)


@dataclass(frozen=True, slots=True)
class Operation:
    """So many times one operation, with the size of drill, cutter or dies it takes."""

    operation: str
    size: str
    count: int


@dataclass(frozen=True, slots=True)
class Takes:
    """What a seam takes, and how it goes in; `holders` is temporary fasteners held at once.

    `callout` and `key` are empty where neither sheets nor a callout were given.
    """

    runs: tuple[Run, ...]
    callout: str
    key: str
    rivets: int
    work: tuple[Operation, ...]
    holder_size: str
    holders: int
    tools: tuple[str, ...]
    preparation: tuple[str, ...]
    breaches: tuple[Breach, ...]
    how: Fastening


def takes(seam: SeamShape) -> Takes:
    """Fasteners, holes by operation, temporary fasteners and tools of a seam.

    A named callout is taken for what it is. SOURCE. Not airworthiness advice. Raises
    Refused seam.impossible, and what the callout, hole and countersink rules refuse.
    """
    seam, reading = _with_rivet(seam)
    _check(seam)
    by_length = {length: _run(seam, length) for length in dict.fromkeys(seam.runs)}
    runs = tuple(by_length[length] for length in seam.runs)
    rivets = sum(run.rivets for run in runs)
    if rivets > _MOST_RIVETS:
        raise _impossible(f"at most {_MOST_RIVETS} rivets", str(rivets))
    reading = reading or (parse(_callout(seam)) if seam.sheets else None)
    how = fastening(reading, seam.head, seam.diameter)
    preparation = how.preparation(seam.sheets)
    size = holder(how) if seam.hold_every else ""
    return Takes(
        runs=runs,
        callout=reading.callout if reading else "",
        key=reading.key if reading else "",
        rivets=rivets,
        work=_work(seam, rivets, preparation, how),
        tools=how.tools + flush_tools(how, preparation),
        holder_size=size,
        holders=sum(-(-row // seam.hold_every) for run in runs for row in run.by_row)
        if size
        else 0,
        preparation=preparation,
        breaches=_breaches(seam, runs, how)
        + against(how, reading if seam.callout else None, seam.sheets),
        how=how,
    )


def _with_rivet(seam: SeamShape) -> tuple[SeamShape, Reading | None]:
    """A named callout decides what it is; its diameter must be the seam's.

    Without sheets and callout only the count is known, not the rivet's length.
    """
    if not seam.callout:
        return seam, None
    reading = parse(seam.callout)
    if reading.diameter_in not in (None, seam.diameter):
        expected = f"a callout of {print_size(seam.diameter)} in"
        raise _impossible(expected, f"{reading.callout}, {reading.words}")
    return replace(seam, head=reading.head or "universal"), reading


def _check(seam: SeamShape) -> None:
    if (seam.pitch is None) == (seam.number is None):
        raise _impossible("either a pitch or a number of rivets", "both or neither")
    if not seam.runs or min(seam.runs) <= 0:
        raise _impossible("lengths above nought", "none")
    if seam.pitch is not None and seam.pitch <= 0:
        raise _impossible("a pitch above nought", str(seam.pitch))
    if not 1 <= seam.rows <= 9 or not 0 <= seam.hold_every <= 99:
        raise _impossible("1 to 9 rows, held at every 0 to 99th hole", str(seam.rows))
    if seam.number is not None and seam.number < seam.rows * len(seam.runs):
        expected = "at least one rivet for each row of each length"
        raise _impossible(expected, str(seam.number))
    short = min(seam.runs)
    if seam.pitch is not None and short < 2 * seam.edge_in:
        expected = (
            "lengths of at least twice the edge distance, "
            f"{print_size(2 * seam.edge_in)} in"
        )
        raise _impossible(expected, f"{print_size(short)} in")


def _impossible(expected: str, came: str) -> Refused:
    return Refused(
        "seam.impossible",
        f"Expected {expected}; got {came}.",
        {"text": came, "expected": expected},
    )


def _run(seam: SeamShape, length: Fraction) -> Run:
    """One length: a staggered row stands in the gaps of its neighbour, one fewer."""
    between = length - 2 * seam.edge_in
    if seam.pitch is None:
        first = _shared(seam, length)
        by_row = (first,) * seam.rows
    else:
        first = _up(between / seam.pitch) + 1
        fewer = first - 1 if seam.staggered and first > 1 else first
        by_row = tuple(fewer if row % 2 else first for row in range(seam.rows))
    if first > 1 and between <= 0:
        expected = (
            f"a length over twice the edge distance, {print_size(2 * seam.edge_in)} in"
        )
        raise _impossible(expected, f"{print_size(length)} in")
    return Run(length, by_row, between / (first - 1) if first > 1 else None)


def _shared(seam: SeamShape, length: Fraction) -> int:
    """A given number of rivets, shared by length and rows, never too few."""
    share = Fraction(seam.number or 0) * length / sum(seam.runs)
    return _up(share / seam.rows)


def _up(number: Fraction) -> int:
    return int(-(-number // 1))


def _callout(seam: SeamShape) -> str:
    """The rivet the sheets ask for. Raises Refused seam.impossible for a head with no
    rule here."""
    joint = Joint(
        seam.diameter,
        sum(seam.sheets, Fraction(0)),
        hole_for_rivet(seam.diameter).diameter_in,
        seam.alloy,
    )
    found = lengths.best(joint)
    standard = STANDARDS.get(seam.head)
    if found is None or standard is None:
        expected = "sheets that a rivet of 2 to 32 sixteenths fits, universal or flush"
        raise _impossible(expected, f"{seam.head}, {print_size(joint.grip)} in")
    return standard + designation(seam.alloy, int(seam.diameter * 32), found.dash)


def _work(
    seam: SeamShape, rivets: int, preparation: tuple[str, ...], how: Fastening
) -> tuple[Operation, ...]:
    """Each operation once for each hole, or for each sheet or face it is done to.

    A stack is drilled through in one go; it is deburred, dimpled and countersunk sheet
    by sheet.
    """
    if how.hole is None:
        return ()
    size, pilot = drilled(how), _pilot(seam, how.hole.diameter_in)
    done = [Operation("pilot", pilot, rivets)] if pilot else []
    opened = "open" if pilot or seam.punched else "full"
    done.append(Operation(opened, size, rivets))
    if seam.sheets:
        done.append(Operation("deburr", "", 2 * rivets * len(seam.sheets)))
    for name in (flush.DIMPLE, flush.COUNTERSINK):
        if sheets := preparation.count(name):
            tools = flush.tools(f"{print_size(seam.diameter)} rivet")
            tool = f"{tools.dies} dies" if name == flush.DIMPLE else tools.pilot
            done.append(Operation(name, tool, rivets * sheets))
    return tuple(done)


def _pilot(seam: SeamShape, hole: Fraction) -> str:
    """The pilot drill asked for, or the rule's for a hole over 3/16."""
    if seam.pilot:
        return drill(seam.pilot).name
    found = pilots_for(hole)
    return found[0] if found and not seam.punched else ""


def _breaches(
    seam: SeamShape, runs: tuple[Run, ...], how: Fastening
) -> tuple[Breach, ...]:
    """What the layout rules say against the seam as it comes out: they are of rivets."""
    if how.noun != "rivets":
        return ()
    found = [
        breach
        for pitch in {run.pitch_in for run in runs if run.pitch_in is not None}
        for breach in layout.breaches("pitch", pitch, seam.diameter, seam.head)
    ]
    found += layout.breaches("edge", seam.edge_in, seam.diameter, seam.head)
    if seam.rows > 1:
        found += layout.breaches("row", seam.row_distance_in, seam.diameter, seam.head)
    if seam.sheets:
        found += layout.diameter_breaches(seam.diameter, max(seam.sheets))
    return tuple(sorted(set(found), key=lambda each: each.sentence))


def rule(found: Takes) -> str:
    """The seam's count in words, for 'why this number?'."""
    parts = [
        f"{print_size(run.length_in)} in: " + " + ".join(str(row) for row in run.by_row)
        for run in found.runs
    ]
    return f"{found.rivets} {found.how.noun} = {'; '.join(parts)}"
