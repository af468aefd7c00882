"""A bench that answers codes."""

import uuid

import pytest

from inventory.scanning.actions import Sent, bench_called, scan
from inventory.trade import codes
from tests.scanning.stories import CARDS


@pytest.fixture
def bench(owner, now):
    return bench_called(key="b" * 70, person=owner, now=now)


@pytest.fixture
def say(bench, owner, now):
    """What the bench answers to some codes, the last of them."""

    def take(*texts, at=now, **more):
        for place, text in enumerate(texts):
            sent = Sent(uuid.uuid4(), text, **({"ms": place * 1000} | more))
            answer = scan(bench=bench, sent=sent, by=owner, now=at)
            bench.refresh_from_db()
        return answer

    return take


def card(name):
    return codes.make("C", CARDS[name])
