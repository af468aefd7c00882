"""A filled example of a plan file, for the builder to write over."""

from inventory.planning.rules.lines import COLUMNS
from inventory.sheets import csv_text

ROWS: tuple[tuple[object, ...], ...] = (
    ("Fin", "2027-03-01", "Spar", 1, "MS20470AD4-5", 96, "#30", 96, "full", 2, 10),
    ("Fin", "2027-03-01", "Skin", 2, "MS20426AD3-3.5", 140, "#40", 140, "open", 2, 21),
    ("Fin", "2027-03-01", "Skin", 2, "MS20426AD3-4", 36, "", "", "", "", ""),
    ("Rudder", "", "Skeleton", 1, "AN470AD3-4", 118, "#40", 118, "open", 3, 14),
    ("Rudder", "", "Hinge brackets", 1, "AN3-5A", 6, "", "", "", "", ""),
)
# A seam instead of counts: its rivet, holes and temporary fasteners are reckoned.
SEAM = {
    "stage": "Rudder",
    "assembly": "Trailing edge",
    "how_many": 1,
    "fasten_every": 2,
    "days_held": 7,
    "seam_length": "2x48",
    "pitch": "1",
    "sheets": ".020+.025",
    "diameter": "3/32",
    "head": "flush",
}


def plan_example() -> str:
    """CSV text under the plan's columns; 'start' left empty goes by the pace."""
    seam = tuple(SEAM.get(column, "") for column in COLUMNS)
    width = len(COLUMNS)
    rows = [(*row, *("",) * (width - len(row))) for row in ROWS]
    return csv_text(COLUMNS, [*rows, seam])
