"""What the tests ask: for each question things it answers, every field in one."""

from inventory.trade.questions.index import QUESTIONS, named

NAMES = [question.name for question in QUESTIONS]

_SEAM = {
    "length": "10,2x12 1/2",
    "sheets": ".032,.040",
    "diameter": "1/8",
    "head": "flush",
    "alloy": "AD",
    "rows": "2",
    "edge_distance": "1/4",
    "row_distance": "3/8",
    "hold_every": "2",
}
ASKED = {
    "callout": ({"text": "MS20470AD4-3.5"}, {"text": "AN3-4A"}, {"text": "AN742-8"}),
    "rivet": (
        {"grip": ".064", "diameter": "1/8", "head": "universal", "alloy": "AD"},
        {
            "sheets": ".032,.040",
            "diameter": "3/32",
            "head": "flush",
            "alloy": "E",
            "length": "3.5",
            "hole": "#40",
        },
    ),
    "drill": ({"size": "#40"}, {"size": ".1"}, {"size": "2.5 mm"}),
    "countersink": (
        {"diameter": "3/32", "sheets": ".032,.040", "source": "manual"},
        {"diameter": "1/8", "sheets": ".025,.025,.063", "source": "practice"},
    ),
    "seam": (
        {**_SEAM, "pitch": "1", "pilot": "#40", "stagger": "yes", "punched": "yes"},
        {**_SEAM, "number": "60", "callout": "MS20426AD4-4"},
        {**_SEAM, "splice": "4-10", "share": "lap"},
    ),
    "weight": (
        {
            "text": "MS20470AD4-4",
            "pounds": "1/4",
            "sample_pieces": "100",
            "sample_grams": "22.7",
            "division": "0.1",
        },
        {"text": "AN426AD3-3.5", "pounds": "1"},
    ),
    "driving": ({"diameter": "1/8", "head": "universal", "alloy": "DD"},),
    "sealant": (
        {"kind": "polysulfide", "class": "B-2", "temperature": "60 F"},
        {
            "kind": "polysulfide",
            "printed": "06/2027",
            "made": "2026-06-30",
            "opened": "2026-12-01",
            "warm": "yes",
            "passed": "1",
            "failed": "no",
            "on": "2027-01-15",
        },
    ),
}


def ask(name, given):
    """The answer to a question by its name."""
    return named(name).answer(given)
