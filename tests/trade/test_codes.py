"""Own codes: their check finds what fingers and scanners get wrong."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import codes
from inventory.trade.codes import make, read
from tests.trade.checks import CHECKS

VECTORS = json.loads((CHECKS / "barcodes" / "vectors.json").read_text(encoding="utf-8"))
OWN = st.builds(make, st.sampled_from(sorted(codes.TYPES)), st.integers(0, 9999))
ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def vectors(group):
    return [
        pytest.param(
            each["input"],
            each["expect"]["valid"],
            id=f"{each['input']} [{each['source']}]",
        )
        for each in VECTORS
        if each["group"] == group
    ]


def is_refused(text):
    try:
        read(text)
    except Refused:
        return True
    return False


@pytest.mark.parametrize(("text", "valid"), vectors("iso7064_97-10"))
def test_mod_97_10_vectors(text, valid):
    assert codes.mod_97_10_valid(text) is valid
    assert (codes.check_digits(text[:-2]) == text[-2:]) is valid


@pytest.mark.parametrize(("text", "valid"), vectors("iso7064_37-36"))
def test_mod_37_36_vectors(text, valid):
    assert codes.mod_37_36_valid(text) is valid


# Computed: examples of the code's description.
@pytest.mark.parametrize(
    ("letter", "number", "code"),
    [("B", 42, "XB004209"), ("B", 9999, "XB999914"), ("T", 1, "XT000134")],
)
def test_examples(letter, number, code):
    assert make(letter, number) == code
    assert read(code) == codes.OwnCode(letter, number, code)


@given(OWN)
def test_made_codes_read_back(code):
    own = read(code)
    assert make(own.type, own.number) == own.code == code
    assert codes.mod_97_10_valid(code)


@given(OWN, st.integers(0, 7), st.sampled_from(ALPHABET))
def test_every_single_wrong_character_is_found(code, place, wrong):
    spoiled = code[:place] + wrong + code[place + 1 :]
    assert is_refused(spoiled) == (spoiled != code)


@given(OWN, st.integers(2, 6))
def test_every_swap_of_neighbouring_digits_is_found(code, place):
    spoiled = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    assert is_refused(spoiled) == (spoiled != code)


def test_nearly_all_swaps_two_apart_are_found():
    swaps = missed = 0
    for number in range(0, 10000, 7):
        code = make("B", number)
        for place in range(2, 6):
            a, b, c = code[place : place + 3]
            if a != c:
                swaps += 1
                missed += not is_refused(code[:place] + c + b + a + code[place + 3 :])
    assert missed < swaps / 50


@given(st.text(alphabet=ALPHABET, min_size=2, max_size=12), st.sampled_from(ALPHABET))
def test_mod_37_36_knows_one_check_character(body, character):
    right = codes.mod_37_36_check(body)
    assert codes.mod_37_36_valid(body + character) == (character == right)


@pytest.mark.parametrize(
    "text", ["xb004209", " XB 0042-09 ", "XB\u20130042\u201309", "xb 0042 09"]
)
def test_sloppy_typing_is_forgiven(text):
    assert read(text).number == 42


@given(OWN)
def test_the_clear_print_reads_back(code):
    assert read(codes.in_the_clear(code)).code == code


def test_the_clear_print():
    assert codes.in_the_clear("XB004209") == "XB 0042-09"


def test_a_wrong_check_says_so():
    with pytest.raises(Refused) as caught:
        read("XB004219")
    assert caught.value.code == "code.check"
    assert "scan again" in caught.value.sentence
    assert "XB 0042-19" in caught.value.sentence


def test_only_the_printed_check_digits_count():
    # 00, 01 and 99 are the same remainders as 97, 98 and 02, and never printed.
    for number in range(10000):
        printed = make("B", number)[6:]
        if printed == "02":
            assert is_refused(f"XB{number:04d}99")
            return
    pytest.fail("no bin has the check digits 02")


@pytest.mark.parametrize(
    "text", ["", "XQ004209", "XB00420", "XB0042O9", "YB004209", "XB00420\u0669"]
)
def test_other_shapes_are_no_codes(text):
    with pytest.raises(Refused) as caught:
        read(text)
    assert caught.value.code == "code.shape"


@pytest.mark.parametrize("text", ["", "A", "a1b2", "12-34", "Ä12"])
def test_foreign_checks_want_letters_and_digits(text):
    assert not codes.mod_97_10_valid(text)
    assert not codes.mod_37_36_valid(text)


@pytest.mark.parametrize(("letter", "number"), [("Q", 1), ("B", -1), ("B", 10000)])
def test_impossible_codes_are_not_made(letter, number):
    with pytest.raises(Refused) as caught:
        make(letter, number)
    assert caught.value.code == "code.impossible"
