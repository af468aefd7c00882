"""Codes on suppliers' bags: the published vectors, and what real printers get wrong."""

import json
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade.bags.reading import marking_of, marking_of_fields, split_field
from inventory.trade.bags.shape import six_digit_day, whole_number
from tests.trade.checks import CHECKS

VECTORS = json.loads((CHECKS / "barcodes" / "vectors.json").read_text(encoding="utf-8"))


def vectors(group):
    return [
        pytest.param(each["input"], each["expect"], id=f"{at} [{each['source']}]")
        for at, each in enumerate(VECTORS)
        if each["group"] == group
    ]


def fields(text):
    marking = marking_of(text)
    return [list(each) for each in marking.fields]


@pytest.mark.parametrize(("text", "expected"), vectors("gs1_element_string"))
def test_gs1_vectors(text, expected):
    assert fields(text) == expected
    assert marking_of(text).kind == "gs1"


@pytest.mark.parametrize(("text", "expected"), vectors("iso15434"))
def test_envelope_vectors(text, expected):
    marking = marking_of(text)
    assert marking.format == expected["format"]
    assert fields(text) == expected["fields"]
    assert (marking.faults, marking.whole) == ((), True)


@pytest.mark.parametrize(("text", "expected"), vectors("tei"))
def test_text_element_vectors(text, expected):
    assert fields(text) == [expected]


@pytest.mark.parametrize(("body", "digit"), vectors("gs1_check_digit"))
def test_a_wrong_gs1_check_digit_is_an_error(body, digit):
    name, number = ("00", body) if len(body) == 17 else ("01", f"0{body}")
    assert marking_of(f"]C1{name}{number}{digit}").fields == (
        (name, f"{number}{digit}"),
    )
    with pytest.raises(Refused) as caught:
        marking_of(f"]C1{name}{number}{(int(digit) + 1) % 10}")
    assert caught.value.code == "bag.gs1"


# An envelope of our own, by the grammar of ISO/IEC 15434; computed.
WHOLE = "[)>\x1e06\x1d1PMS20470AD4-4\x1dQ500\x1d1TL7\x1dK4711\x1d14D20290331\x1e\x04"


def test_what_an_envelope_means():
    contents = marking_of(WHOLE).contents
    assert contents.parts == ("MS20470AD4-4",)
    assert (contents.quantity, contents.lot, contents.order) == (500, "L7", "4711")
    assert contents.expires == date(2029, 3, 31)


@pytest.mark.parametrize(
    ("spoil", "fault"),
    [
        (lambda text: f"~{text}", "stands before"),
        (lambda text: text.replace("[)>\x1e", "[)>"), "after the header"),
        (lambda text: text.replace("06\x1d", "06"), "after the format"),
        (lambda text: text.replace("\x1e\x04", "\x04"), "before the closing mark"),
        (lambda text: text.replace("\x1dQ", "\x1d\x1dQ"), "empty field"),
        (lambda text: text.replace("\x1dQ", "\x1dX1\x1dQ"), "no identifier"),
        (lambda text: text.replace("\x1d", "<GS>"), "printed for a separator"),
        (lambda text: text.replace("\x1d", "|"), "stands for a separator"),
        (lambda text: text.replace("\x1e", "␞"), "printed for a separator"),
        (lambda text: f"{text}zz", "stands after"),
    ],
)
def test_what_printers_get_wrong_is_accepted_and_named(spoil, fault):
    marking = marking_of(spoil(WHOLE))
    assert any(fault in each for each in marking.faults)
    assert marking.contents == marking_of(WHOLE).contents


def test_a_code_cut_short_says_so():
    marking = marking_of(WHOLE[:-20])
    assert not marking.whole
    assert any("cut off" in each for each in marking.faults)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("[)>\x1e77\x1dP1\x1e\x04", "bag.format"),
        ("[)>", "bag.empty"),
        ("[)>\x1e06\x1d\x1e\x04", "bag.empty"),
        ("]C1", "bag.gs1"),
        ("]C10109501101530003\x1d17251301", "bag.gs1"),
        ("]E04006381333932", "bag.gs1"),
        ("(01)09501101530004", "bag.gs1"),
    ],
)
def test_what_breaks_the_rules_is_an_error(text, code):
    with pytest.raises(Refused) as caught:
        marking_of(text)
    assert caught.value.code == code


def test_an_envelope_may_hold_elements():
    marking = marking_of("[)>\x1e05\x1d0109501101530003\x1d10A1\x1e\x04")
    assert marking.format == "05"
    assert marking.contents.lot == "A1"


def test_net_mass_and_brackets():
    marking = marking_of("(01)09501101530003(3103)000189(37)250")
    assert marking.contents.grams == pytest.approx(189)
    assert marking.contents.quantity == 250


# Bare digits are no GS1 code: one in six random ones would pass as one.
@given(st.text("0123456789", min_size=1, max_size=20).filter(lambda t: t[:2] != "01"))
def test_bare_digits_are_never_a_gs1_code(text):
    assert marking_of(text) is None


@pytest.mark.parametrize("text", ["MS20470AD4-4", "AN3-5A", "K1000-3", "AN960-10"])
def test_a_bare_part_number_is_never_split(text):
    assert marking_of(text) is None


def test_one_field_codes_of_one_bag():
    found = [split_field(text) for text in ("1PMS20470AD4-4", "Q250", "1TL9")]
    contents = marking_of_fields(found).contents
    assert contents.parts == ("MS20470AD4-4",)
    assert (contents.quantity, contents.lot) == (250, "L9")
    assert split_field("X500") is None
    assert split_field("q500") == ("Q", "500")


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text):
    for each in (text, f"[)>\x1e{text}", f"]C1{text}", f"]d2{text}"):
        try:
            marking_of(each)
        except Refused:
            continue


def test_days_and_numbers():
    assert six_digit_day("290200") == date(2029, 2, 28)
    assert six_digit_day("291301") is None
    assert whole_number("50.00") == 50
    assert whole_number("50.5") is None
    assert whole_number("٣") is None
