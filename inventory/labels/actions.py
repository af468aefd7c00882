"""Label sheets as PDF: every symbol is read back from its page before it is offered."""

from collections.abc import Mapping, Sequence

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.tray import Tray
from inventory.labels.models import LabelSetup
from inventory.labels.rules import layout, pages
from inventory.labels.rules.layout import Content, Drawn, Frame
from inventory.labels.rules.sheets import CARDS, Rect, Sheet, sheet_called
from inventory.labels.rules.symbols import Dots
from inventory.labels.rules.worksheet import PAGE, Wanted, worksheet
from inventory.ledger.queries import Bin, held
from inventory.ledger.queries import bins as bins_of_the_shop
from inventory.people.models import User
from inventory.planning.models import Assembly
from inventory.planning.queries import Asked, asked_by
from inventory.trade import callouts, codes, holders
from inventory.trade.drawing import Drawing
from inventory.trade.outlines import outline_of


def label_pdf(  # noqa: PLR0913 - what, on which sheet, from which label on
    *,
    bins: Sequence[Bin],
    sheet: str | Sheet,
    shop_url: str,
    bits: Sequence[Bit] = (),
    offset_mm: tuple[float, float] = (0.0, 0.0),
    skip: int = 0,
    dpi: int = 300,
) -> bytes:
    """The labels of bins, and the tags of bits, on a sheet of SHEETS or an own one.

    Errors: `labels.none`, `labels.sheet`, `labels.skip`, `labels.offset`,
    `labels.dpi`, `labels.url`, `labels.unreadable`.
    """
    paper = sheet_called(sheet) if isinstance(sheet, str) else sheet
    dots = Dots(dpi)
    contents = [_content(bin, shop_url) for bin in bins]
    contents += [_tag(bit) for bit in bits]
    if not contents:
        raise Refused("labels.none", "No bin was chosen: choose at least one.")
    places = paper.places(len(contents), skip, offset_mm)
    drawn = [
        layout.label(content, place, _frame(paper, place, dots))
        for content, place in zip(contents, places, strict=True)
    ]
    return _checked(drawn, paper, dots)


def card_sheet_pdf(
    *,
    cards: Sequence[tuple[int, str]],
    quantities: Sequence[int] = (),
    people: Sequence[User] = (),
    dpi: int = 300,
) -> bytes:
    """Action cards (number, words), quantity cards and badges, apart enough to scan singly.

    Errors: `labels.none`, `labels.dpi`, `labels.unreadable`, `code.impossible`.
    """
    contents = [Content(words, codes.make("C", number)) for number, words in cards]
    contents += [Content(str(n), codes.make("N", n)) for n in quantities]
    contents += [Content(str(each), codes.make("H", each.pk)) for each in people]
    if not contents:
        raise Refused("labels.none", "There is no card to print.")
    dots = Dots(dpi)
    drawn = [
        layout.card(content, place, _frame(CARDS, place, dots))
        for content, place in zip(contents, CARDS.places(len(contents)), strict=True)
    ]
    return _checked(drawn, CARDS, dots)


def assembly_pdf(*, assembly: Assembly, dpi: int = 300) -> bytes:
    """A work sheet of one assembly: what is still to take, each with its bin's code.

    Errors: `labels.dpi`, `labels.unreadable`.
    """
    dots = Dots(dpi)
    code = codes.make("S", assembly.pk)
    asked = asked_by(assembly)
    from_bin = _fullest({row.item.pk for row in asked})
    rows = [_wanted(row, from_bin.get(row.item.pk)) for row in asked]
    times = f", {assembly.how_many} times" if assembly.how_many > 1 else ""
    below = f"{assembly.stage.name}{times}: still to take"
    drawn = list(worksheet(assembly.name, below, code, rows, dots))
    pdf = pages.pdf_of(drawn, PAGE)
    pages.check(pdf, drawn, dpi)
    return pdf


def tray_pdf(*, tray: Tray, dpi: int = 300) -> bytes:
    """The tray as a sheet in walking order, a bin's code on every line.

    Errors: `labels.none`, `labels.dpi`, `labels.unreadable`.
    """
    if not tray.assemblies:
        raise Refused("labels.none", "No assembly is open: there is no tray to print.")
    dots = Dots(dpi)
    rows = [
        Wanted(
            words=take.item.words,
            take=take.quantity,
            unit=take.item.unit,
            callout=take.item.callout,
            bin_code=take.bins[0][0].code if take.bins else "",
            spot=take.bins[0][0].spot if take.bins else "",
        )
        for take in tray.takes
    ]
    code = codes.make("S", tray.assemblies[0].pk)
    names = ", ".join(row.name for row in tray.assemblies)
    drawn = list(worksheet("Tonight's tray", f"for {names}", code, rows, dots))
    pdf = pages.pdf_of(drawn, PAGE)
    pages.check(pdf, drawn, dpi)
    return pdf


def _fullest(items: set[int]) -> dict[int, Bin]:
    """The bin of each item that holds most of it."""
    rows = list(bins_of_the_shop().filter(item__in=items))
    there = held(row.place_id for row in rows)
    rows.sort(key=lambda row: there.get((row.place_id, row.item_id), 0))
    return {row.item_id: row for row in rows}


def _wanted(asked: Asked, bin: Bin | None) -> Wanted:
    item = asked.item
    return Wanted(
        words=item.words,
        take=asked.remaining,
        unit=item.unit,
        callout="" if item.callout == item.words else item.callout,
        bin_code=bin.code if bin else "",
        spot=bin.spot if bin else "",
    )


def _content(bin: Bin, shop_url: str) -> Content:
    item = bin.item
    return Content(
        words=_words(item),
        code=bin.code,
        callout="" if item.callout == item.words else item.callout,
        spot=bin.spot,
        address=layout.bin_address(shop_url, bin.code),
        drawing=_drawing(item),
    )


def _words(item: Item) -> str:
    """An item's words; a temporary fastener with the colour the trade knows it by."""
    if item.kind != "temporary_fastener":
        return item.words
    try:
        return f"{item.words}, {holders.colour(item.size)}"
    except Refused:
        return item.words


def _drawing(item: Item) -> Drawing | None:
    """The outline of what one callout, and only one, says."""
    found = callouts.readings(item.callout).found if item.callout else ()
    return outline_of(found[0]) if len(found) == 1 else None


def _tag(bit: Bit) -> Content:
    """A bit's tag: the bare code in its QR, small enough for a tube."""
    code = codes.make("T", bit.number)
    return Content(
        f"Bit {bit.number}: {bit.item.words}", code, spot="tube", address=code
    )


def _frame(paper: Sheet, place: tuple[int, Rect], dots: Dots) -> Frame:
    return Frame.of(place[1], paper.page[1], dots)


def _checked(drawn: Sequence[Drawn], paper: Sheet, dots: Dots) -> bytes:
    pdf = pages.pdf_of(drawn, paper.page)
    pages.check(pdf, drawn, dots.dpi)
    return pdf


def keep_setup(*, chosen: Mapping[str, object]) -> None:
    """Remember how labels were printed, for the next time."""
    LabelSetup.objects.update_or_create(pk=1, defaults={"chosen": dict(chosen)})


def kept_setup() -> dict[str, object]:
    """How labels were printed last; empty before the first time."""
    row = LabelSetup.objects.filter(pk=1).first()
    return dict(row.chosen) if row else {}
