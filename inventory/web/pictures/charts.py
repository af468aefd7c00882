"""What each picture shows: a run-out, the pool, wear, neighbours, spoilage, parcels."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any

from django.utils.safestring import SafeString

from inventory.forecasting.models import Bit
from inventory.forecasting.queries.pictures import (
    SHARES,
    HeldBy,
    LengthStock,
    PoolDays,
    RunOut,
    SpoilageDays,
)
from inventory.forecasting.rules.bitlife import BitLife
from inventory.web.pictures.paper import (
    ACT,
    BRASS,
    GOOD,
    INK,
    RULE,
    SOFT,
    STOP,
    WARN,
    Margins,
    Paper,
)

# Dots across: of a phone of 360, and of what reads well on a desk.
SIZES = {"narrow": 300, "wide": 660}
_MIDDLE, _HALF, _MOST = SHARES.index(0.5), (1, 3), (0, 4)


@dataclass(frozen=True)
class Picture:
    """A picture at each size, and what its signs mean."""

    sizes: Sequence[SafeString]
    key: str

    @property
    def has_marks(self) -> bool:
        """Whether anything in it tells more when it is pointed at."""
        return 'class="mark"' in self.sizes[0]


def _picture(what: str, key: str, draw: Callable[[int], Paper]) -> Picture:
    return Picture([draw(width).drawn(k, what) for k, width in SIZES.items()], key)


def _said(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def fan(words: str, found: RunOut) -> Picture:
    """What is left of an item from today through its stages, as bands of chances."""
    paths = [found.through(at) for at in range(len(SHARES))]
    days = [day for day, _left in paths[0]]
    levels = [left for path in paths for _day, left in path]
    low, high = min(0, *levels), max(1, *levels)

    def draw(width: int) -> Paper:
        paper = Paper("fan", width, 270, Margins.beside(max(high, -10 * low)))
        paper.days(found.today, max(days[-1], found.today + timedelta(days=7)))
        paper.upto(low - (high - low) * 0.12, high * 1.05)
        for (under, over), strength in ((_MOST, 0.18), (_HALF, 0.35)):
            both = [[left for _day, left in paths[at]] for at in (under, over)]
            paper.band(days, both[0], both[1], strength)
        paper.line(days, [left for _day, left in paths[_MIDDLE]], ACT)
        if low < 0:
            paper.line(paper.axes.get_xlim(), (0, 0), STOP, linestyle="dashed")
        _marks_of_time(paper, found)
        return paper

    return _picture(
        f"What is left of {words}, day by day",
        "Line: as many builders have more as less. Dark band: half of all builders. "
        "Light band: 9 in 10. Dotted: a stage ends, by its number below. "
        "Triangle: a parcel.",
        draw,
    )


def _marks_of_time(paper: Paper, found: RunOut) -> None:
    """Today, the ends of stages by their numbers, and what comes."""
    low, high = paper.axes.get_ylim()
    paper.upright(found.today, INK)
    paper.word(found.today, high, "today", shift=(3, 10), colour=SOFT)
    free = 46.0  # behind the word before
    for number, row in enumerate(found.rows, 1):
        paper.upright(row.day, SOFT, linestyle="dotted")
        at = paper.along(row.day)
        if at > free:
            paper.word(row.day, high, str(number), shift=(-4, 10), colour=SOFT)
            free = at + 24
        says = (
            f"{number}: {row.stage} ends {_said(row.day)}; {row.left[_MIDDLE]:,} left, "
            f"9 in 10 have {row.left[0]:,} to {row.left[-1]:,}"
        )
        paper.mark(row.day, row.left[_MIDDLE], says, colour=ACT)
    for parcel in found.parcels:
        if found.today <= parcel.day <= found.rows[-1].day:
            says = f"{parcel.pieces:,} come on {_said(parcel.day)}"
            paper.mark(
                parcel.day, low + (high - low) * 0.05, says, shape="^", colour=BRASS
            )


# Assemblies that one picture names; what is beyond stands in the figures.
_NAMED = 12


def pool(row: PoolDays) -> Picture:
    """A size of temporary fastener through time: all that are held, and by which work."""
    first, last = row.held[0][0], row.held[-1][0]
    named = row.by[:_NAMED]
    top, rows = 200, 44 * len(named)

    def draw(width: int) -> Paper:
        name = "pool" + row.size.replace("/", "of")
        room = Margins.beside(max(row.owned, *(held for _day, held in row.held)))
        paper = Paper(name, width, top + rows + 24, room, upper=top)
        paper.days(first, last)
        _held(paper, row)
        paper.panel(top - 10, rows + 50)
        paper.days(first, last)
        paper.rows(len(named))
        paper.axes.tick_params(labelbottom=False)
        for number, held in enumerate(named):
            _hold(paper, number, held)
        return paper

    more = len(row.by) - len(named)
    return _picture(
        f"Temporary fasteners of the {row.size} size through time",
        "Line: held. Dashed: owned. Square on its corner, thick line: more are wanted than "
        "there are. Below: which assembly holds how many, from when to when."
        + (f" {more} more stand in the figures." if more > 0 else ""),
        draw,
    )


def _held(paper: Paper, row: PoolDays) -> None:
    """All of a size that are held, against what is owned."""
    first, last = row.held[0][0], row.held[-1][0]
    days, counts = [day for day, _held in row.held], [held for _day, held in row.held]
    paper.upto(0, max(row.owned, *counts) * 1.15)
    paper.line(days, counts, ACT, drawstyle="steps-post", linewidth=2.5)
    paper.line((first, last), (row.owned, row.owned), INK, linestyle="dashed")
    paper.word(first, row.owned, f"{row.owned:,} owned", shift=(4, 9))
    for (day, held), (end, _next) in pairwise(row.held):
        says = f"{held:,} held from {_said(day)} to {_said(end)}"
        if held > row.owned:
            paper.line((day, end), (held, held), STOP, linewidth=4)
            says += f", {held - row.owned:,} more than are owned"
            paper.mark(day, held, says, shape="D", colour=STOP)
        elif held:
            paper.mark(day, held, says, colour=ACT)


def _hold(paper: Paper, number: int, held: HeldBy) -> None:
    span = (held.start, held.end)
    paper.bar(number + 0.72, span, ACT, high=0.34, fill=True)
    words = f"{held.quantity:,}: {held.assembly.name}"
    late = paper.along(held.start) > paper.across / 2
    at = held.end if late else held.start
    paper.word(at, number + 0.3, words, end=late)


# So many of all bits last, in words.
_LASTING = {0.1: "1 in 10 bits", 0.5: "half", 0.9: "9 in 10 bits"}


def wear(rows: Sequence[tuple[Bit, float]], life: BitLife) -> Picture:
    """The holes on each bit, against how many a bit lasts."""
    ends = {share: life.reached_by(share) for share in _LASTING}
    most = max(ends[0.1], *(holes for _bit, holes in rows)) * 1.04

    def draw(width: int) -> Paper:
        margins = Margins(left=12, top=62)
        paper = Paper("wear", width, 94 + 46 * len(rows), margins)
        paper.axes.set_xlim(0, most)
        paper.rows(len(rows))
        for high, (share, words) in enumerate(_LASTING.items()):
            paper.upright(ends[share], SOFT, linestyle="dotted")
            late = ends[share] > most / 2
            paper.word(
                *(ends[share], 0, words),
                shift=(-2 if late else 2, 12 + 17 * high),
                colour=SOFT,
                end=late,
            )
        for number, (bit, holes) in enumerate(rows):
            lasts = life.chance_lasts(0.0, holes)
            colour = GOOD if lasts >= 0.5 else WARN if lasts >= 0.1 else STOP
            paper.bar(number + 0.72, (0, holes), colour, high=0.3, fill=True)
            said = f"Bit {bit.number}, {bit.item.size}: {holes:,.0f} holes"
            paper.word(0, number + 0.3, said)
            says = f"{said}; {lasts:.0%} of all bits last so long"
            paper.mark(max(holes, most * 0.02), number + 0.72, says, colour=colour)
        return paper

    return _picture(
        "The holes on each bit since it was sharp",
        "Bar: holes on the bit. Dotted: so many of all bits last as long.",
        draw,
    )


def neighbours(rows: Sequence[LengthStock], here: int) -> Picture:
    """Lengths of one part side by side: what the plan still asks, and what there is."""
    most = max(1, *(max(row.need, row.here + row.due) for row in rows)) * 1.02

    def draw(width: int) -> Paper:
        paper = Paper("lengths", width, 20 + 84 * len(rows), Margins(12, 12, 4, 8))
        paper.axes.set_xlim(0, most)
        paper.rows(len(rows))
        paper.nothing_across()
        for number, row in enumerate(rows):
            colour = STOP if row.lacks else GOOD
            paper.bar(number + 0.63, (0, row.need), INK, high=0.13, fill=False)
            paper.bar(number + 0.8, (0, row.here), colour, high=0.16, fill=True)
            if row.due:
                span = (row.here, row.here + row.due)
                paper.bar(number + 0.8, span, colour, high=0.16, fill=False)
            this = "this: " if row.item.pk == here else ""
            paper.word(0, number + 0.1, this + row.item.words)
            stands = STOP if row.lacks else SOFT
            paper.word(0, number + 0.28, _stands(row), colour=stands)
            paper.word(0, number + 0.46, _found(row), colour=SOFT)
        return paper

    return _picture(
        "Lengths of the same part side by side",
        "Thin outline: the plan still asks. Filled: in bins. Outline behind it: due. Where "
        "one length lacks what its neighbour has over, look whether a tin was mixed up.",
        draw,
    )


def _stands(row: LengthStock) -> str:
    due = f", due {row.due:,}" if row.due else ""
    return f"asked {row.need:,}, here {row.here:,}{due}"


def _found(row: LengthStock) -> str:
    if not row.found:
        return "as recorded"
    return f"counts found {abs(row.found):,} {'over' if row.found > 0 else 'missing'}"


def spoilage(found: SpoilageDays, today: date) -> Picture:
    """What was spoilt of one class by the day of closing, and what is expected now."""
    first = found.closed[0].day - timedelta(days=3)
    most = max(found.expected, *(row.share for row in found.closed)) * 100

    def draw(width: int) -> Paper:
        name = "".join(each for each in found.name if each.isalnum())
        paper = Paper(f"spoilt{name}", width, 210)
        paper.days(first, max(today, found.closed[-1].day + timedelta(days=3)))
        paper.upto(0, max(1.0, most * 1.2), "%")
        level = found.expected * 100
        paper.line(paper.axes.get_xlim(), (level, level), ACT, linestyle="dashed")
        for row in found.closed:
            says = f"{_said(row.day)}: {row.bad:,} spoilt, {row.good:,} set"
            paper.upright(row.day, RULE, ymax=row.share * 100 / max(1.0, most * 1.2))
            paper.mark(row.day, row.share * 100, says, colour=ACT)
        return paper

    return _picture(
        f"Spoilt of {found.name}, by the day of closing",
        f"Each dot: what was closed on a day. Dashed: {found.expected:.1%} are expected of "
        "ordinary work from now on.",
        draw,
    )


_MONEY = (
    ("goods", "goods", ACT),
    ("shipping", "shipping", WARN),
    ("hazard_fee", "fee", STOP),
)


def parcels(rows: Sequence[Mapping[str, Any]], currency: str) -> Picture:
    """What each parcel of an order plan costs: goods, and what is paid to get them."""
    most = float(max(Decimal(row["total"]) for row in rows)) or 1.0

    def draw(width: int) -> Paper:
        paper = Paper("parcels", width, 12 + 66 * len(rows), Margins(12, 12, 4, 8))
        paper.axes.set_xlim(0, most * 1.02)
        paper.rows(len(rows))
        paper.nothing_across()
        for number, row in enumerate(rows):
            start, parts = 0.0, []
            for key, word, colour in _MONEY:
                money = float(Decimal(row[key]))
                if money:
                    span = (start, start + money)
                    paper.bar(
                        number + 0.7, span, colour, high=0.28, fill=key == "goods"
                    )
                    parts.append(f"{word} {row[key]}")
                    start += money
            said = f"{row['total']} {currency}".rstrip() + f", {row['name']}"
            paper.word(0, number + 0.13, said)
            paper.word(0, number + 0.36, ", ".join(parts), colour=SOFT)
        return paper

    return _picture(
        "What each parcel costs",
        "Filled: goods. Outlines: shipping and fees.",
        draw,
    )
