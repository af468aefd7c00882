"""The order plan's problem and answer as JSON, to the solving process and back."""

from collections.abc import Mapping
from decimal import ROUND_FLOOR, Decimal
from typing import Any

from inventory.buying.rules.orderplan import (
    FEW,
    NOTHING,
    Cut,
    CutDown,
    Missed,
    PackOffer,
    Problem,
    SellerTerms,
    Solution,
    Taken,
    Tier,
    Want,
)

CENT = Decimal("0.01")


def problem_data(problem: Problem) -> dict[str, Any]:
    """JSON-ready; money as text, so that no digit is lost."""
    return {
        "suppliers": [_supplier(row) for row in problem.suppliers],
        "offers": [_offer(row) for row in problem.offers],
        "wants": [[row.item, row.day, row.pieces] for row in problem.wants],
        "cuts": [[row.longer, row.shorter, str(row.cost)] for row in problem.cuts],
        "spare": list(problem.spare.items()),
    }


def _supplier(row: SellerTerms) -> list[Any]:
    free = None if row.free_from is None else str(row.free_from)
    money = [str(row.shipping), str(row.hazard_fee), free, str(row.minimum)]
    return [row.key, row.name, *money]


def _offer(row: PackOffer) -> dict[str, Any]:
    tiers = [[t.least, str(t.price), t.most, str(t.fee)] for t in row.tiers]
    names = ("key", "item", "supplier", "pieces", "lead_days", "most", "life_days")
    plain = {name: getattr(row, name) for name in names}
    return {**plain, "hazardous": row.hazardous, "tiers": tiers}


def problem_of(data: Mapping[str, Any]) -> Problem:
    """What `problem_data` wrote."""
    return Problem(
        suppliers=[
            SellerTerms(
                key,
                name,
                Decimal(ship),
                Decimal(hazard),
                None if free is None else Decimal(free),
                Decimal(least),
            )
            for key, name, ship, hazard, free, least in data["suppliers"]
        ],
        offers=[_offer_of(row) for row in data["offers"]],
        wants=[Want(*row) for row in data["wants"]],
        cuts=[Cut(longer, shorter, Decimal(c)) for longer, shorter, c in data["cuts"]],
        spare=dict(data["spare"]),
    )


def _offer_of(row: Mapping[str, Any]) -> PackOffer:
    tiers = tuple(
        Tier(least, Decimal(price), most, Decimal(fee))
        for least, price, most, fee in row["tiers"]
    )
    return PackOffer(**{**row, "tiers": tiers})


def plan_of(answer: Mapping[str, Any]) -> Solution:
    """The solving process's answer as a plan; its bound rounded down to a cent."""
    bound = Decimal(repr(round(answer["bound"], 6))).quantize(CENT, ROUND_FLOOR)
    return Solution(
        taken=[Taken(*row) for row in answer["packs"]],
        cuts=[CutDown(*row) for row in answer["cuts"]],
        missed=[Missed(item, day, pieces, FEW) for item, day, pieces in answer["few"]],
        bound=max(NOTHING, bound),
        proven=bool(answer["proven"]),
    )
