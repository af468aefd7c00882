"""How a cause is said: the day to order, and the letter."""

from datetime import date

import pytest

from inventory.alerts.rules import Finding, letter, order_words

TODAY = date(2027, 3, 1)


@pytest.mark.parametrize(
    ("order_by", "guess", "words"),
    [
        (date(2027, 3, 1), False, "order 120 by 1 Mar 2027"),
        (date(2027, 3, 4), True, "order 120 by 4 Mar 2027 (lead time is a guess)"),
        (
            date(2027, 2, 28),
            False,
            "order 120 now: the day to order was 28 Feb 2027",
        ),
    ],
)
def test_a_day_to_order_that_has_gone_by_is_said(order_by, guess, words):
    assert order_words(120, order_by, TODAY, guess=guess) == words


def test_a_letter_names_each_finding_its_page_and_how_far_to_trust_it():
    found = [
        Finding("bin 1", "count", "Count bin 1", "It is in doubt.", link="/bins/1/"),
        Finding("bin 2", "count", "Count bin 2", "It is in doubt."),
    ]
    subject, body = letter("Hangar 3", found, "https://shop.example/")
    first, *rows, end = body.split("\n\n")
    assert subject == "Hangar 3: Count bin 1 and 1 more"
    assert first.startswith("Hangar 3")
    assert rows == [
        "* Count bin 1\n  It is in doubt.\n  https://shop.example/bins/1/",
        "* Count bin 2\n  It is in doubt.",
    ]
    assert "licensed practice" in end
    assert letter("Hangar 3", found[:1], "")[0] == "Hangar 3: Count bin 1"


def test_a_letters_subject_begins_with_what_to_order_and_by_when():
    data = {"to_do": "order 85 by 4 Dec 2026"}
    short = Finding("item 1", "short", "3/32 flush runs short in Fin", "", data=data)
    other = Finding("bin 2", "count", "Count bin 2", "It is in doubt.")
    subject, _body = letter("Hangar 3", [short, other], "")
    assert (
        subject
        == "Hangar 3: order 85 by 4 Dec 2026: 3/32 flush runs short in Fin and 1 more"
    )
