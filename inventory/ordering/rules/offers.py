"""Reading a price list's rows: a supplier's terms, or one pack of one item."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from inventory.catalog.rules import DESCRIBED, PART_NUMBER, Description, described_in
from inventory.errors import Refused
from inventory.ledger.rules import MAX_QUANTITY
from inventory.sheets import Columns, Row
from inventory.sheets.cells import name, optional
from inventory.trade.mass import MG_PER_POUND

WHAT = ("callout", *DESCRIBED)
TERMS = ("shipping", "hazard_fee", "free_from", "minimum")
# Nobody here has seen a list with more than four.
BREAKS = (
    ("from_packs", "price_from"),
    *((f"from_packs_{n}", f"price_from_{n}") for n in (2, 3, 4)),
)
PACK = ("pack", "price", *(cell for pair in BREAKS for cell in pair))
MORE = ("most_packs", "lead_days", "life_days", "their_number")
COLUMNS = ("supplier", *WHAT, *PACK, *MORE, *TERMS)
# How other people's lists name them: common practice, no source.
LIST = Columns(
    names=COLUMNS,
    whole=(*(pair[0] for pair in BREAKS), "most_packs", "lead_days", "life_days"),
    measures=("price", *(pair[1] for pair in BREAKS), *TERMS),
    called={
        **dict.fromkeys(PART_NUMBER, "callout"),
        **dict.fromkeys(("vendor", "seller"), "supplier"),
        **dict.fromkeys(("pack size", "per pack"), "pack"),
        **dict.fromkeys(("price per pack", "pack price"), "price"),
        **dict.fromkeys(
            (
                "supplier part number",
                "supplier part",
                "vendor part number",
                "order number",
                "order code",
                "catalog number",
                "stock number",
            ),
            "their_number",
        ),
        "lead time": "lead_days",
        "description": "name",
    },
)
MOST_MONEY, MOST_DAYS, MOST_LIFE = Decimal(1_000_000), 730, 7300
MOST_NUMBER = 60
CENT = Decimal("0.01")
_PACK = re.compile(
    r"(?P<over>[0-9]{1,3})/(?P<under>[1-9][0-9]?) ?lb"
    r"|(?P<number>[0-9]{1,6}(?:[.,][0-9]{1,3})?) ?(?P<unit>lb|kg|g)",
    re.ASCII | re.IGNORECASE,
)


@dataclass(frozen=True)
class TermsLine:
    """A supplier's terms; what a cell leaves empty stays as it is."""

    line: int
    supplier: str
    lead_days: int | None
    shipping: Decimal | None
    hazard_fee: Decimal | None
    free_from: Decimal | None
    minimum: Decimal | None


@dataclass(frozen=True)
class OfferLine:
    """One pack of one item at a price, with its price breaks."""

    line: int
    supplier: str
    callout: str
    what: Description | None
    pack: int | None
    pack_grams: Decimal | None
    price: Decimal
    breaks: tuple[tuple[int, Decimal], ...]
    most_packs: int | None
    lead_days: int | None
    life_days: int | None
    their_number: str = ""

    @property
    def label(self) -> str:
        """What it is, as the list has it."""
        return self.callout or (self.what.words if self.what else "")

    @property
    def mark(self) -> tuple[object, ...]:
        """The same for the same pack of the same thing."""
        item = self.what.key if self.what else self.callout.upper()
        return (self.supplier, item, self.pack, self.pack_grams)


def money(row: Row, column: str) -> Decimal | None:
    """An amount with at most two decimals, or None. Errors: `sheet.cell`."""
    text = row[column].strip().replace(",", ".")
    if not text:
        return None
    if not re.fullmatch(r"[0-9]{1,7}(\.[0-9]{1,2})?", text) or (
        Decimal(text) > MOST_MONEY
    ):
        raise Refused(
            "sheet.cell",
            f"'{column.replace('_', ' ')}' is '{text[:20]}': write an amount such as "
            "12.95, without the currency.",
        )
    return Decimal(text)


def pack_of(text: str) -> tuple[int | None, Decimal | None]:
    """Pieces, or grams, of a pack: '250', '1/4 lb', '113.4 g'. Errors: `sheet.cell`."""
    text = text.strip()
    if re.fullmatch(r"[0-9]{1,7}", text) and 1 <= int(text) <= MAX_QUANTITY:
        return int(text), None
    found = _PACK.fullmatch(text)
    grams = _grams(found) if found else Decimal(0)
    if not 0 < grams <= MOST_MONEY:
        raise Refused(
            "sheet.cell",
            f"'pack' is '{text[:20]}': write the pieces such as 250, or the weight "
            "such as 1/4 lb or 113.4 g.",
        )
    return None, grams


def _grams(found: re.Match[str]) -> Decimal:
    pound = MG_PER_POUND / 1000
    if found["over"]:
        grams = Fraction(int(found["over"]), int(found["under"])) * pound
    else:
        size = Fraction(found["number"].replace(",", "."))
        grams = size * {"lb": pound, "kg": Fraction(1000)}.get(
            found["unit"].lower(), Fraction(1)
        )
    exact = Decimal(grams.numerator) / Decimal(grams.denominator)
    return exact.quantize(CENT, ROUND_HALF_EVEN)


def parse_row(row: Row) -> TermsLine | OfferLine:
    """One row of a price list. Errors: `sheet.cell`, `catalog.*`."""
    supplier = name(row, "supplier")
    if any(row[column].strip() for column in (*WHAT, *PACK)):
        return _offer(row, supplier)
    return TermsLine(
        row.line,
        supplier,
        optional(row, "lead_days", most=MOST_DAYS),
        *(money(row, column) for column in TERMS),
    )


def _offer(row: Row, supplier: str) -> OfferLine:
    callout = row["callout"].strip()
    if not callout and not row["kind"].strip():
        raise Refused(
            "sheet.cell", "It names nothing: give a callout, or a kind with its size."
        )
    if any(row[column].strip() for column in TERMS):
        raise Refused(
            "sheet.cell",
            "Shipping and other terms belong on a row of the supplier's own, without "
            "a callout.",
        )
    price = money(row, "price")
    if price is None:
        raise Refused("sheet.cell", "'price' is missing: write what one pack costs.")
    pieces, grams = pack_of(row["pack"])
    return OfferLine(
        line=row.line,
        supplier=supplier,
        callout=callout[:120],
        what=described_in(row) if row["kind"].strip() else None,
        pack=pieces,
        pack_grams=grams,
        price=price,
        breaks=_breaks(row),
        most_packs=optional(row, "most_packs", least=1, most=10_000),
        lead_days=optional(row, "lead_days", most=MOST_DAYS),
        life_days=optional(row, "life_days", least=1, most=MOST_LIFE),
        their_number=_their_number(row),
    )


def _their_number(row: Row) -> str:
    text = row["their_number"].strip()
    if len(text) > MOST_NUMBER:
        raise Refused(
            "sheet.cell",
            f"'their_number' is over {MOST_NUMBER} characters long: shorten it.",
        )
    return text


def _breaks(row: Row) -> tuple[tuple[int, Decimal], ...]:
    found: list[tuple[int, Decimal]] = []
    for count, price in BREAKS:
        packs, cost = optional(row, count, least=2, most=10_000), money(row, price)
        if (packs is None) != (cost is None):
            raise Refused(
                "sheet.cell", f"'{count}' and '{price}' go together: write both."
            )
        if packs is not None and cost is not None:
            found.append((packs, cost))
    return checked_breaks(found)


def checked_breaks(
    found: list[tuple[int, Decimal]],
) -> tuple[tuple[int, Decimal], ...]:
    """Price breaks in order. Errors: `sheet.cell` for a count that stands twice."""
    if len({packs for packs, _ in found}) < len(found):
        raise Refused("sheet.cell", "Two price breaks start at the same count.")
    return tuple(sorted(found))


def parse(
    rows: Iterable[Row],
) -> tuple[list[TermsLine | OfferLine], list[tuple[int, str]]]:
    """Every row either as terms or an offer, or with its line number and a sentence."""
    good: list[TermsLine | OfferLine] = []
    bad: list[tuple[int, str]] = []
    seen: dict[tuple[object, ...], int] = {}
    for row in rows:
        try:
            line = parse_row(row)
        except Refused as error:
            bad.append((row.line, error.sentence))
            continue
        mark = line.mark if isinstance(line, OfferLine) else (line.supplier,)
        if mark in seen:
            bad.append((row.line, f"The same stands on line {seen[mark]} already."))
            continue
        seen[mark] = row.line
        good.append(line)
    return good, bad
