"""A stack of sheets as people write it: '.032,.040' or '.032 + .040'."""

import re
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import gauges
from inventory.trade.questions.shape import Warned, both_units
from inventory.trade.sizes import is_one_or_two, parse_size

_THICKEST = Fraction(4)


def sheets_of(text: str) -> tuple[Fraction, ...]:
    """Thicknesses in inches, the outer sheet first.

    Raises Refused size.unknown, sheets.comma for what may be one sheet or two ('1,6 mm'),
    and sheets.impossible for no sheet or over 4 in.
    """
    if is_one_or_two(text):
        expected = "1.6 mm for one sheet, 1 mm + 6 mm for two"
        raise Refused(
            "sheets.comma",
            f"'{text}' may be one sheet or two: write it as {expected}.",
            {"text": text, "expected": expected},
        )
    parts = [part.strip() for part in re.split(r"[,+;]", text) if part.strip()]
    sheets = tuple(parse_size(part) for part in parts)
    if not sheets or max(sheets) > _THICKEST:
        expected = "sheets of up to 4 in each, the outer one first, such as .032,.040"
        raise Refused(
            "sheets.impossible",
            f"Expected {expected}; got '{text}'.",
            {"text": text, "expected": expected},
        )
    return sheets


def unusual(sheets: tuple[Fraction, ...]) -> tuple[Warned, ...]:
    """A word on each sheet that is none of the usual ones: often a slipped point."""
    said = []
    for sheet in dict.fromkeys(sheets):
        usual = gauges.nearest(sheet)
        if usual.thickness_in != sheet:
            said.append(
                Warned(
                    f"{both_units(sheet)} is no usual sheet; the nearest is "
                    f"{both_units(usual.thickness_in, 3)}.",
                    usual.source,
                    usual.certainty,
                )
            )
    return tuple(said)
