"""Every writer against every writer at once: nobody meets a fault, the record adds up.

Through the API as it is served, on either engine; a race that is lost is answered.
"""

import random
import uuid
from datetime import timedelta

import pytest
from rest_framework.test import APIClient

from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.models import Act, Bin, Movement, Place
from inventory.ledger.queries import bin_numbered, flaws, quantity_in, single_place
from inventory.ordering.models import Order, Supplier
from inventory.people.actions import register_device
from inventory.trade import codes
from tests.api.conftest import full  # noqa: F401 - a fixture
from tests.api.test_writes import API, WRITES
from tests.parallel import in_parallel

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
HANDS, ROUNDS, SEED = 8, 3, 20271


@pytest.fixture
def benches(owner, now):
    """Clients of as many benches, each with a token; a fault is an answer there."""
    found = []
    for number in range(HANDS):
        _device, token = register_device(name=f"bench {number}", by=owner, now=now)
        client = APIClient(raise_request_exception=False)
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
        found.append(client)
    return found


def statuses(answers):
    return sorted(answer.status_code for answer in answers)


def send(client, address, body, method="post"):
    return getattr(client, method)(API + address, body, format="json")


def scans(client, *codes_read, late=0):
    """Codes read one after the other at a bench; the last answer."""
    for at, code in enumerate(codes_read):
        body = {"id": str(uuid.uuid4()), "code": code, "ms": 1000 * at}
        answer = send(client, "scans", {**body, "sent_ms": 1000 * at + late})
        if answer.status_code != 200:
            break
    return answer


@pytest.mark.unmeasured
def test_all_writers_at_once(benches, full):  # noqa: F811 - a fixture
    """Every write of the API in any company, three rounds of it."""
    names = sorted(set(WRITES) - {"POST photos", "POST labels"})
    rng = random.Random(SEED)
    sheet, bin = codes.make("S", full.assembly), codes.make("B", 12)

    def work(jobs):
        found = []
        for client, name in jobs:
            if name == "bench":
                found.append((name, scans(client, sheet, bin, "500", bin, late=9000)))
                continue
            write = WRITES[name]
            body = write.body(full)
            if write.once:
                body |= {"id": str(uuid.uuid4())}
            method, address = name.split(" ")
            answer = send(client, full.path(address), body, method.lower())
            found.append((name, answer))
        return found

    for _round in range(ROUNDS):
        every = [*names, "bench", "bench"] * 2
        rng.shuffle(every)
        hands = [
            [(client, name) for name in every[at::HANDS]]
            for at, client in enumerate(benches)
        ]
        for found in in_parallel(lambda at, hands=hands: work(hands[at]), HANDS):
            for name, answer in found:
                assert answer.status_code < 500, (SEED, name, answer.content)
        assert flaws() == []


def test_one_act_taken_back_from_every_bench_is_taken_back_once(benches, full):  # noqa: F811
    before = quantity_in(bin_numbered(12))
    answers = in_parallel(
        lambda at: send(
            benches[at], f"acts/{full.act}/undo", {"id": str(uuid.uuid4())}
        ),
        HANDS,
    )
    assert statuses(answers) == [201, *[409] * (HANDS - 1)]
    won = Act.objects.get(undoes=full.act).pk
    for answer in answers:
        if answer.status_code == 409:
            assert answer.json()["data"] == {"act": full.act, "undone_by": won}
    assert quantity_in(bin_numbered(12)) == before + 4
    assert flaws() == []


def test_late_pulls_beyond_the_record_do_not_wait_for_each_other(
    rivets, owner, now, benches
):
    """Bins of one item, counted since: each pull comes late and is more than there is."""
    other = open_bin(item=rivets.item, by=owner, number=14)
    verbs.count(bin=other, counted=10, ask=Ask(owner, now))
    unplanned = single_place("unplanned")

    def pull(at):
        bin = (rivets, other)[at % 2]
        when = now - timedelta(minutes=10 * (at % 3))
        ask = Ask(owner, when, scan_id=str(uuid.uuid4()), late=True)
        if at % 4 == 3:
            return verbs.give_back(bin=bin, quantity=3, from_=unplanned, ask=ask)
        return verbs.pull(bin=bin, quantity=70, to=unplanned, ask=ask)

    assert len(in_parallel(pull, 24)) == 24
    assert Movement.objects.filter(act__verb="pull", target=unplanned).count() == 18
    assert flaws() == []


def test_numbers_are_given_once_each(benches, rivets, owner):
    """Orders with one new supplier, bins without a number, bits of one bin."""
    drills = open_bin(item=item_for_callout(text="#40"), by=owner, number=30)
    order = {"supplier": "Field supply", "lines": [{"callout": "AN3-5A", "packs": 1}]}
    order["lines"][0]["pack_pieces"] = 50

    def work(at):
        pulled = {"verb": "pull", "bin": 12, "quantity": 1, "id": str(uuid.uuid4())}
        return [
            send(benches[at], "orders", order),
            send(benches[at], "bins", {"callout": "AN3-5A"}),
            send(benches[at], "movements", pulled),
        ]

    answers = [each for found in in_parallel(work, HANDS) for each in found]
    assert statuses(answers) == [201] * 3 * HANDS
    numbers = sorted(Order.objects.values_list("number", flat=True))
    assert numbers == list(range(1, HANDS + 1))
    assert Supplier.objects.count() == 1
    assert Place.objects.filter(kind="supplier").count() == 1
    made = Bin.objects.exclude(pk__in=[rivets.pk, drills.pk])
    assert made.count() == HANDS
    assert flaws() == []
