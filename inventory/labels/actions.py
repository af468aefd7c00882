"""Label sheets as PDF: every symbol is read back from its page before it is offered."""

from collections.abc import Sequence

from inventory.errors import Refused
from inventory.labels.rules import layout, pages
from inventory.labels.rules.layout import Content, Drawn, Frame
from inventory.labels.rules.sheets import CARDS, Rect, Sheet, sheet_called
from inventory.labels.rules.symbols import Dots
from inventory.labels.rules.worksheet import PAGE, Wanted, worksheet
from inventory.ledger.queries import Bin, held
from inventory.ledger.queries import bins as bins_of_the_shop
from inventory.planning.models import Assembly
from inventory.planning.queries import Asked, asked_by
from inventory.trade import codes


def label_pdf(
    *,
    bins: Sequence[Bin],
    sheet: str,
    shop_url: str,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    skip: int = 0,
    dpi: int = 300,
) -> bytes:
    """The bins' labels on a sheet of SHEETS.

    Errors: `labels.none`, `labels.sheet`, `labels.skip`, `labels.offset`,
    `labels.dpi`, `labels.url`, `labels.unreadable`.
    """
    paper, dots = sheet_called(sheet), Dots(dpi)
    if not bins:
        raise Refused("labels.none", "No bin was chosen: choose at least one.")
    places = paper.places(len(bins), skip, offset_mm)
    drawn = [
        layout.label(_content(bin, shop_url), place, _frame(paper, place, dots))
        for bin, place in zip(bins, places, strict=True)
    ]
    return _checked(drawn, paper, dots)


def card_sheet_pdf(
    *, cards: Sequence[tuple[int, str]], quantities: Sequence[int] = (), dpi: int = 300
) -> bytes:
    """Action cards (number, words) and quantity cards, apart enough to scan singly.

    Errors: `labels.none`, `labels.dpi`, `labels.unreadable`, `code.impossible`.
    """
    contents = [Content(words, codes.make("C", number)) for number, words in cards]
    contents += [Content(str(n), codes.make("N", n)) for n in quantities]
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
        words=item.words,
        code=bin.code,
        callout="" if item.callout == item.words else item.callout,
        spot=bin.spot,
        address=layout.bin_address(shop_url, bin.code),
    )


def _frame(paper: Sheet, place: tuple[int, Rect], dots: Dots) -> Frame:
    return Frame.of(place[1], paper.page[1], dots)


def _checked(drawn: Sequence[Drawn], paper: Sheet, dots: Dots) -> bytes:
    pdf = pages.pdf_of(drawn, paper.page)
    pages.check(pdf, drawn, dots.dpi)
    return pdf
