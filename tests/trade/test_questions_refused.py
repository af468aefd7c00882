"""Every question is answered or refused in words, whatever stands in its fields."""

import cProfile
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade.callouts import parse
from inventory.trade.cautions import AIRWORTHINESS
from inventory.trade.questions.index import QUESTIONS
from inventory.trade.questions.shape import Answer, refused_data
from tests.trade.asked import ASKED, NAMES, ask

# What people, scanners and slipped keys put in: most of it no size, number or name.
NASTY = (
    *("0", "-1", "1/0", "0/8", "1e9", "1E-9", "nan", "inf", "-inf", "9" * 5000),
    *("999999999", "999", "999.999999", ".000001", "0.0.1", "..", ".", "/", "-", "x"),
    # Digits that are none of ours: Arabic, raised, wide; a half; a fraction's own slash.
    *("\u0663", "1\u00b2", "3/\uff13\uff12", "\u0663x10", "\u00b2x10"),
    *("\u00bd", "1\u20442", "9x9x9", "2 x 10", "2X10"),
    *("1000x1", "1001x1", "999999999x1", "0x10", "x10", "2x", "1000x999," * 20),
    *("99 mm", "2,5 mm", "1/64", "63/64", "999 63/64", "4", "4.000001", "1 9/8"),
    *("\0", "\ud800", "\u202e1/8", "a\nb", "'; --", "{0}%s%(a)d", " " * 50, "é" * 121),
    *("yes", "no", "AD", "ad", "ZZ", "square", "universal", "flush", "4-10", "lap"),
    *("MS20470AD4-4", "AN3-4A", "AN960-10", "AN742-8", "NAS177-99-99", "4-5", "AN"),
    *(",", ".032,", ",".join([".001"] * 40), ".032+4", "5,5", "4,4,4", "#80", "#30"),
    *("Z", "1/2", "0.01 mm", "02/2000", "2000-02-30", "1900-01-01", "12/2099"),
)
ANY = st.sampled_from(NASTY) | st.text(max_size=12) | st.text("0123456789./x, -#")
# What makes an answer long: lengths, sheets and sizes of as much text as is taken.
LONG = ("1000x1", ",".join(["999x1"] * 20), ",".join([".001"] * 24), "9" * 120)
# The longest answer is a seam's of a thousand lengths, each of so many calls.
MOST_CALLS = 1000 * 200


@st.composite
def things_asked(draw):
    """A question with some of its fields as an example has them, the others anything."""
    question = draw(st.sampled_from(QUESTIONS))
    given = dict(draw(st.sampled_from(ASKED[question.name])))
    names = st.sampled_from([each.name for each in question.fields])
    for name in draw(st.sets(names, min_size=1, max_size=3)):
        given[name] = draw(ANY)
    return question.name, given


def answered(name, given):
    """The answer, or None when it is refused as a refusal should be."""
    try:
        return ask(name, given)
    except Refused as caught:
        refused = caught
    expected = refused.data["expected"]
    assert isinstance(expected, str)
    assert expected
    assert expected in refused.sentence
    assert len(refused.sentence) < 1000
    assert refused_data(refused)["airworthiness"] == AIRWORTHINESS
    return None


def calls_of(name, given):
    """How many calls an answer or a refusal takes."""
    profile = cProfile.Profile()
    profile.runcall(answered, name, given)
    return sum(row.callcount for row in profile.getstats())


def check_callouts(found):
    """A callout that an answer names is one that can be ordered and drawn."""
    for key in ("callout", "best_callout"):
        if found.get(key):
            assert parse(found[key]).callout == found[key]


@pytest.mark.unmeasured
@pytest.mark.slow
@settings(max_examples=300)
@given(things_asked())
def test_anything_is_answered_or_refused_in_words(asked):
    answer = answered(*asked)
    if answer is not None:
        assert isinstance(answer, Answer)
        check_callouts(answer.data)


@pytest.mark.unmeasured
@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_each_nasty_text_in_each_field(name):
    for asked in ASKED[name]:
        for field, nasty in product(asked, NASTY):
            answer = answered(name, {**asked, field: nasty})
            if answer:
                check_callouts(answer.data)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_no_text_makes_an_answer_endless(name):
    for asked in ASKED[name]:
        for field, text in product(asked, LONG):
            calls = calls_of(name, {**asked, field: text})
            assert calls < MOST_CALLS, (field, text, calls)


# What no workshop holds, and what no text can mean, is refused in every question.
IMPOSSIBLE = [
    ("rivet", {"grip": "5", "diameter": "1/8"}, "rivet.grip"),
    ("rivet", {"sheets": "2,2.1", "diameter": "1/8"}, "rivet.grip"),
    ("rivet", {"grip": "1/0", "diameter": "1/8"}, "size.unknown"),
    ("rivet", {"grip": ".064"}, "question.missing"),
    ("rivet", {"diameter": "1/8"}, "question.missing"),
    ("rivet", {"grip": ".064", "diameter": "1e9"}, "size.unknown"),
    ("rivet", {"grip": ".064", "diameter": "13/32"}, "rivet.diameter"),
    ("rivet", {"grip": ".064", "diameter": "1/8", "head": "square"}, "question.choice"),
    ("rivet", {"grip": ".064", "diameter": "1/8", "alloy": "ZZ"}, "question.choice"),
    ("rivet", {"grip": ".064", "diameter": "1/8", "hole": "#40"}, "rivet.hole"),
    ("rivet", {"grip": ".064", "diameter": "1/8", "length": "3.25"}, "rivet.length"),
    ("rivet", {"grip": ".064", "diameter": "1/8", "length": "1e9"}, "rivet.length"),
    ("rivet", {"grip": "9" * 5000, "diameter": "1/8"}, "question.long"),
    ("seam", {"length": "10", "pitch": "1"}, "question.missing"),
    ("seam", {"length": "48,5", "pitch": "1", "diameter": "1/8"}, "seam.comma"),
    ("seam", {"length": "9", "pitch": "1", "sheets": "1,6 mm"}, "sheets.comma"),
    ("seam", {"pitch": "1", "diameter": "1/8"}, "question.missing"),
    ("seam", {"length": "10", "diameter": "1/8"}, "seam.impossible"),
    ("seam", {"length": "1001x10", "pitch": "1", "diameter": "1/8"}, "seam.lengths"),
    ("seam", {"length": "0x10", "pitch": "1", "diameter": "1/8"}, "seam.lengths"),
    ("seam", {"length": "9x9x9", "pitch": "1", "diameter": "1/8"}, "size.unknown"),
    ("seam", {"length": "999", "pitch": ".001", "diameter": "1/8"}, "seam.impossible"),
    ("seam", {"length": "10", "number": "-1", "diameter": "1/8"}, "question.number"),
    (
        "seam",
        {"length": "10", "number": "\u0663", "diameter": "1/8"},
        "question.number",
    ),
    (
        "seam",
        {"length": "10", "number": "9", "diameter": "1/8", "edge_distance": "5"},
        "seam.impossible",
    ),
    (
        "seam",
        {"length": "10", "pitch": "1", "diameter": "1/8", "rows": "10"},
        "seam.impossible",
    ),
    (
        "seam",
        {"length": "10", "pitch": "1", "diameter": "1/8", "head": "square"},
        "question.choice",
    ),
    (
        "seam",
        {"length": "10", "diameter": "1/8", "splice": "4-10"},
        "question.missing",
    ),
    ("countersink", {"diameter": "7/32", "sheets": ".032"}, "countersink.unknown"),
    ("countersink", {"diameter": "3/32", "sheets": "5"}, "sheets.impossible"),
    ("countersink", {"diameter": "3/32", "sheets": ","}, "sheets.impossible"),
    ("countersink", {"diameter": "3/32"}, "question.missing"),
    ("drill", {}, "question.missing"),
    ("drill", {"size": "#99"}, "drill.unknown"),
    ("drill", {"size": "-1"}, "drill.unknown"),
    ("drill", {"size": "999.5"}, "drill.unknown"),
    ("callout", {"text": ""}, "callout.unknown"),
    ("callout", {"text": "MS20470AD4"}, "callout.incomplete"),
]


@pytest.mark.parametrize(("name", "given", "code"), IMPOSSIBLE)
def test_the_impossible_is_refused(name, given, code):
    with pytest.raises(Refused) as caught:
        ask(name, given)
    assert caught.value.code == code
    assert caught.value.data["expected"] in caught.value.sentence


def test_an_ambiguous_callout_carries_every_reading_and_every_refusal():
    """An alloy and two dashes: which head they are for is open."""
    with pytest.raises(Refused) as caught:
        ask("callout", {"text": "AD4-4"})
    found = refused_data(caught.value)
    assert found["code"] == "callout.ambiguous"
    assert {"MS20470AD4-4", "MS20426AD4-4"} <= set(found["readings"])
    assert all(name in found["expected"] for name in found["readings"])
