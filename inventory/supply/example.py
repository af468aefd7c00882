"""A filled example of a stock list, for the builder to write over."""

from inventory.sheets import csv_text
from inventory.supply.rules import COLUMNS

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
