"""An order plan as data for pages, programs and the terminal: one sheet for all."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from inventory.buying.rules import explaining
from inventory.buying.rules.market import Market
from inventory.buying.rules.orderplan import (
    NOTHING,
    Bill,
    PackOffer,
    SellerTerms,
    Solution,
    bills,
    cut_cost,
    total,
)
from inventory.buying.rules.proof import supplied


def sheet(market: Market, plan: Solution) -> dict[str, Any]:
    """The whole plan, JSON-ready; money as text, days as ISO dates."""
    found = bills(market.problem, plan.taken)
    return {
        "as_of": market.today.isoformat(),
        "currency": market.currency,
        "total": str(total(market.problem, plan)),
        "goods": str(sum((row.goods for row in found), NOTHING)),
        "shipping": str(sum((row.shipping for row in found), NOTHING)),
        "hazard_fees": str(sum((row.hazard for row in found), NOTHING)),
        "cutting": str(cut_cost(market.problem, plan.cuts)),
        "suppliers": [_parcel(market, plan, bill) for bill in found],
        "cuts": [
            {
                "longer": row.longer,
                "shorter": row.shorter,
                "pieces": row.pieces,
                "by": market.on(row.day).isoformat(),
            }
            for row in plan.cuts
        ],
        "late": explaining.late(market, plan),
        "advice": explaining.advice(market, plan),
        "left_out": list(market.left_out),
    }


def _parcel(market: Market, plan: Solution, bill: Bill) -> dict[str, Any]:
    supplier = next(s for s in market.problem.suppliers if s.key == bill.supplier)
    packs = {row.offer: row.packs for row in plan.taken}
    mine = [
        row
        for row in market.problem.offers
        if row.supplier == supplier.key and row.key in packs
    ]
    return {
        **_terms(market, supplier, bill, max(row.lead_days for row in mine)),
        "days_are_guess": any(row.key in market.guessed_days for row in mine),
        "lines": [_line(market, plan, row, packs[row.key]) for row in mine],
    }


def _terms(
    market: Market, supplier: SellerTerms, bill: Bill, days: int
) -> dict[str, Any]:
    return {
        "id": supplier.key,
        "name": supplier.name,
        "arrives": market.on(days).isoformat(),
        "goods": str(bill.goods),
        "shipping": str(bill.shipping),
        "hazard_fee": str(bill.hazard),
        "total": str(bill.total),
    }


def _line(
    market: Market, plan: Solution, offer: PackOffer, packs: int
) -> dict[str, Any]:
    thing, pack = market.things[offer.item], market.packs[offer.key]
    goods = offer.goods(packs)
    wanted = [row for row in market.asked if row.item == offer.item]
    have = supplied(market.problem, plan, offer.item, explaining.FOR_EVER)
    return {
        "offer": offer.key,
        "item": offer.item,
        "words": thing.words,
        "callout": thing.callout,
        "unit": thing.unit,
        "packs": packs,
        "pack": pack.words,
        "pack_pieces": pack.pieces,
        "pack_grams": None if pack.grams is None else str(pack.grams),
        "price": str(offer.tier(packs).price),
        "cost": str(goods),
        "pieces": packs * offer.pieces,
        "arrives": market.on(offer.lead_days).isoformat(),
        "for": list(dict.fromkeys(row.stage for row in wanted)),
        "left_over": have - max((row.pieces for row in wanted), default=0),
    }


def in_words(found: Mapping[str, Any], proof: str) -> list[str]:
    """The sheet as lines for a terminal."""
    money = f" {found['currency']}".rstrip()
    rows = [f"Order plan of {found['as_of']}: {found['total']}{money} in all. {proof}"]
    for parcel in found["suppliers"]:
        extra = "".join(
            f", {label} {parcel[key]}"
            for key, label in (("shipping", "shipping"), ("hazard_fee", "hazard fee"))
            if Decimal(parcel[key])
        )
        rows.append("")
        rows.append(
            f"{parcel['name']}, here by {parcel['arrives']}: {parcel['total']}{money} "
            f"(goods {parcel['goods']}{extra})"
        )
        rows += [
            f"  {line['packs']} x {line['pack']} of {line['callout'] or line['words']}: "
            f"{line['cost']}, for {', '.join(line['for']) or 'the threshold'}; "
            f"{line['left_over']} left over"
            for line in parcel["lines"]
        ]
    for key in ("advice", "late", "left_out"):
        rows += ["", *found[key]] if found[key] else []
    return rows
