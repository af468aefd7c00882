"""Reading a stock list's rows, and what a delivered pack comes to in pieces."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.catalog.rules import DESCRIBED, PART_NUMBER, Description, described_in
from inventory.errors import Refused
from inventory.ledger.rules import MAX_QUANTITY
from inventory.sheets import Columns, Row
from inventory.sheets.cells import last_day, optional, whole
from inventory.trade import codes

COLUMNS = (
    "bin",
    "spot",
    "callout",
    *DESCRIBED,
    "quantity",
    "keep_level",
    "supplier",
    "lead_days",
    "pack",
    "lot",
    "expires",
)


# How other people's lists name them: common practice, no source.
LIST = Columns(
    names=COLUMNS,
    whole=("bin", "quantity", "keep_level", "lead_days", "pack"),
    days=("expires",),
    called={
        **dict.fromkeys(PART_NUMBER, "callout"),
        **dict.fromkeys(("qty", "count", "on hand", "in stock", "pieces"), "quantity"),
        **dict.fromkeys(("bin no", "bin number", "box", "tin"), "bin"),
        **dict.fromkeys(("location", "place", "drawer", "shelf"), "spot"),
        **dict.fromkeys(("minimum", "min", "keep", "reorder at"), "keep_level"),
        **dict.fromkeys(("vendor", "seller", "bought from"), "supplier"),
        **dict.fromkeys(("batch", "lot no", "lot number"), "lot"),
        **dict.fromkeys(("expiry", "use by", "best before", "expires on"), "expires"),
        "lead time": "lead_days",
        "description": "name",
        "pack size": "pack",
    },
)


@dataclass(frozen=True)
class StockLine:
    """One good row: a bin, what it holds and how many, who sells it.

    `about` says that how many is only about right.
    """

    line: int
    bin: int | None
    spot: str
    callout: str
    what: Description | None
    quantity: int
    keep_level: int | None
    supplier: str
    lead_days: int | None
    pack: int | None
    lot: str
    expires: date | None
    about: bool = False


def parse_row(row: Row) -> StockLine:
    """One row of a stock list. Errors: `sheet.cell`, `catalog.*`."""
    callout = row["callout"].strip()
    if not callout and not row["kind"].strip():
        raise Refused(
            "sheet.cell", "It names nothing: give a callout, or a kind with its size."
        )
    return StockLine(
        line=row.line,
        bin=optional(row, "bin", least=1, most=codes.LARGEST),
        spot=row["spot"].strip()[:80],
        callout=callout[:120],
        what=described_in(row) if row["kind"].strip() else None,
        quantity=whole(row, "quantity", default=0, most=MAX_QUANTITY),
        keep_level=optional(row, "keep_level", most=MAX_QUANTITY),
        supplier=row["supplier"].strip()[:80],
        lead_days=optional(row, "lead_days", most=730),
        pack=optional(row, "pack", least=1, most=MAX_QUANTITY),
        lot=row["lot"].strip()[:60],
        expires=last_day(row, "expires"),
        about="quantity" in row.guesses,
    )


def parse(rows: Iterable[Row]) -> tuple[list[StockLine], list[tuple[int, str]]]:
    """Every row either as a stock line or with its line number and a sentence."""
    good: list[StockLine] = []
    bad: list[tuple[int, str]] = []
    seen: dict[int, int] = {}
    for row in rows:
        try:
            line = parse_row(row)
        except Refused as error:
            bad.append((row.line, error.sentence))
            continue
        if line.bin is not None and line.bin in seen:
            bad.append(
                (row.line, f"Bin {line.bin} stands on line {seen[line.bin]} already.")
            )
            continue
        if line.bin is not None:
            seen[line.bin] = row.line
        good.append(line)
    return good, bad


def pieces_by_weight(
    grams: Decimal,
    sample_pieces: int | None,
    sample_grams: Decimal | None,
    mg: Decimal | None,
) -> int:
    """Pieces in a delivered weight: by a counted sample, else by the known piece mass.

    Errors: `supply.sample` when neither is known.
    """
    if sample_pieces and sample_grams and sample_grams > 0:
        return int((grams * sample_pieces / sample_grams).to_integral_value())
    if mg:
        return int((grams * 1000 / mg).to_integral_value())
    raise Refused(
        "supply.sample",
        "Nobody knows yet what one piece weighs: count a sample of 100, weigh it, and "
        "key both; or key the count.",
    )
