"""What is printed of each thing, and how the shop prints."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path

from django.utils.timezone import localdate

from inventory import days
from inventory.catalog.models import Item
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.tray import (
    Drilled,
    Missing,
    Mixed,
    Stop,
    Tray,
)
from inventory.labels.models import LabelSetup
from inventory.labels.rules.addresses import bin_address
from inventory.labels.rules.layout import Content
from inventory.labels.rules.logsheet import Part
from inventory.labels.rules.saying import (
    amount,
    colour_words,
    look_alike_mark,
    trade_colour,
)
from inventory.labels.rules.worksheet import Block, Note, Wanted
from inventory.ledger.queries import Bin, bins_of, quantities_at
from inventory.ledger.queries.acts import Deed
from inventory.ledger.queries.lots import LotInBin, Recalled, marks_of
from inventory.ledger.rules import photograph_name
from inventory.planning.models import Assembly
from inventory.planning.queries.asking import Asked, asked_by
from inventory.planning.queries.log import Entry, StageLog
from inventory.trade import callouts, codes
from inventory.trade.cautions import about
from inventory.trade.outlines import outline_of
from inventory.trade.reading import Reading

RECALL_IS = (
    "Every place is named that pulled from a bin while the lot may have been in it. Lots "
    "that lay together cannot be told apart: 'at most' follows from the numbers, the chance "
    "takes the pieces to have lain mixed. Look at the part, its drawing and its papers."
)


def kept_setup() -> dict[str, object]:
    """How labels were printed last; empty before the first time."""
    row = LabelSetup.objects.filter(pk=1).first()
    return dict(row.chosen) if row else {}


def label_of(bin: Bin, shop_url: str) -> Content:
    """A bin's label."""
    item = bin.item
    reading = _read(item)
    return Content(
        words=_words(item),
        code=bin.code,
        callout=_below(item),
        spot=bin.spot,
        address=bin_address(shop_url, bin.code),
        drawing=outline_of(reading) if reading else None,
        mark=look_alike_mark(reading) if reading else (),
    )


def _is_coloured(item: Item) -> bool:
    """Whether the trade tells its sizes by colour: those that go through a hole."""
    return item.holds_a_hole


def _words(item: Item) -> str:
    colour = trade_colour(item.size)[0] if _is_coloured(item) else ""
    return f"{item.words}, {colour}" if colour else item.words


def _below(item: Item) -> str:
    """Under the words: the callout, or how a temporary fastener's colour is known."""
    if _is_coloured(item):
        return colour_words(item.size)
    return _callout(item)


def _callout(item: Item) -> str:
    return "" if item.callout == item.words else item.callout


def _read(item: Item) -> Reading | None:
    """What one callout, and only one, says."""
    found = callouts.readings(item.callout).found if item.callout else ()
    return found[0] if len(found) == 1 else None


def tag_of(bit: Bit) -> Content:
    """A bit's tag: its QR holds the bare code, small enough for a tube."""
    words = f"Bit {bit.number}, {bit.item.words}"
    return Content(words, bit.code, spot="tube", address=bit.code)


def assembly_blocks(assembly: Assembly) -> list[Block]:
    """The lines of a work sheet, each with the fullest bin of its item."""
    asked = asked_by(assembly)
    from_bin = _fullest({row.item.pk for row in asked})
    return [_asked(row, from_bin.get(row.item.pk)) for row in asked]


def _fullest(items: set[int]) -> dict[int, Bin]:
    """The bin of each item that holds most of it."""
    rows = bins_of(items)
    there = quantities_at(row.place_id for row in rows)
    rows.sort(key=lambda row: there.get((row.place_id, row.item_id), 0))
    return {row.item_id: row for row in rows}


def _asked(asked: Asked, bin: Bin | None) -> Wanted:
    item = asked.item
    return Wanted(
        words=item.words,
        take=amount(asked.remaining, item.unit) if asked.remaining else "",
        below=_joined(_callout(item), bin.spot if bin else "no bin holds it"),
        more="" if asked.remaining else "all taken",
        code=bin.code if bin else "",
    )


def _joined(*parts: str) -> str:
    return " · ".join(part for part in parts if part)


def tray_blocks(tray: Tray) -> list[Block]:
    """The lines of the tray's sheet, in walking order, what to mind at the end."""
    found: list[Block] = []
    if len(tray.assemblies) > 1:
        found += [Note("Open one of these at the bench", heading=True)]
        found += [
            Wanted(row.name, below=row.stage.name, code=codes.make("S", row.pk))
            for row in tray.assemblies
        ]
    for place, stops in tray.places:
        found += [Note(place, heading=True), *map(_stop, stops)]
    found += _headed("No bin holds these", [_missing(row) for row in tray.missing])
    found += _headed("Bits", [_drilled(row) for row in tray.drills])
    found += _headed("Sealant to mix", [_mixed(row) for row in tray.mixes])
    cautions = [each for topic in tray.topics for each in about(topic)]
    found += _headed("Mind your eyes and hands", [Note(c.sentence) for c in cautions])
    return found


def _headed(heading: str, blocks: list[Block]) -> list[Block]:
    return [Note(heading, heading=True), *blocks] if blocks else []


def _stop(stop: Stop) -> Wanted:
    item = stop.bin.item
    spare = f"and {stop.spare} to spare (a guess)" if stop.spare else ""
    return Wanted(
        words=item.words,
        take=amount(stop.take, item.unit),
        below=_joined(_below(item), stop.bin.spot),
        more=_joined(", ".join(stop.names), spare, item.cold_words),
        code=stop.bin.code,
    )


def _missing(row: Missing) -> Wanted:
    item = row.item
    return Wanted(item.words, amount(row.quantity, item.unit), _callout(item))


def _drilled(row: Drilled) -> Wanted:
    holes = f"about {row.holes:.0f} full holes tonight"
    new = f"a new one: bin {row.fresh[0].number}" if row.fresh else "no bin holds one"
    if row.bit is None:
        code = row.fresh[0].code if row.fresh else ""
        return Wanted(f"{row.size} drill: none fitted", "", holes, new, code)
    lasts = f"has drilled {row.used:.0f}, {row.lasts or 0:.0%} chance that it lasts"
    take = f"take {new}" if row.fit_new else ""
    return Wanted(
        f"Bit {row.bit.number}, {row.bit.item.words}",
        below=_joined(holes, lasts),
        more=take,
        code=row.bit.code,
    )


def _mixed(row: Mixed) -> Note:
    item = row.stop.bin.item
    lots = [
        f"lot {lot.name}"
        + (f", use by {days.said(lot.expires_on)}" if lot.expires_on else "")
        for lot in row.lots
    ]
    said = [f"{amount(row.stop.take, item.unit)} of {item.words}", *lots]
    over = "its life is over: do not use it" if row.over else ""
    return Note(_joined(*said, over))


HEAD = ("Item", "Drawn", "Used", "Spoiled", "Bins", "Lots that may be in it")
# A whole aircraft's pictures would make a book that no mail takes.
MOST_PICTURES = 120


def log_parts(stages: Sequence[StageLog], folder: Path) -> list[Part]:
    """The builder's log as parts of a sheet; from so many pictures on, without them."""
    found: list[Part] = []
    room = MOST_PICTURES
    for part in stages:
        found.append(Part(part.stage.name, opens_stage=True))
        for each in part.entries:
            pictures = _pictures(each, folder)
            found.append(_log_part(each, pictures[:room], max(0, len(pictures) - room)))
            room -= min(room, len(pictures))
    return found or [Part("Nothing yet", ["No assembly was begun."])]


def _log_part(
    entry: Entry, pictures: Sequence[tuple[Path, str]], left_out: int
) -> Part:
    row = entry.assembly
    times = f"Made {row.how_many} times. " if row.how_many > 1 else ""
    begun = f"{times}Begun {_at(row.started_at)} by {row.started_by}"
    closed = "not closed yet: as it stands now"
    if entry.closed:
        closed = f"closed {_at(entry.closed.at)} by {entry.closed.by}"
    worked = ", ".join(days.said(day) for day in entry.days) or "none"
    lines = [f"{begun}; {closed}."]
    lines += [f"Stood in: {text}" for text in entry.record["stood_in"]]
    lines += [f"Looked mixed up: {text}" for text in entry.record["mixed"]]
    people = ", ".join(entry.record["people"]) or "nobody yet"
    lines.append(f"By {people}. Days with work: {worked}.")
    lines += [
        f"{'Closed' if each.closing else 'Reopened'} {_at(each.at)} by {each.by}"
        + (f": {each.note}" if each.note else "")
        for each in (entry.history if entry.tells_history else ())
    ]
    lines += [_taken_back(each) for each in entry.corrections]
    if left_out:
        lines.append(f"Not printed here: {left_out} of its pictures.")
    rows = [
        (
            each["words"],
            *(f"{each[name]:,}" for name in ("need", "used", "spoiled")),
            ", ".join(map(str, each["bins"])),
            ", ".join(each["lots"]) or "not noted",
        )
        for each in entry.went_in
    ]
    return Part(row.name, lines, [HEAD, *rows] if rows else (), pictures)


def _at(at: datetime | None) -> str:
    return days.said(localdate(at)) if at else "some day"


def _taken_back(deed: Deed) -> str:
    moved = deed.moved
    what = f" {moved.quantity:,} of {moved.item.words}" if moved else ""
    undo = f", {_at(deed.undo.at)} by {deed.undo.by}" if deed.undo else ""
    said = deed.act.get_verb_display()
    return f"Taken back: {said}{what}, {_at(deed.act.at)} by {deed.act.by}{undo}."


def _pictures(entry: Entry, folder: Path) -> list[tuple[Path, str]]:
    own = [
        (row.sha256, f"{row.caption or 'Photograph'}, {row.by}, {_at(row.at)}")
        for row in entry.photographs
    ]
    marks = marks_of({each["photograph"] for each in entry.papers})
    papers = [
        (marks[each["photograph"]], f"Certificate: {each['words']}")
        for each in entry.papers
        if each["photograph"] in marks
    ]
    return [(folder / photograph_name(mark), words) for mark, words in own + papers]


def recall_parts(
    stays: Sequence[LotInBin], places: Sequence[Recalled]
) -> Iterator[Part]:
    """The bins that a lot came into, and every place that may have got of it."""
    bins = [
        (
            str(each.bin.number),
            each.bin.spot,
            "has been empty since" if each.emptied_by_id else "may hold some",
        )
        for each in stays
    ]
    yield Part("Bins", rows=[("Bin", "Spot", "Now"), *bins])
    gone = [
        (
            each.place.name,
            each.place.get_kind_display(),
            f"{each.share.pieces:,}",
            each.share.words,
            each.share.chance_words,
        )
        for each in places
    ]
    header = ("Place", "What it is", "Pulled meanwhile", "Of the lot", "Any at all")
    yield Part("Where it may have gone", rows=[header, *gone] if gone else ())
    yield Part("How this is known", lines=[RECALL_IS])
