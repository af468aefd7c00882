"""A filled example of a plan file, for the builder to write over."""

from inventory.planning.rules.lines import COLUMNS
from inventory.sheets import csv_text

ROWS = (
    ("Fin", "2027-03-01", "Spar", 1, "MS20470AD4-5", 96, "#30", 96, "full", 2, 10),
    ("Fin", "2027-03-01", "Skin", 2, "MS20426AD3-3.5", 140, "#40", 140, "open", 2, 21),
    ("Fin", "2027-03-01", "Skin", 2, "MS20426AD3-4", 36, "", "", "", "", ""),
    ("Rudder", "", "Skeleton", 1, "AN470AD3-4", 118, "#40", 118, "open", 3, 14),
    ("Rudder", "", "Hinge brackets", 1, "AN3-5A", 6, "", "", "", "", ""),
)


def plan_example() -> str:
    """CSV text under the plan's columns; 'start' left empty goes by the pace."""
    return csv_text(COLUMNS, ROWS)
