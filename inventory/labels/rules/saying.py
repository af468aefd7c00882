"""What a label says beside an item's own words, so that look-alikes are told apart."""

from inventory.errors import Refused
from inventory.trade import holders
from inventory.trade.reading import Reading

# How the colours of each source are known.
_KNOWN = {"course": "published", "practice": "common practice"}
LONGEST_DASH = 5


def amount(quantity: int, unit: str) -> str:
    """'12', or '40 ml'; pieces go without a word."""
    return str(quantity) if unit == "pcs" else f"{quantity} {unit}"


def look_alike_mark(reading: Reading) -> tuple[str, ...]:
    """A rivet's alloy letters and its dash, half lengths and all: ('AD', '-3.5').

    Of any other part the dash alone; nothing where the callout has none.
    """
    _before, hyphen, tail = reading.callout.rpartition("-")
    dash = (f"-{tail}",) if hyphen and len(tail) <= LONGEST_DASH else ()
    rivet = reading.kind == "solid_rivet" and reading.alloy
    return (reading.alloy, *dash) if rivet and dash else dash


def trade_colour(size: str) -> tuple[str, str]:
    """The colour that the trade knows a temporary fastener by, and how it is known.

    ('black', 'published; 1/16 is black too'); both empty for a size without one.
    """
    for source in holders.COLOUR_SOURCES:
        try:
            found = holders.colour(size, source)
        except Refused:
            continue
        others = holders.same_colour(size) if source == "course" else ()
        also = f"; {', '.join(others)} is {found} too" if others else ""
        return found, f"{_KNOWN[source]}{also}"
    return "", ""


def colour_words(size: str) -> str:
    """'copper: published', or nothing."""
    colour, known = trade_colour(size)
    return f"{colour}: {known}" if colour else ""
