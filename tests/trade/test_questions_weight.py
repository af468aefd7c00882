"""The question of weight: a piece, a pound, a pack, and a sample that knows better."""

import pytest

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.cautions import AIRWORTHINESS
from inventory.trade.questions.shape import as_data
from inventory.trade.questions.weight import QUESTION


def ask(**given):
    return as_data(QUESTION.answer(given))


# Computed from geometry and head dimensions given from memory.
@pytest.mark.parametrize(
    ("callout", "milligrams"), [("AN426AD3-3.5", 81), ("MS20470AD4-4", 227)]
)
def test_a_piece_and_a_pound(callout, milligrams):
    found = ask(text=callout)
    assert found["callout"] == callout
    assert found["piece_mg"] == pytest.approx(milligrams, rel=0.01)
    assert found["piece_mg_low"] < milligrams < found["piece_mg_high"]
    # Published: a pound is 453 592.37 mg.
    low, high = found["pieces_per_pound_low"], found["pieces_per_pound_high"]
    assert low < 453592.37 / milligrams < high
    assert (found["pieces"], found["replaced"]) == (None, False)
    assert (
        f"{low} to {high} to the pound" in QUESTION.answer({"text": callout}).headline
    )


@pytest.mark.parametrize("text", ["1/4", "0.25", ".25"])
def test_a_pack(text):
    found = ask(text="AN470AD4-4", pounds=text)
    usual = 453592.37 / 4 / 227
    assert found["pieces"]["low"] < usual < found["pieces"]["high"]
    assert any(each["name"] == f"pieces in {text} lb" for each in found["figures"])


def test_mixed_pounds():
    one, more = (ask(text="AN470AD4-4", pounds=text) for text in ("1", "1 1/4"))
    assert one["pieces"]["low"] == one["pieces_per_pound_low"]
    assert more["pieces"]["low"] == pytest.approx(1.25 * one["pieces"]["low"], abs=2)


# Computed: 100 small rivets on a 0.1 g scale are good to 1.2 %.
def test_a_sample_replaces_the_guess():
    sample = {"sample_pieces": "100", "sample_grams": "8.1"}
    found = ask(text="AN426AD3-3.5", **sample)
    assert (found["piece_mg"], found["replaced"]) == (81, True)
    assert (found["piece_mg_low"], found["piece_mg_high"]) == (80, 82)
    finer = ask(text="AN426AD3-3.5", **sample, division="0.01")
    assert (finer["piece_mg_low"], finer["piece_mg_high"]) == (80.9, 81.1)


@pytest.mark.parametrize("callout", ["AN3-4A", "MS20600AD4W2", "AN742-4"])
def test_other_parts_are_weighed(callout):
    with pytest.raises(Refused, match="weigh a counted sample") as caught:
        ask(text=callout)
    assert caught.value.code == "mass.unknown"
    found = ask(text=callout, sample_pieces="20", sample_grams="160")
    assert (found["piece_mg"], found["replaced"]) == (8000, True)
    assert not any(each["name"] == "density" for each in found["figures"])


# Restated: 2117 is 2.75 g/cm3; from memory: nickel-copper is 8.8.
@pytest.mark.parametrize(
    ("callout", "density", "certainty"),
    [("AN470AD4-4", "2.75", "restated"), ("AN470M4-4", "8.8", "from memory")],
)
def test_the_density_is_said(callout, density, certainty):
    figures = {each["name"]: each for each in ask(text=callout)["figures"]}
    assert figures["density"]["text"].startswith(f"{density} g/cm3")
    assert figures["density"]["certainty"] == certainty


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({}, "question.missing"),
        ({"text": "nonsense"}, "callout.unknown"),
        ({"text": "AN470AD4-4", "pounds": "a few"}, "weight.number"),
        ({"text": "AN470AD4-4", "pounds": "0"}, "weight.number"),
        ({"text": "AN470AD4-4", "pounds": "0/4"}, "weight.number"),
        ({"text": "AN470AD4-4", "sample_pieces": "20"}, "question.missing"),
        ({"text": "AN470AD4-4", "sample_grams": "8"}, "question.missing"),
        (
            {"text": "AN470AD4-4", "sample_pieces": "1/2", "sample_grams": "8"},
            "weight.number",
        ),
        (
            {"text": "AN470AD4-4", "sample_pieces": "1", "sample_grams": "0.1"},
            "mass.sample",
        ),
    ],
)
def test_refused(given, code):
    with pytest.raises(Refused, match=r"Expected|expected") as caught:
        ask(**given)
    assert caught.value.code == code
    assert caught.value.data["expected"]


def test_marks_and_limits():
    found = ask(text="AN470AD4-4", pounds="1/2")
    assert found["airworthiness"] == AIRWORTHINESS
    assert "never that it is unmixed" in found["warnings"][0]["sentence"]
    for each in (*found["figures"], *found["warnings"]):
        assert each["certainty"] in tables.MARKS
        assert each["source"]
