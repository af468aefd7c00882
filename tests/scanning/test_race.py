"""One scan id at the door many times at once, on a real database."""

import uuid

import pytest
from django.db import IntegrityError

from inventory.errors import Refused
from inventory.ledger import queries
from inventory.ledger.models import Act
from inventory.scanning.actions import Sent, bench_called, scan
from inventory.scanning.models import Scan
from inventory.trade import codes
from tests.ledger.test_parallel import in_parallel

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
TIMES = 12


@pytest.fixture
def take(owner, now):
    """Take a code at a bench."""

    def at(bench, raw, scan_id=None, ms=0):
        sent = Sent(scan_id=scan_id or uuid.uuid4(), raw=raw, ms=ms)
        row = bench_called(key=bench, person=owner, now=now)
        return scan(bench=row, sent=sent, by=owner, now=now)

    return at


def test_one_enter_sent_many_times_at_once_moves_once(rivets, take):
    take("page 1", rivets.code)
    take("page 1", "7", ms=1000)
    enter = uuid.uuid4()

    answers = in_parallel(
        lambda _n: take("page 1", codes.make("C", 9), enter, 2000), TIMES
    )

    assert all(answer == answers[0] for answer in answers)
    assert answers[0]["kind"] == "committed"
    assert queries.quantity_in(rivets) == 33
    assert Scan.objects.filter(pk=enter).count() == 1
    assert Act.objects.filter(scan_id=str(enter)).count() == 1


def test_one_id_from_many_benches_at_once_is_one_scan(rivets, take):
    one = uuid.uuid4()

    def send(number):
        try:
            return take(f"page {number}", rivets.code, one)["kind"]
        except IntegrityError:  # beaten: the door asks once more
            return send(number)
        except Refused as refusal:
            return refusal.code

    said = in_parallel(send, TIMES)

    assert sorted(said) == ["ledger.scan_id_reused"] * (TIMES - 1) + ["opened"]
    assert Scan.objects.get(pk=one).bench.state["pending"]["bin"] == 12
