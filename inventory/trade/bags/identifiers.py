"""Data identifiers (ANSI MH10.8.2) and text element identifiers (ATA Spec 2000 ch. 9).

Only those that matter on a bag of hardware have words here; any other is kept by its
name. Words are our own; the identifiers of the first table are restated from a public
table of MH10.8.2 as of 2020 to 2025, those marked below are from memory.
"""

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from inventory.trade.bags.shape import (
    Contents,
    Field,
    eight_digit_day,
    first_of,
    six_digit_day,
    whole_number,
)

DATA: Mapping[str, str] = MappingProxyType(
    {
        "P": "part number, the customer's",
        "1P": "part number, the supplier's",
        "2P": "revision",
        "Q": "quantity",
        "7Q": "quantity with its unit",
        "K": "order, the customer's",
        "1K": "order, the supplier's",
        "4K": "order line",
        "14K": "order and line",
        "10K": "invoice",
        "11K": "packing list",
        "3S": "package",
        "T": "lot, the customer's",
        "1T": "lot, the supplier's",
        "S": "serial",
        "1S": "serial, the supplier's",
        "D": "day, YYMMDD",
        "9D": "date, as agreed",
        "10D": "year and week",
        "6D": "day with its qualifier",
        "14D": "expires, YYYYMMDD",
        "16D": "made, YYYYMMDD",
        "4L": "country of origin",
        "L": "storage location",
        "1L": "location",
        "V": "supplier",
        "1V": "supplier, by its own number",
        "12V": "supplier, by DUNS number",
        "17V": "supplier, by CAGE code",
        "B": "container type",
        "Z": "as agreed",
    }
)
# No data identifier ends in one of these letters (the same table).
NO_LETTERS = frozenset("AGOXY")

TEXT: Mapping[str, str] = MappingProxyType(
    {
        # Published: a table of spec 2000 text elements with examples.
        "MFR": "maker, by CAGE code",
        "SER": "serial within the maker",
        "SPL": "supplier, by CAGE code",
        "UCN": "serial within the supplier",
        "PNR": "part number, the present one",
        "PNO": "part number, the original one",
        # From memory, unverified.
        "SEQ": "sequence",
        "USN": "serial, any owner",
        "CAG": "CAGE code",
        "DUN": "DUNS number",
        "EUC": "GS1 company",
        "LOT": "lot",
        "LTN": "lot",
        "BII": "batch",
        "UID": "unique item",
        "DMF": "made on",
        "EXP": "expires on",
        "QTY": "quantity",
    }
)

_DATA = re.compile(r"([0-9]{0,3}[A-Z])(.*)", re.DOTALL)
_TEXT = re.compile(r"([A-Z]{3}) (\S.*)")
_UNIT = re.compile(r"([0-9.]+)([A-Z0-9]{2})")


def data_field(text: str) -> Field | None:
    """'Q50' as ('Q', '50'); None for what begins with no data identifier."""
    found = _DATA.fullmatch(text)
    if found is None or found[1][-1] in NO_LETTERS:
        return None
    return found[1], found[2]


def text_field(text: str) -> Field | None:
    """'PNR 4202435-01' as its two parts; None where the three letters are unknown."""
    found = _TEXT.fullmatch(text)
    return (found[1], found[2]) if found and found[1] in TEXT else None


def meant_by_data(fields: Sequence[Field]) -> Contents:
    """What data identifiers say of a bag."""
    with_unit = _UNIT.fullmatch(first_of(fields, "7Q"))
    quantity = first_of(fields, "Q") or (with_unit[1] if with_unit else "")
    return Contents(
        parts=_parts(fields, "1P", "P"),
        quantity=whole_number(quantity),
        unit=with_unit[2] if with_unit and not first_of(fields, "Q") else "",
        lot=first_of(fields, "1T", "T"),
        serial=first_of(fields, "S", "1S"),
        order=first_of(fields, "K", "1K"),
        expires=eight_digit_day(first_of(fields, "14D")),
        supplier=first_of(fields, "17V", "12V", "1V", "V"),
    )


def meant_by_text(fields: Sequence[Field]) -> Contents:
    """What text elements say of a bag."""
    day = first_of(fields, "EXP")
    return Contents(
        parts=_parts(fields, "PNR", "PNO"),
        quantity=whole_number(first_of(fields, "QTY")),
        lot=first_of(fields, "LOT", "LTN", "BII"),
        serial=first_of(fields, "SER", "UCN", "USN"),
        expires=eight_digit_day(day) or six_digit_day(day),
        supplier=first_of(fields, "SPL", "MFR", "CAG"),
    )


def _parts(fields: Sequence[Field], *names: str) -> tuple[str, ...]:
    found = [value for name in names for each, value in fields if each == name]
    return tuple(dict.fromkeys(value.strip() for value in found if value.strip()))
