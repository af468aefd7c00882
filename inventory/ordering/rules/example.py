"""Filled examples of a stock list and a price list, for the builder to write over."""

from inventory.ordering.rules import offers
from inventory.ordering.rules.lists import COLUMNS
from inventory.sheets import csv_text

ROWS: tuple[dict[str, object], ...] = (
    {
        "bin": 1,
        "spot": "rack A, drawer 1",
        "callout": "MS20426AD3-3.5",
        "quantity": 1400,
        "keep_level": 200,
        "supplier": "Hangar supply",
        "lead_days": 6,
        "pack": 1400,
        "lot": "R-2291",
    },
    {"bin": 2, "spot": "rack A, drawer 2", "callout": "AN470AD4-5", "quantity": 510},
    {"bin": 3, "kind": "drill", "size": "#40", "form": "plain", "quantity": 12},
    {"bin": 4, "kind": "temporary fastener", "size": "3/32", "quantity": 350},
    {
        "bin": 5,
        "kind": "countersink cutter",
        "size": "3/32",
        "angle": "100",
        "pilot": "#41",
        "thread": "1/4-28",
        "quantity": 2,
    },
    {
        "bin": 6,
        "kind": "sealant",
        "name": "Tank sealant",
        "callout": "TANK-SEALANT",
        "unit": "ml",
        "quantity": 300,
        "lot": "77-4",
        "expires": "2027-05",
    },
)


def stock_example() -> str:
    """CSV text under the stock list's columns."""
    return csv_text(
        COLUMNS, [[row.get(column, "") for column in COLUMNS] for row in ROWS]
    )


OFFERS: tuple[dict[str, object], ...] = (
    {
        "supplier": "Hangar supply",
        "lead_days": 6,
        "shipping": "12.95",
        "hazard_fee": "28.00",
        "free_from": "150.00",
        "minimum": "10.00",
    },
    {
        "supplier": "Hangar supply",
        "callout": "MS20426AD3-3.5",
        "pack": "1/4 lb",
        "price": "11.40",
    },
    {
        "supplier": "Hangar supply",
        "callout": "AN470AD4-5",
        "pack": 250,
        "price": "9.80",
        "from_packs": 4,
        "price_from": "8.60",
    },
    {
        "supplier": "Hangar supply",
        "kind": "drill",
        "size": "#40",
        "form": "plain",
        "pack": 6,
        "price": "13.50",
        "most_packs": 10,
        "lead_days": 4,
    },
    {
        "supplier": "Hangar supply",
        "callout": "TANK-SEALANT",
        "kind": "sealant",
        "name": "Tank sealant",
        "unit": "ml",
        "pack": 100,
        "price": "31.00",
        "life_days": 180,
    },
)


def offers_example() -> str:
    """CSV text under the price list's columns."""
    return csv_text(
        offers.COLUMNS,
        [[row.get(column, "") for column in offers.COLUMNS] for row in OFFERS],
    )
