"""`python -m tests.campaigns kills --rounds 200 --seed 1`: ends with 1 if anything is lost.

On the engine that GRIPCOUNT_DATABASE names, in a scratch database beside it. `--unsafe`
tries a shop that loses what it answered, which the campaign has to find out.
"""

import argparse
import os
import random
import sys

import django


def main():
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "inventory.config.settings")
    django.setup()
    from django.conf import settings

    from inventory import errands
    from inventory.config.celery import app
    from inventory.management.measures.scratch import scratch
    from tests.campaigns.cuts import cuts
    from tests.campaigns.kills import kills

    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("kind", choices=["kills", "cuts"])
    asked.add_argument("--rounds", type=int, default=200)
    asked.add_argument("--seed", type=int, default=random.randrange(10**6))
    asked.add_argument("--unsafe", action="store_true")
    wish = asked.parse_args()
    print(f"seed {wish.seed}", flush=True)
    settings.ALLOWED_HOSTS.append("testserver")
    app.conf.broker_url, app.conf.broker_transport = "memory://", "memory"
    campaign = {"kills": kills, "cuts": cuts}[wish.kind]
    with scratch():
        found = campaign(wish.rounds, wish.seed, unsafe=wish.unsafe)
        errands.wait()
    print("\n".join(found) or f"{wish.rounds} rounds: nothing is lost, all holds")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
