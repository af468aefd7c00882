"""What a pack is, and how many pieces one by weight surely holds."""

from decimal import Decimal

from inventory.errors import Refused
from inventory.trade import callouts, mass

# A counted sample of 100 on a 0.1 g scale is good to 1.2 % (computed).
SAMPLE_DOUBT = Decimal("0.012")


def pack_words(pieces: int | None, grams: Decimal | None) -> str:
    """What a pack is: '250', '113.4 g', or nothing where nobody said."""
    return f"{grams.normalize():f} g" if grams is not None else str(pieces or "")


def sure_pieces(
    grams: Decimal, *, callout: str, mg: Decimal | None, weighed: bool, unit: str
) -> int | None:
    """The fewest pieces a pack of so many grams holds; None where nobody can say.

    By a weighed piece mass and a counted sample's doubt; else by the callout's
    geometry, whose heavy end counts. What is counted in grams is its own weight.
    """
    if unit == "g":
        return int(grams)
    if unit != "pcs":
        return None
    if weighed and mg:
        return int(grams * 1000 / (mg * (1 + SAMPLE_DOUBT)))
    try:
        heavy = mass.piece_mass(callouts.parse(callout)).high_mg
    except Refused:
        return None
    return int(float(grams) * 1000 / heavy)
