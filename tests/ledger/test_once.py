"""What comes under one id is written once, whoever was first."""

from dataclasses import dataclass

import pytest

from inventory.errors import Refused
from inventory.ledger.actions.once import same
from inventory.ledger.actions.posting import open_act
from inventory.ledger.models import Act


@dataclass
class Row:
    """A row with what was asked under its id."""

    fingerprint: str


def test_a_known_id_answers_as_before() -> None:
    row = Row("a")
    assert same(row, "id", "a") is row


def test_an_id_that_came_with_something_else_is_refused() -> None:
    with pytest.raises(Refused) as refusal:
        same(Row("a"), "id", "b")
    assert refusal.value.code == "ledger.scan_id_reused"
    assert refusal.value.data == {"scan_id": "id"}


@pytest.mark.django_db
def test_an_act_of_a_known_id_is_not_written_again(rivets, ask) -> None:
    """No exception either: it would end the transaction that asks."""
    asked, asks = ask(), {"bin": rivets.pk}
    first, repeated = open_act("pull", asked, asks, bin=rivets)
    assert not repeated
    assert open_act("pull", asked, asks, bin=rivets) == (first, True)
    with pytest.raises(Refused) as refusal:
        open_act("return", asked, asks, bin=rivets)
    assert refusal.value.code == "ledger.scan_id_reused"
    assert Act.objects.filter(scan_id=asked.scan_id).count() == 1
