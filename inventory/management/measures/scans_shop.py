"""What the benchmark of scans works on: bins, an assembly, a device a client."""

from typing import Any

from django.utils import timezone

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.actions.verbs import count
from inventory.people.actions import create_owner, register_device
from inventory.planning.actions import importing
from inventory.planning.models import Assembly
from inventory.scanning.rules.saying import ACTIONS, Key
from inventory.trade import codes

PIECES, NEEDED = 900_000, 90_000
CALLOUTS = [
    f"MS{head}AD{diameter}-{length}"
    for head in (20426, 20470)
    for diameter in (3, 4)
    for length in range(3, 13)
]


def furnish(clients: int) -> dict[str, Any]:
    """Fill an empty shop. Keys: codes of the sheet, the bins and Enter; tokens."""
    now = timezone.now()
    owner = create_owner(name="marlow", password="a phrase long enough", email="")
    bins = [open_bin(item=item_for_callout(text=each), by=owner) for each in CALLOUTS]
    for bin in bins:
        count(bin=bin, counted=PIECES, ask=Ask(by=owner, now=now))
    rows = [f"Wing,Skin,{callout},{NEEDED}" for callout in CALLOUTS]
    plan = "\n".join(["stage,assembly,callout,each", *rows])
    found = importing.preview(name="plan.csv", data=plan.encode())
    importing.apply(found=found, by=owner, now=now)
    return {
        "sheet": codes.make("S", Assembly.objects.get().pk),
        "bins": [bin.code for bin in bins],
        "enter": codes.make(
            "C", next(at for at, does in ACTIONS.items() if does is Key.ENTER)
        ),
        "tokens": [
            register_device(name=f"bench {at}", by=owner, now=now)[1]
            for at in range(clients)
        ],
    }
