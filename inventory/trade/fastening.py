"""How a fastener goes in: the hole it takes, its tools, what its head asks of the sheets.

A named callout is taken for what it is: only a solid rivet has a driven head, only a full
100 degree head has this table's dies and cutter; a nut, a washer or a cotter pin takes no
hole of its own. What no rule here says, the drawing decides, and the answer says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import driving, flush, holders, holes
from inventory.trade.holes import Hole
from inventory.trade.layout import Breach
from inventory.trade.lengths import Joint, fits, print_dash
from inventory.trade.reading import Reading
from inventory.trade.sizes import print_size

PRACTICE = ("common practice, no source", "common practice")
# What is done to a sheet where neither rule nor table here has this head.
DECIDED = "as the drawing says"
SOLID, BLIND = "solid_rivet", "blind_rivet"
# Those that fill a hole of their own, and stand in a row by the same geometry.
_HOLED = (SOLID, BLIND, "bolt", "screw")
_TOOLS = {BLIND: ("puller for blind rivets",)}
# How far a bolt's grip may be off: the tolerance of the AN3 to AN20 sheet, restated.
_GRIP_OFF = Fraction(1, 64)


@dataclass(frozen=True, slots=True)
class Fastening:
    """How one kind of fastener of a diameter, in inches, goes in.

    `hole` is None where it takes none. `head` is the manufactured head; `is_flush` says
    that it lies level, `is_ours` that this handbook has its dies, cutter and least sheet.
    """

    kind: str
    head: str
    diameter: Fraction
    hole: Hole | None
    tools: tuple[str, ...]

    @property
    def is_flush(self) -> bool:
        return "flush" in self.head

    @property
    def is_ours(self) -> bool:
        return self.kind == SOLID and self.head in ("universal", "flush")

    @property
    def noun(self) -> str:
        """What is counted."""
        return "rivets" if self.kind in (SOLID, BLIND) else "pieces"

    def preparation(self, sheets: Sequence[Fraction]) -> tuple[str, ...]:
        """What is done to each sheet for the head. Refused as `flush.prepare`."""
        if self.hole is None or not self.is_flush:
            return (flush.PLAIN,) * len(sheets)
        if self.is_ours:
            return flush.prepare(sheets, self.diameter)
        return (DECIDED,) * len(sheets)


def fastening(reading: Reading | None, head: str, diameter: Fraction) -> Fastening:
    """How what a callout names goes in, or without one a solid rivet of this head.

    Raises Refused hole.unknown where it takes a hole and no source has that.
    """
    kind = reading.kind if reading else SOLID
    head = reading.head if reading else head
    if kind not in _HOLED:
        return Fastening(kind, head, diameter, None, ())
    name = f"{print_size(diameter)} rivet"
    if reading is not None and kind != SOLID:
        name = holes.fastener_of(reading) or reading.callout
    return Fastening(
        kind, head, diameter, holes.hole_for(name), _tools(kind, head, name)
    )


def _tools(kind: str, head: str, name: str) -> tuple[str, ...]:
    if kind != SOLID:
        return _TOOLS.get(kind, ())
    found = driving.hammer_set(head)
    size = name.removesuffix(" rivet")
    return (f"{size} {found['set']}" if found["sized"] == "yes" else found["set"],)


def drilled(how: Fastening) -> str:
    """The drill of its hole; the hole's least size where the source names no drill."""
    if how.hole is None:
        return ""
    return how.hole.drill.name if how.hole.drill else print_size(how.hole.diameter_in)


def holder(how: Fastening) -> str:
    """The temporary fastener that holds its hole; '' where none is known."""
    try:
        return holders.holder_size(drilled(how)) if how.hole else ""
    except Refused:
        return ""


def flush_tools(how: Fastening, preparation: Sequence[str]) -> tuple[str, ...]:
    """The dies and the cutter that these sheets need; none for a head that is not ours."""
    if not (how.is_ours and how.is_flush):
        return ()
    own = flush.tools(f"{print_size(how.diameter)} rivet")
    found = []
    if flush.DIMPLE in preparation:
        found.append(f"{own.dies} dies")
    if flush.COUNTERSINK in preparation:
        found.append(f"{flush.ANGLE_DEG} degree cutter, pilot {own.pilot}")
    return tuple(found)


def against(
    how: Fastening, reading: Reading | None, sheets: Sequence[Fraction]
) -> tuple[Breach, ...]:
    """What speaks against a named fastener in its sheets; what only the drawing says."""
    found = []
    if how.hole is not None and how.is_flush and not how.is_ours:
        found.append(
            Breach(
                f"No rule here says how sheets take a {how.head} "
                f"{how.kind.replace('_', ' ')}; the dies and the cutter of full 100 degree "
                "rivets do not fit it. The drawing decides.",
                *PRACTICE,
            )
        )
    if how.hole is not None and not holder(how):
        found.append(
            Breach(
                f"No temporary fastener for a {drilled(how)} hole is known here.",
                *PRACTICE,
            )
        )
    if reading is not None and sheets:
        found += _length(how, reading, sum(sheets, Fraction(0)))
    return tuple(found)


def _length(how: Fastening, reading: Reading, grip: Fraction) -> list[Breach]:
    """Whether what is named is as long as its sheets want."""
    if how.kind == SOLID and reading.length_in and how.hole is not None:
        dash = reading.length_in * 16
        alloy = reading.alloy or "AD"
        joint = Joint(how.diameter, grip, how.hole.diameter_in, alloy)
        try:
            (fit,) = fits(joint, [dash])
        except Refused:
            return []
        if fit.head.acceptable:
            return []
        said = f"-{print_dash(dash)} makes a head that is {fit.head.fit}: do not drive it here."
        return [
            Breach(said, "computed as for 'Rivet length and driven head'", "computed")
        ]
    if how.hole is None or reading.grip_in is None:
        return []
    said = _grip(how.kind, *reading.grip_in, grip)
    return [Breach(said, reading.source, reading.certainty)] if said else []


def _grip(kind: str, least: Fraction | None, most: Fraction, grip: Fraction) -> str:
    sheets = f"the sheets are {_short(grip)} in"
    if kind == "bolt" and grip > most + _GRIP_OFF:
        return (
            f"Its grip is {_short(most)} in and {sheets}: thread would bear in the hole; "
            "take a longer one."
        )
    if kind == "bolt" and grip < most - _GRIP_OFF:
        return (
            f"Its grip is {_short(most)} in and {sheets}: washers of "
            f"{_short(most - grip)} in must make up the rest, or take a shorter one."
        )
    if kind == "bolt":
        return ""
    if grip > most or (least is not None and grip < least):
        span = (
            f"{_short(least)} to {_short(most)}" if least else f"{_short(most)} at most"
        )
        return f"Its grip is {span} in and {sheets}: do not pull it here."
    if least is None:
        return (
            f"Its least grip is not known here, only its most, {_short(most)} in: see that "
            f"it grips {_short(grip)} in."
        )
    return ""


def _short(inches: Fraction) -> str:
    return f"{float(inches):.3f}".removeprefix("0")
