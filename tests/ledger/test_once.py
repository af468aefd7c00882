"""What comes under one id is written once, whoever was first."""

from dataclasses import dataclass

import pytest
from django.db import IntegrityError

from inventory.errors import Refused
from inventory.ledger.actions.once import once

pytestmark = pytest.mark.django_db


@dataclass
class Row:
    """A row with what was asked under its id."""

    fingerprint: str


def beaten() -> Row:
    """A racing twin wrote first."""
    raise IntegrityError("unique")


def never() -> Row:
    raise AssertionError("nothing is written twice")


def test_a_new_id_is_written() -> None:
    assert once("id", "a", lambda: None, lambda: Row("a")) == (Row("a"), False)


def test_a_known_id_answers_as_before_and_writes_nothing() -> None:
    row = Row("a")
    assert once("id", "a", lambda: row, never) == (row, True)


def test_whoever_comes_second_gets_the_firsts_row() -> None:
    row, looks = Row("a"), iter((None, Row("a")))
    assert once("id", "a", lambda: next(looks), beaten) == (row, True)


@pytest.mark.parametrize("seen", [(Row("a"),), (None, Row("a"))])
def test_an_id_that_came_with_something_else_is_refused(seen: tuple[Row]) -> None:
    looks = iter(seen)
    with pytest.raises(Refused) as refusal:
        once("id", "b", lambda: next(looks), beaten)
    assert refusal.value.code == "ledger.scan_id_reused"
    assert refusal.value.data == {"scan_id": "id"}


def test_another_conflict_is_no_repeat() -> None:
    with pytest.raises(IntegrityError):
        once("id", "a", lambda: None, beaten)
