"""How many rivets a splice takes: the rivets per inch of AC 43.13-1B, by its tables."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.holes import hole_for_rivet
from inventory.trade.sizes import print_decimal, print_size

COUNT_SOURCE = "AC 43.13-1B tables 4-9 to 4-11 and para 4-58g"
TABLES = ("4-9", "4-10", "4-11")
# The tables are printed to a tenth, and their examples are reckoned from the print.
_PRINTED = 10
_QUARTER_PI = Fraction("3.141592653589793") / 4


@dataclass(frozen=True, slots=True)
class Splice:
    """How many rivets a width takes on each side of the joint."""

    per_inch: Fraction
    full: int
    count: int
    share: Fraction
    source: str
    certainty: str


@dataclass(frozen=True, slots=True)
class PerInch:
    """Rivets for each inch of width, and how that is known."""

    rivets: Fraction
    source: str
    certainty: str


def rivets_per_inch(table: str, sheet: Fraction, diameter: Fraction) -> PerInch:
    """Rivets for each inch of width: the printed cell; between two gauges the formula.

    Inches. What the table leaves empty, or does not reach, is refused: there the circular
    gives no count. Of table 4-9 no cells are at hand: the formula behind its figures.
    Raises Refused splice.table, splice.cell and hole.unknown.
    """
    _table(table)
    cells = {
        Fraction(row["sheet_in"]): row
        for row in tables.rows("splice_cells")
        if row["table"] == table and row["diameter"] == print_size(diameter)
    }
    if sheet in cells:
        cell = cells[sheet]
        return PerInch(Fraction(cell["per_inch"]), cell["source"], cell["certainty"])
    by_formula = PerInch(
        formula_per_inch(table, sheet, diameter), f"{COUNT_SOURCE}, formula", "computed"
    )
    gauges = {
        Fraction(row["sheet_in"])
        for row in tables.rows("splice_cells")
        if row["table"] == table
    }
    if not gauges:
        return by_formula
    below = max((each for each in gauges if each < sheet), default=None)
    above = min((each for each in gauges if each > sheet), default=None)
    if sheet in gauges or below not in cells or above not in cells:
        spans = (
            f"{print_decimal(min(cells))} to {print_decimal(max(cells))}"
            if cells
            else "none"
        )
        raise Refused(
            "splice.cell",
            f"Expected a sheet for which table {table} prints a count of "
            f"{print_size(diameter)} rivets ({spans} in); got {print_decimal(sheet)}.",
            {"text": print_decimal(sheet), "expected": spans},
        )
    least, most = (Fraction(cells[each]["per_inch"]) for each in (below, above))
    return replace(by_formula, rivets=min(max(by_formula.rivets, least), most))


def formula_per_inch(table: str, sheet: Fraction, diameter: Fraction) -> Fraction:
    """The greater of what the rivet's shear and its bearing in the sheet ask, to a tenth.

    On the design handbook's hole, in inches. Computed: the formula behind the tables.
    """
    row = _table(table)
    hole = hole_for_rivet(diameter, source="design").diameter_in
    shear = sheet / (Fraction(row["shear_p"]) * _QUARTER_PI * hole**2)
    return _printed(max(_bearing(row, hole), shear))


def bolts_per_inch(table: str, diameter: Fraction) -> Fraction:
    """Steel bolts for each inch of width: a bolt is limited by the sheet's bearing.

    By the formula; the hole of a bolt is that of the rivet of its size.
    """
    hole = hole_for_rivet(diameter, source="design").diameter_in
    return _printed(_bearing(_table(table), hole))


def _table(table: str) -> Mapping[str, str]:
    row = tables.index("splice_tables", "key").get((table,))
    if row is None:
        expected = ", ".join(TABLES)
        raise Refused(
            "splice.table",
            f"Expected a table of AC 43.13-1B, {expected}; got '{table}'.",
            {"text": table, "expected": expected},
        )
    return row


def _bearing(row: Mapping[str, str], hole: Fraction) -> Fraction:
    return 1 / (Fraction(row["bearing_k"]) * hole)


def _printed(per_inch: Fraction) -> Fraction:
    return Fraction((per_inch * _PRINTED + Fraction(1, 2)) // 1, _PRINTED)


def splice(
    width: Fraction, sheet: Fraction, diameter: Fraction, table: str, kind: str = "lap"
) -> Splice:
    """Rivets on one side of a splice of so many inches of width.

    `kind` is the table's share: 'full', 'lap' (75 %), 'stringer' (80 %) or 'frame'
    (60 %). Not airworthiness advice. Raises Refused splice.kind, splice.table,
    splice.cell and hole.unknown.
    """
    row = tables.index("splice_shares", "key").get((kind,))
    if row is None or width <= 0 or sheet <= 0:
        expected = "a width and a sheet above nought, and one of " + ", ".join(
            each["key"] for each in tables.rows("splice_shares")
        )
        raise Refused(
            "splice.kind",
            f"Expected {expected}; got {print_size(max(width, Fraction(0)))} in, "
            f"'{kind}'.",
            {"text": kind, "expected": expected},
        )
    found, share = rivets_per_inch(table, sheet, diameter), Fraction(row["share"])
    full = _up(width * found.rivets)
    return Splice(
        per_inch=found.rivets,
        full=full,
        count=_up(full * share),
        share=share,
        source=f"{found.source}; share {row['source']}",
        certainty=found.certainty,
    )


def _up(number: Fraction) -> int:
    return int(-(-number // 1))
