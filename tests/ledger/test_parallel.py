"""Many hands at one bin, and one scan sent many times, on a real database."""

import uuid

import pytest
from django.db import connection

from inventory.ledger import queries
from inventory.ledger.actions import bins, verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.models import Act, Movement
from tests.parallel import in_parallel

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _on_disk():
    """A database that threads share: SQLite's in memory is one connection's own."""
    assert connection.vendor == "postgresql" or connection.is_in_memory_db() is False


def test_32_parallel_pulls_of_one_bin(rivets, owner, now):
    place = bins.open_place(kind="assembly", name="Wing")

    def pull(_number):
        ask = Ask(by=owner, now=now, scan_id=str(uuid.uuid4()))
        return verbs.pull(bin=rivets, quantity=2, to=place, ask=ask).beyond

    beyond = in_parallel(pull, 32)
    assert sum(beyond) == 64 - 40
    assert queries.quantity_in(rivets) == 0
    assert queries.quantities_at([place.pk])[place.pk, rivets.item_id] == 64
    assert Movement.objects.filter(act__verb="pull", target=place).count() == 32
    assert queries.flaws() == []


def test_one_scan_sent_20_times_moves_once(rivets, owner, now):
    place = bins.open_place(kind="assembly", name="Wing")
    ask = Ask(by=owner, now=now, scan_id=str(uuid.uuid4()))

    def send(_number):
        return verbs.pull(bin=rivets, quantity=7, to=place, ask=ask).act.pk

    assert len(set(in_parallel(send, 20))) == 1
    assert queries.quantity_in(rivets) == 33
    assert Act.objects.filter(verb="pull").count() == 1


def test_pulls_and_returns_that_cross_do_not_wait_for_each_other(rivets, owner, now):
    place = bins.open_place(kind="assembly", name="Wing")
    verbs.pull(bin=rivets, quantity=20, to=place, ask=Ask(owner, now))

    def cross(number):
        ask = Ask(by=owner, now=now, scan_id=str(uuid.uuid4()))
        if number % 3 == 0:
            return verbs.count(bin=rivets, counted=20, ask=ask)
        if number % 2:
            return verbs.pull(bin=rivets, quantity=3, to=place, ask=ask)
        return verbs.give_back(bin=rivets, quantity=3, from_=place, ask=ask)

    in_parallel(cross, 24)
    assert queries.flaws() == []
