"""kill -9 in the middle of scans: what was answered is there, all of it comes in once."""

import os
import random
import signal
import tempfile
import time
from pathlib import Path

from django.db import connection

from inventory.ledger.models import Act, Movement
from inventory.ledger.queries import flaws
from tests.campaigns.benches import answered, begin, fresh_ids, open_shop, send

EACH, BENCHES, LONGEST = 30, 2, 0.25


def kills(rounds, seed, *, unsafe=False):
    """What was lost, doubled or does not hold after so many kills; nothing should be.

    Two benches send at once; each round ends both at a random moment, by SIGKILL or, on
    a server, by ending their connections. What was not answered is sent again.
    """
    dice, token = random.Random(seed), open_shop()
    wanted, found = [[] for _ in range(BENCHES)], []
    with tempfile.TemporaryDirectory() as folder:
        notes = [Path(folder) / str(at) for at in range(BENCHES)]
        for _round in range(rounds):
            for ids in wanted:
                ids += fresh_ids(dice, EACH)
            _interrupt(dice, token, wanted, notes, unsafe)
            for at, ids in enumerate(wanted):
                done = answered(notes[at])
                found += [f"lost: {each}" for each in sorted(done - _there(done))]
                wanted[at] = [each for each in ids if each not in done]
        for at, ids in enumerate(wanted):
            send(token, ids, notes[at])
        sent = set().union(*map(answered, notes))
    pulled = Movement.objects.filter(act__verb="pull").count()
    if not len(sent) == len(_there(sent)) == pulled == rounds * EACH * BENCHES:
        found.append(
            f"{len(sent)} answered, {pulled} pulled of {rounds * EACH * BENCHES}"
        )
    return found + [str(flaw) for flaw in flaws()]


def _there(ids):
    rows = Act.objects.filter(scan_id__in=ids)
    return set(rows.values_list("scan_id", flat=True))


def _interrupt(dice, token, wanted, notes, unsafe):
    both = [
        begin(token, ids, note, too_early=unsafe)
        for ids, note in zip(wanted, notes, strict=True)
    ]
    time.sleep(dice.uniform(0, LONGEST))
    if connection.features.has_select_for_update and dice.random() < 0.5:
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        time.sleep(dice.uniform(0, LONGEST / 5))
    for child in both:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
