"""One table of what a bench says: the server and the device's twin must both pass it.

A step is (code, milliseconds since the step before); its answer (kind, tone, loud).
'sheet', 'bin 12' and 'card pull' stand for the codes of those labels.
"""

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.rules import Description
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.verbs import count
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.people.models import User
from inventory.planning.actions import importing
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly
from inventory.scanning.rules.saying import ACTIONS
from inventory.trade import codes
from tests.again import made_once

PLAN = """stage,assembly,callout,each,hole_size,holes
Fin,Skin,AN426AD3-3.5,30,#40,60
Fin,Skin,AN426AD3-5,12,,
Fin,Rib,AN470AD4-4,9,,
"""
CARDS = {name: number for number, name in ACTIONS.items()}
T, S, N = "taken", "stop", "neutral"

STORIES = {
    "two moves": (
        [("sheet", 0), ("bin 12", 1000), ("bin 12", 1000)],
        [("assembly", T, False), ("opened", T, False), ("committed", T, False)],
    ),
    "a double trigger is ignored": (
        [("sheet", 0), ("bin 12", 1000), ("bin 12", 799), ("bin 12", 1)],
        [
            ("assembly", T, False),
            ("opened", T, False),
            ("ignored", N, False),
            ("committed", T, False),
        ],
    ),
    "another bin commits the one before": (
        [("sheet", 0), ("bin 12", 900), ("bin 16", 900), ("card enter", 900)],
        [
            ("assembly", T, False),
            ("opened", T, False),
            ("opened", T, False),
            ("committed", T, False),
        ],
    ),
    "another tin of the same holds the rest": (
        [
            ("sheet", 0),
            ("bin 16", 900),
            ("5", 900),
            ("bin 17", 900),
            ("bin 17", 900),
            ("card cancel", 900),
            ("bin 16", 900),
            ("5", 900),
            ("bin 17", 900),
        ],
        [
            ("assembly", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("opened", T, False),
            ("committed", T, False),
            ("cancelled", N, False),
            ("all_pulled", S, True),
            ("quantity", T, False),
            ("all_pulled", S, True),
        ],
    ),
    "another tin of the same, with no assembly": (
        [("bin 16", 0), ("5", 900), ("bin 17", 900), ("card enter", 900)],
        [
            ("opened", T, False),
            ("quantity", T, False),
            ("opened", T, False),
            ("refused", S, True),
        ],
    ),
    "the wrong tin moves nothing without a reason": (
        [("sheet", 0), ("bin 13", 900), ("5", 900), ("bin 13", 900), ("bin 12", 900)],
        [
            ("assembly", T, False),
            ("not_asked_for", S, True),
            ("quantity", T, False),
            ("refused", S, True),
            ("opened", T, False),
        ],
    ),
    "a spare, with its reason": (
        [
            ("sheet", 0),
            ("bin 13", 900),
            ("card spare", 900),
            ("5", 900),
            ("card enter", 900),
        ],
        [
            ("assembly", T, False),
            ("not_asked_for", S, True),
            ("reason", T, False),
            ("quantity", T, False),
            ("committed", T, False),
        ],
    ),
    "half a length up stands in": (
        [
            ("sheet", 0),
            ("bin 14", 900),
            ("card instead", 900),
            ("4", 900),
            ("bin 14", 900),
            ("bin 12", 900),
        ],
        [
            ("assembly", T, False),
            ("not_asked_for", S, True),
            ("reason", T, False),
            ("quantity", T, False),
            ("committed", T, False),
            ("opened", T, False),
        ],
    ),
    "nothing looks like it": (
        [("sheet", 0), ("bin 20", 900), ("card instead", 900)],
        [
            ("assembly", T, False),
            ("not_asked_for", S, True),
            ("refused", S, True),
        ],
    ),
    "digit cards append, a card of ten sets": (
        [
            ("bin 12", 0),
            ("quantity 1", 900),
            ("quantity 2", 900),
            ("quantity 25", 900),
            ("quantity 0", 900),
            ("quantity 5", 900),
            ("card cancel", 900),
            ("card enter", 900),
        ],
        [
            ("opened", T, False),
            ("quantity", T, False),
            ("quantity", T, False),
            ("quantity", T, False),
            ("quantity", T, False),
            ("quantity", T, False),
            ("cancelled", N, False),
            ("refused", S, True),
        ],
    ),
    "count, return and scrap": (
        [
            ("sheet", 0),
            ("bin 12", 900),
            ("bin 12", 900),
            ("card count", 900),
            ("bin 12", 900),
            ("7", 900),
            ("card enter", 900),
            ("card return", 900),
            ("bin 12", 900),
            ("3", 900),
            ("card scrap", 900),
            ("2", 900),
            ("card enter", 900),
            ("bin 12", 900),
        ],
        [
            ("assembly", T, False),
            ("opened", T, False),
            ("committed", T, False),
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("committed", T, False),
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("verb", T, False),
            ("quantity", T, False),
            ("committed", T, False),
            ("opened", T, False),
        ],
    ),
    "all of it is pulled already": (
        [
            ("sheet", 0),
            ("bin 12", 900),
            ("bin 12", 900),
            ("bin 12", 900),
            ("quantity 10", 900),
            ("bin 12", 900),
        ],
        [
            ("assembly", T, False),
            ("opened", T, False),
            ("committed", T, False),
            ("all_pulled", S, True),
            ("quantity", T, False),
            ("committed", T, False),
        ],
    ),
    "codes that are none": (
        [
            ("XB00120", 0),
            ("XB001298", 900),
            ("XB004209XB004209", 900),
            ("MS20470AD4-4", 900),
            ("bin 999", 900),
            ("XC009900", 900),
            ("assembly 9999", 900),
            ("action 99", 900),
            ("person 9999", 900),
            ("bit 9999", 900),
            ("order 7", 900),
            ("sheet of a closed one", 900),
            ("-5", 900),
            (" ", 900),
        ],
        [("refused", S, True)] * 14,
    ),
    "badges, tools and leaving": (
        [
            ("badge", 0),
            ("sheet", 900),
            ("bin 30", 900),
            ("card enter", 900),
            ("bin 31", 900),
            ("card cancel", 900),
            ("bit 1", 900),
            ("card dull", 900),
            ("card leave", 900),
            ("bin 12", 900),
            ("badge", 900),
        ],
        [
            ("person", T, False),
            ("assembly", T, False),
            ("opened", T, False),
            ("committed", T, False),
            ("opened", T, False),
            ("cancelled", N, False),
            ("bit", T, False),
            ("bit_event", T, False),
            ("left", N, False),
            ("opened", T, False),
            ("refused", S, True),
        ],
    ),
    "undo, and the undo undone": (
        [
            ("bin 12", 0),
            ("7", 900),
            ("bin 12", 900),
            ("card undo", 900),
            ("card redo", 900),
            ("bin 12", 900),
        ],
        [
            ("opened", T, False),
            ("quantity", T, False),
            ("committed", T, False),
            ("undone", T, False),
            ("undone", T, False),
            ("opened", T, False),
        ],
    ),
    "quantities that are none": (
        [
            ("bin 12", 0),
            ("-5", 900),
            ("0", 900),
            ("1000001", 900),
            ("1000000", 900),
            ("quantity 1", 900),
            ("card cancel", 900),
        ],
        [
            ("opened", T, False),
            *[("refused", S, True)] * 3,
            ("quantity", T, False),
            ("quantity", T, False),
            ("cancelled", N, False),
        ],
    ),
    "a slip of the finger is asked about once": (
        [
            ("card receive", 0),
            ("bin 12", 900),
            ("500", 900),
            ("card enter", 900),
            ("bin 13", 900),
            ("card count", 900),
            ("99999", 900),
            ("bin 12", 900),
            ("98", 900),
            ("card enter", 900),
            ("bin 16", 900),
            ("5000", 900),
            ("sheet", 900),
            ("card cancel", 900),
            ("sheet", 900),
        ],
        [
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("unlikely", S, True),
            ("opened", T, False),
            ("verb", T, False),
            ("quantity", T, False),
            ("unlikely", S, True),
            ("quantity", T, False),
            ("committed", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("unlikely", S, True),
            ("cancelled", N, False),
            ("assembly", T, False),
        ],
    ),
    "one order waits, and takes what comes": (
        [("card receive", 0), ("bin 15", 900), ("40", 900), ("card enter", 900)],
        [
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("committed", T, False),
        ],
    ),
    "two orders wait: which one is asked once": (
        [
            ("bin 20", 0),
            ("card receive", 900),
            ("5", 900),
            ("card enter", 900),
            ("order 2", 900),
            ("card enter", 900),
            ("card receive", 900),
            ("bin 20", 900),
            ("20", 900),
            ("bin 15", 900),
            ("card cancel", 900),
            ("card receive", 900),
            ("bin 20", 900),
            ("10", 900),
            ("card enter", 900),
            ("no order", 900),
            ("card enter", 900),
        ],
        [
            ("opened", T, False),
            ("verb", T, False),
            ("quantity", T, False),
            ("which_order", S, True),
            ("for_order", T, False),
            ("committed", T, False),
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("which_order", S, True),
            ("cancelled", N, False),
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("which_order", S, True),
            ("for_order", T, False),
            ("committed", T, False),
        ],
    ),
    "confirmed once more, the oldest takes it": (
        [
            ("card receive", 0),
            ("bin 20", 900),
            ("20", 900),
            ("bin 15", 900),
            ("bin 15", 900),
            ("card receive", 900),
            ("40", 900),
            ("card enter", 900),
            ("card receive", 900),
            ("bin 20", 900),
            ("20", 900),
            ("card enter", 900),
        ],
        [
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("which_order", S, True),
            ("opened", T, False),
            ("verb", T, False),
            ("quantity", T, False),
            ("committed", T, False),
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("committed", T, False),
        ],
    ),
    "what came fills two tins of the same": (
        [
            ("order 1", 0),
            ("bin 20", 900),
            ("12", 900),
            ("bin 21", 900),
            ("8", 900),
            ("bin 20", 900),
            ("card cancel", 900),
            ("card cancel", 900),
            ("card receive", 900),
            ("bin 20", 900),
            ("20", 900),
            ("bin 21", 900),
            ("card cancel", 900),
        ],
        [
            ("order", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("not_on_order", S, True),
            ("cancelled", N, False),
            ("cancelled", N, False),
            ("verb", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("opened", T, False),
            ("cancelled", N, False),
        ],
    ),
    "an order's goods, bin after bin": (
        [
            ("order 7", 0),
            ("order 1", 900),
            ("bin 15", 900),
            ("40", 900),
            ("bin 13", 900),
            ("9", 900),
            ("card enter", 900),
            ("card enter", 900),
            ("bin 20", 900),
            ("card cancel", 900),
            ("bin 20", 900),
            ("20", 900),
            ("sheet", 900),
            ("no order", 900),
            ("bin 12", 900),
            ("order 1", 900),
            ("card cancel", 900),
        ],
        [
            ("refused", S, True),
            ("order", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("not_on_order", S, True),
            ("quantity", T, False),
            ("not_on_order", S, True),
            ("committed", T, False),
            ("opened", T, False),
            ("cancelled", N, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("assembly", T, False),
            ("refused", S, True),
            ("opened", T, False),
            ("refused", S, True),
            ("cancelled", N, False),
        ],
    ),
    "a look in two moves, and about so many": (
        [
            ("card few", 0),
            ("bin 12", 900),
            ("card plenty", 900),
            ("bin 20", 900),
            ("card few", 900),
            ("bin 20", 900),
            ("card plenty", 900),
            ("10", 900),
            ("card look", 900),
            ("card look", 900),
            ("bin 16", 900),
            ("bin 16", 900),
            ("80", 900),
            ("bin 14", 900),
            ("card look", 900),
            ("0", 900),
            ("98", 900),
            ("card enter", 900),
            ("bin 12", 900),
            ("9000", 900),
            ("card look", 900),
            ("card cancel", 900),
            ("card empty", 900),
            ("bin 17", 900),
            ("card empty", 900),
            ("bin 13", 900),
            ("card count", 900),
            ("400", 900),
            ("bin 13", 900),
            ("bin 13", 900),
            ("card few", 900),
            ("card enter", 900),
            ("card cancel", 900),
            ("bin 13", 900),
            ("card empty", 900),
            ("card cancel", 900),
        ],
        [
            ("refused", S, True),
            ("opened", T, False),
            ("noted", T, False),
            ("opened", T, False),
            ("noted", T, False),
            ("opened", T, False),
            ("refused", S, True),
            ("quantity", T, False),
            ("noted", T, False),
            ("verb", T, False),
            ("opened", T, False),
            ("refused", S, True),
            ("quantity", T, False),
            ("opened", T, False),
            ("verb", T, False),
            ("refused", S, True),
            ("quantity", T, False),
            ("noted", T, False),
            ("opened", T, False),
            ("quantity", T, False),
            ("unlikely", S, True),
            ("cancelled", N, False),
            ("refused", S, True),
            ("opened", T, False),
            ("committed", T, False),
            ("opened", T, False),
            ("verb", T, False),
            ("quantity", T, False),
            ("committed", T, False),
            ("opened", T, False),
            ("unlikely", S, True),
            ("refused", S, True),
            ("cancelled", N, False),
            ("opened", T, False),
            ("unlikely", S, True),
            ("cancelled", N, False),
        ],
    ),
    "a wrong tin may be looked into, and an order is gone on with": (
        [
            ("sheet", 0),
            ("bin 13", 900),
            ("card plenty", 900),
            ("order 1", 900),
            ("bin 15", 900),
            ("card plenty", 900),
            ("bin 20", 900),
            ("card cancel", 900),
        ],
        [
            ("assembly", T, False),
            ("not_asked_for", S, True),
            ("noted", T, False),
            ("order", T, False),
            ("opened", T, False),
            ("noted", T, False),
            ("opened", T, False),
            ("cancelled", N, False),
        ],
    ),
    "typed, with an address, with a symbology's sign": (
        [
            ("b12", 0),
            ("card cancel", 900),
            ("BIN12", 900),
            ("http://an.old.host/s/bin 12", 900),
            ("]C0bin 12", 900),
        ],
        [
            ("opened", T, False),
            ("cancelled", N, False),
            ("opened", T, False),
            ("refused", S, True),
            ("refused", S, True),
        ],
    ),
}


@made_once
def furnish(owner, ask, now):
    """The shop of the stories: look-alikes, tools, a closed assembly, two orders."""
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    for number, callout, held in (
        (12, "MS20426AD3-3.5", 40),
        (13, "MS20426AD3-3", 100),
        (14, "MS20426AD3-4", 100),
        (15, "MS20426A3-3.5", 100),
        (16, "MS20426AD3-5", 80),
        (17, "MS20426AD3-5", 30),
        (20, "AN3-5A", 10),
        (21, "AN3-5A", 0),
    ):
        item = item_for_callout(text=callout)
        bin = open_bin(item=item, by=owner, number=number, spot=f"rack {number % 3}")
        count(bin=bin, counted=held, ask=ask())
    drill = item_described(
        what=Description(kind="drill", size="#40", form="jobber", unit="pcs")
    )
    holder = item_described(
        what=Description(
            kind="temporary_fastener", size="3/32", form="standard", unit="pcs"
        )
    )
    for number, item in ((30, drill), (31, holder)):
        bin = open_bin(item=item, by=owner, number=number)
        count(bin=bin, counted=50, ask=ask())
    rib = Assembly.objects.get(name="Rib")
    place_to_pull_for(assembly=rib, by=owner, now=now)
    close(assembly=rib, by=owner, now=now)
    User.objects.create_user("ondine", first_name="Ondine")
    for wanted in ({"MS20426A3-3.5": 40, "AN3-5A": 20}, {"AN3-5A": 20}):
        supplier = supplier_called(name="Reed & Daughters")
        asks = [
            AskLine(item_for_callout(text=callout), packs, pack_pieces=1)
            for callout, packs in wanted.items()
        ]
        place_order(
            supplier=supplier,
            asks=asks,
            placed_on=now.date(),
            expected_on=now.date(),
            by=owner,
        )


def code_of(step):
    """The code that a step's words stand for."""
    word, _space, rest = step.rpartition(" ")
    if step == "sheet":
        return codes.make("S", Assembly.objects.get(name="Skin").pk)
    if step == "sheet of a closed one":
        return codes.make("S", Assembly.objects.get(name="Rib").pk)
    if step == "badge":
        return codes.make("H", User.objects.get(username="ondine").pk)
    for name, letter in (
        ("quantity", "N"),
        ("bit", "T"),
        ("bin", "B"),
        ("order", "R"),
        ("action", "C"),
        ("assembly", "S"),
        ("person", "H"),
    ):
        if word.endswith(name) and rest.isdigit():
            return word.removesuffix(name) + codes.make(letter, int(rest))
    return codes.make("C", CARDS[rest]) if word == "card" else step
