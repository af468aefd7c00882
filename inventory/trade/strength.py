"""How many rivets a splice takes: the rivets per inch of AC 43.13-1B, by its rule."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.holes import hole_for_rivet
from inventory.trade.sizes import print_size

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


def rivets_per_inch(table: str, sheet: Fraction, diameter: Fraction) -> Fraction:
    """Rivets for each inch of width, as the table prints them: to a tenth.

    The greater of what the rivet's shear and its bearing in the sheet ask; all in
    inches, on the design handbook's hole. Computed: the formula behind the tables.
    Raises Refused splice.table and hole.unknown.
    """
    row = _table(table)
    hole = hole_for_rivet(diameter, source="design").diameter_in
    shear = sheet / (Fraction(row["shear_p"]) * _QUARTER_PI * hole**2)
    return _printed(max(_bearing(row, hole), shear))


def bolts_per_inch(table: str, diameter: Fraction) -> Fraction:
    """Steel bolts for each inch of width: a bolt is limited by the sheet's bearing.

    As `rivets_per_inch`; the hole of a bolt is that of the rivet of its size.
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
    splice.width and hole.unknown.
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
    per_inch, share = rivets_per_inch(table, sheet, diameter), Fraction(row["share"])
    full = _up(width * per_inch)
    return Splice(
        per_inch=per_inch,
        full=full,
        count=_up(full * share),
        share=share,
        source=row["source"],
        certainty="computed",
    )


def _up(number: Fraction) -> int:
    return int(-(-number // 1))
