"""GS1 element strings, by the library that knows every application identifier.

A bare string of digits is never tried: one in six random ones would pass.
"""

import re

from biip import BiipException
from biip.checksums import gs1_standard_check_digit
from biip.gs1_digital_link_uris import GS1DigitalLinkURI
from biip.gs1_element_strings import GS1ElementString
from biip.gs1_messages import GS1Message
from biip.gtin import Gtin

from inventory.errors import Refused
from inventory.trade.bags.shape import (
    GS,
    Contents,
    Field,
    Marking,
    first_of,
    whole_number,
)
from inventory.trade.bags.shape import six_digit_day as day_of

GS1_CARRIERS = frozenset({"]C1", "]e0", "]d2", "]Q3", "]J1"})
RETAIL_CARRIERS = frozenset({"]E0", "]E4"})
# A trade item's number first, with its check digit, as on every bag that has one.
_BEGINS = re.compile(r"01[0-9]{14}")
_IN_BRACKETS = re.compile(r"(\([0-9]{2,4}\)[^()]+)+")


def elements(text: str, identifier: str) -> Marking | None:
    """The marking of a GS1 code; None for what does not claim to be one.

    Errors: `bag.gs1` for a code that claims it and breaks its rules.
    """
    if identifier in RETAIL_CARRIERS:
        return _retail(text, identifier)
    if identifier in GS1_CARRIERS:
        return _marking(_parsed(text), identifier)
    if _IN_BRACKETS.fullmatch(text):
        return _marking(_parsed(text, in_brackets=True), "")
    if _BEGINS.match(text) and gs1_standard_check_digit(text[2:15]) == int(text[15]):
        return _marking(_parsed(text), "")
    if text.lower().startswith(("http://", "https://")):
        return _linked(text)
    return None


def _linked(text: str) -> Marking | None:
    """A GS1 Digital Link: an address whose path is element strings."""
    try:
        message = GS1DigitalLinkURI.parse(text).as_gs1_message()
    except BiipException:
        return None
    return _marking(message, "")


def _parsed(text: str, *, in_brackets: bool = False) -> GS1Message:
    try:
        if in_brackets:
            message = GS1Message.parse_hri(text)
        else:
            message = GS1Message.parse(text.lstrip(GS))
    except BiipException as error:
        raise _broken(str(error)) from error
    if not message.element_strings:
        raise _broken("It is empty.")
    for each in message.element_strings:
        if not _checked(each):
            raise _broken(f"The check digit of ({each.ai.ai}) {each.value} is wrong.")
    return message


def _checked(each: GS1ElementString) -> bool:
    """Whether a trade item's or a parcel's number ends in its check digit."""
    if each.ai.ai in ("01", "02"):
        return each.gtin is not None
    return each.ai.ai != "00" or each.sscc is not None


def _broken(why: str) -> Refused:
    return Refused(
        "bag.gs1",
        "This GS1 code breaks its own rules, so nothing was taken from it: scan it "
        "again, or key what the bag says.",
        {"why": why[:200]},
    )


def _retail(text: str, identifier: str) -> Marking:
    """EAN-13, EAN-8 and UPC: one number with its check digit."""
    try:
        number = Gtin.parse(text).as_gtin_14()
    except BiipException as error:
        raise _broken(str(error)) from error
    contents = Contents(parts=(number, text))
    return Marking(
        kind="gs1",
        fields=(("01", number),),
        identifier=identifier,
        contents=contents,
    )


def _marking(message: GS1Message, identifier: str) -> Marking:
    fields = tuple((each.ai.ai, each.value) for each in message.element_strings)
    return Marking(
        kind="gs1",
        fields=fields,
        identifier=identifier,
        contents=_contents(fields),
    )


def _contents(fields: tuple[Field, ...]) -> Contents:
    parts = [first_of(fields, name) for name in ("240", "241", "01", "02")]
    return Contents(
        parts=tuple(part for part in parts if part),
        quantity=whole_number(first_of(fields, "30", "37")),
        grams=_grams(fields),
        lot=first_of(fields, "10"),
        serial=first_of(fields, "21"),
        order=first_of(fields, "400"),
        expires=day_of(first_of(fields, "17")),
    )


def _grams(fields: tuple[Field, ...]) -> float | None:
    """The net mass of 310n: six digits of kilograms, n of them decimals."""
    for name, value in fields:
        if re.fullmatch(r"310[0-5]", name):
            return int(value) * 1000 / float(10 ** int(name[3]))
    return None
