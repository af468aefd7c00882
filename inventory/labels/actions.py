"""Label sheets as PDF: every symbol is read back from its page before it is offered."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from inventory import days
from inventory.errors import Refused
from inventory.forecasting.models import Bit
from inventory.forecasting.queries.tray import Tray
from inventory.labels.models import LabelSetup
from inventory.labels.queries import (
    assembly_blocks,
    label_of,
    log_parts,
    recall_parts,
    tag_of,
    tray_blocks,
)
from inventory.labels.rules import layout, pages
from inventory.labels.rules.addresses import bin_address
from inventory.labels.rules.layout import Content, Drawn, Frame
from inventory.labels.rules.logsheet import LogSheet, log_pdf
from inventory.labels.rules.sheets import (
    CARDS,
    LEAST_LABEL_MM,
    LabelSheet,
    Rect,
    paper_called,
    sheet_called,
)
from inventory.labels.rules.symbols import Dots
from inventory.labels.rules.worksheet import Block, PageHead, worksheet
from inventory.ledger.actions.bins import note_labelled
from inventory.ledger.queries import Bin, Lot
from inventory.ledger.queries.lots import LotInBin, Recalled
from inventory.people.models import User
from inventory.planning.models import Assembly
from inventory.planning.queries.log import StageLog
from inventory.trade import codes


def label_pdf(  # noqa: PLR0913 - what, on which sheet, from which label on
    *,
    bins: Sequence[Bin],
    sheet: str | LabelSheet,
    shop_url: str,
    bits: Sequence[Bit] = (),
    offset_mm: tuple[float, float] = (0.0, 0.0),
    skip: int = 0,
    dpi: int = 300,
) -> bytes:
    """The labels of bins, and the tags of bits, on a sheet of SHEETS or an own one.

    The bins are noted as labelled.

    Errors: `labels.none`, `labels.sheet`, `labels.size`, `labels.skip`,
    `labels.offset`, `labels.dpi`, `labels.url`, `labels.unreadable`.
    """
    paper = sheet_called(sheet) if isinstance(sheet, str) else sheet
    dots = Dots(dpi)
    contents = [label_of(bin, shop_url) for bin in bins]
    contents += [tag_of(bit) for bit in bits]
    if not contents:
        raise Refused(
            "labels.none", "No bin was chosen, and no bit: choose at least one."
        )
    if bins and not paper.takes_bars:
        raise Refused(
            "labels.size",
            f"A bin's label is {LEAST_LABEL_MM[0]:.0f} x {LEAST_LABEL_MM[1]:.0f} mm at "
            "least: choose a larger one. Tags are for bits.",
        )
    places = list(paper.places(len(contents), skip, offset_mm))
    if paper.follows:
        drawn = [
            layout.cut_to_fit(content, paper, at, dots, offset_mm)
            for at, content in enumerate(contents)
        ]
    else:
        draw = layout.label if paper.takes_bars else layout.tag
        drawn = [
            draw(content, place, _frame(paper, place, dots))
            for content, place in zip(contents, places, strict=True)
        ]
    pdf = _checked(drawn, paper.page, dots)
    note_labelled(bins=bins)
    return pdf


def card_sheet_pdf(
    *,
    cards: Sequence[tuple[int, str, str]],
    quantities: Sequence[int] = (),
    people: Sequence[User] = (),
    paper: str = "a4",
    dpi: int = 300,
) -> bytes:
    """Action cards (number, word, what it does), quantity cards and badges.

    Errors: `labels.none`, `labels.dpi`, `labels.paper`, `labels.unreadable`,
    `code.impossible`.
    """
    first = [
        Content(word, codes.make("C", number), tells) for number, word, tells in cards
    ]
    then = [Content(str(n), codes.make("N", n), _keys(n)) for n in quantities]
    then += [
        Content(str(each), codes.make("H", each.pk), "this person is at the bench")
        for each in people
    ]
    if not first and not then:
        raise Refused("labels.none", "There is no card to print.")
    dots, sheet = Dots(dpi), replace(CARDS, page=paper_called(paper))
    # Quantities and badges begin a page of their own.
    start = -(-len(first) // sheet.per_page) * sheet.per_page
    places = list(sheet.places(start + len(then)))
    drawn = [
        layout.card(content, place, _frame(sheet, place, dots))
        for content, place in zip(
            [*first, *then], [*places[: len(first)], *places[start:]], strict=True
        )
    ]
    return _checked(drawn, sheet.page, dots)


def _keys(quantity: int) -> str:
    """What a quantity card does."""
    return f"adds the digit {quantity}" if quantity < 10 else f"makes it {quantity}"


def assembly_pdf(
    *, assembly: Assembly, shop_url: str, paper: str = "a4", dpi: int = 300
) -> bytes:
    """A work sheet of one assembly: what is still to take, each with its bin's code.

    Errors: `labels.dpi`, `labels.paper`, `labels.url`, `labels.unreadable`.
    """
    code = codes.make("S", assembly.pk)
    times = f", {assembly.how_many} times" if assembly.how_many > 1 else ""
    head = PageHead(
        assembly.name,
        f"{assembly.stage.name}{times}: still to take",
        code,
        bin_address(shop_url, code),
    )
    return _listed(head, assembly_blocks(assembly), paper, dpi)


def tray_pdf(*, tray: Tray, shop_url: str, paper: str = "a4", dpi: int = 300) -> bytes:
    """The tray as a sheet in walking order, a code on every line.

    Errors: `labels.none`, `labels.dpi`, `labels.paper`, `labels.url`,
    `labels.unreadable`.
    """
    if not tray.assemblies:
        raise Refused("labels.none", "No assembly is open: there is no tray to print.")
    names = ", ".join(row.name for row in tray.assemblies)
    head = PageHead("Tonight's tray", f"for {names}")
    if len(tray.assemblies) == 1:
        code = codes.make("S", tray.assemblies[0].pk)
        address = bin_address(shop_url, code)
        head = replace(head, code=code, address=address)
    return _listed(head, tray_blocks(tray), paper, dpi)


def log_sheet_pdf(
    *,
    stages: Sequence[StageLog],
    title: str,
    shop: str,
    folder: Path,
    today: date,
    paper: str = "a4",
) -> bytes:
    """The builder's log to print. Errors: `labels.paper`."""
    sheet = LogSheet(
        title,
        f"{shop} · as of {days.said(today)}",
        log_parts(stages, folder),
        f"{shop}, {days.said(today)}. A record of what was noted, no proof of workmanship.",
    )
    return log_pdf(sheet, paper_called(paper))


def recall_pdf(
    *,
    lot: Lot,
    stays: Sequence[LotInBin],
    places: Sequence[Recalled],
    shop: str,
    today: date,
    paper: str = "a4",
) -> bytes:
    """Where a lot may be, to print. Errors: `labels.paper`."""
    below = [lot.item.title]
    if lot.paper:
        below.append(f"paper {lot.paper}")
    sheet = LogSheet(
        f"Recall of lot {lot.name}",
        " · ".join([*below, shop, f"as of {days.said(today)}"]),
        list(recall_parts(stays, places)),
        f"{shop}, {days.said(today)}. By what was noted: what was pulled and not scanned is "
        "not in it.",
    )
    return log_pdf(sheet, paper_called(paper))


def _listed(head: PageHead, blocks: Sequence[Block], paper: str, dpi: int) -> bytes:
    page, dots = paper_called(paper), Dots(dpi)
    return _checked(list(worksheet(head, blocks, page, dots)), page, dots)


def _frame(paper: LabelSheet, place: tuple[int, Rect], dots: Dots) -> Frame:
    return Frame.of(place[1], paper.page[1], dots)


def _checked(drawn: Sequence[Drawn], page_mm: tuple[float, float], dots: Dots) -> bytes:
    pdf = pages.pdf_of(drawn, page_mm)
    pages.check(pdf, drawn, dots.dpi)
    return pdf


def keep_setup(*, chosen: Mapping[str, object]) -> None:
    """Remember how labels are printed, for the next time."""
    LabelSetup.objects.update_or_create(pk=1, defaults={"chosen": dict(chosen)})
