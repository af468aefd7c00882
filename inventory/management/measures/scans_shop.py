"""A scratch shop for the benchmark of scans: bins, an assembly, a device a client.

Run as a module in the environment of that shop; it prints what the clients need.
"""

import json
import sys
from typing import Any

import django

BINS, PIECES, NEEDED = 40, 900_000, 90_000


def main(clients: int) -> dict[str, Any]:
    """Make the tables and the shop. Keys: codes of the sheet and the bins, tokens."""
    django.setup()
    from django.core.management import call_command
    from django.utils import timezone

    from inventory.catalog.actions import item_for_callout
    from inventory.ledger.actions.bins import open_bin
    from inventory.ledger.actions.posting import Ask
    from inventory.ledger.actions.verbs import count
    from inventory.people.actions import create_owner, register_device
    from inventory.planning.actions import importing
    from inventory.planning.models import Assembly
    from inventory.trade import codes

    call_command("migrate", interactive=False, verbosity=0)
    now = timezone.now()
    owner = create_owner(name="marlow", password="a phrase long enough", email="")
    callouts = [
        f"MS{head}AD{diameter}-{length}"
        for head in (20426, 20470)
        for diameter in (3, 4)
        for length in range(3, 13)
    ]
    bins = []
    for callout in callouts[:BINS]:
        bin = open_bin(item=item_for_callout(text=callout), by=owner)
        count(bin=bin, counted=PIECES, ask=Ask(by=owner, now=now))
        bins.append(bin.code)
    rows = [f"Wing,Skin,{callout},{NEEDED}" for callout in callouts[:BINS]]
    plan = "\n".join(["stage,assembly,callout,each", *rows])
    found = importing.preview(name="plan.csv", data=plan.encode())
    importing.apply(found=found, by=owner, now=now)
    tokens = [
        register_device(name=f"bench {at}", by=owner, now=now)[1]
        for at in range(clients)
    ]
    sheet = codes.make("S", Assembly.objects.get().pk)
    return {"sheet": sheet, "bins": bins, "tokens": tokens}


if __name__ == "__main__":
    print(json.dumps(main(int(sys.argv[1]))))
