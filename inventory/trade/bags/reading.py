"""One scanned string as the marking of a bag, or as none."""

import re
from collections.abc import Sequence

from inventory.trade.bags.elements import elements
from inventory.trade.bags.envelopes import envelope
from inventory.trade.bags.identifiers import (
    DATA,
    data_field,
    meant_by_data,
    meant_by_text,
    text_field,
)
from inventory.trade.bags.shape import Field, Marking

# ISO/IEC 15424: ']', a letter for the symbology, a modifier.
_IDENTIFIER = re.compile(r"\][A-Za-z][0-9A-Za-z]")


def without_identifier(text: str) -> tuple[str, str]:
    """A symbology identifier before a text, or '', and the text."""
    found = _IDENTIFIER.match(text)
    return (found[0], text[3:]) if found else ("", text)


def marking_of(text: str) -> Marking | None:
    """What a bag's code says; None for what claims to be none.

    Control characters must be kept. Order: envelope, GS1, text element. Errors:
    `bag.format`, `bag.empty`, `bag.gs1`.
    """
    identifier, plain = without_identifier(text)
    found = envelope(plain) or elements(plain, identifier)
    if found is not None:
        return found
    element = text_field(plain.strip())
    if element is None:
        return None
    return Marking(
        kind="text element", fields=(element,), contents=meant_by_text([element])
    )


def split_field(text: str) -> Field | None:
    """A supplier's one-field code, 'Q50'; only for suppliers known to print such ones.

    Many a bare part number would split too, 'K1000-3' for one.
    """
    plain = without_identifier(text)[1].strip()
    # Some scanners send small letters only; no data identifier has one.
    found = data_field(plain.upper() if plain == plain.lower() else plain)
    return found if found and found[0] in DATA and found[1] else None


def marking_of_fields(fields: Sequence[Field]) -> Marking:
    """Several one-field codes of one bag, taken together."""
    return Marking(
        kind="fields", fields=tuple(fields), contents=meant_by_data(list(fields))
    )
