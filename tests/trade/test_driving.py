"""Driving and drilling: the course's pressures, the shop's sets, times and speeds."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import driving, tables
from tests.trade.checks import cases, rows

# Strength and driven heads are other modules' matter.
OTHER_ROOMS = {
    "2117 shear allowable 5/32",
    "sheet bearing 5/32 in .050",
    "upset head",
    "bearing limit",
}
NOT_FOUND = "holes per drill"
DRIVING = [row for row in rows("driving") if row["item"] not in OTHER_ROOMS]
PRESSURES = [row for row in DRIVING if row["item"].startswith("gun pressure")]
FACTS = [row for row in DRIVING if "blows/min" in row["value"]]
DRILLING = [row for row in rows("drilling") if row["item"] != NOT_FOUND]
# A check file's name of a fact: this table's.
DRILLING_FACTS = {
    "rpm formula": "rpm formula",
    "point angle": "point angle",
    "point angle trade": "split point",
    "HSS limit": "HSS limit",
    "cobalt": "cobalt",
    "step practice": "step practice",
    "ream allowance": "ream allowance",
}
EXAMPLES = [row for row in DRILLING if row["item"] == "example"]


def digits(text):
    """The figures of a text, thousands closed up and leading noughts dropped."""
    joined = re.sub(r"(?<=\d) (?=\d{3})", "", text)
    return [Fraction(each) for each in re.findall(r"\d*\.?\d+", joined)]


def test_every_row_is_answered_or_named():
    answered = {row["item"] for row in (*PRESSURES, *FACTS)}
    answered |= {"force to squeeze", "C-frame squeezer"}
    assert {row["item"] for row in rows("driving")} == answered | OTHER_ROOMS
    speeds = {"example", "table row", "V aluminium HSS", "feed", "resharpen signs"}
    assert {row["item"] for row in DRILLING} == speeds | set(DRILLING_FACTS)


@pytest.mark.parametrize("row", cases(PRESSURES, "item"))
def test_gun_pressure(row):
    found = driving.gun_pressure(Fraction(row["item"].split()[-1]))
    assert [found.least] == [found.most] == digits(row["value"])
    assert (found.certainty == "published") == (row["certainty"] == "READ")


@pytest.mark.parametrize("row", cases(FACTS, "item"))
def test_gun_speed(row):
    said = driving.fact(row["item"])
    assert digits(said["value"]) == digits(row["value"])


SQUEEZER = [row for row in DRIVING if row["item"] == "C-frame squeezer"]


@pytest.mark.parametrize("row", cases(SQUEEZER, "item"))
def test_squeezer(row):
    assert digits(driving.fact("squeezer")["value"]) == digits(row["value"])


FORCE = [row for row in DRIVING if row["item"] == "force to squeeze"]


@pytest.mark.parametrize("row", cases(FORCE, "item"))
def test_force_to_squeeze_is_a_guess(row):
    pairs = re.findall(r"([\d ]+) lb per (\d+/\d+)", row["value"])
    assert len(pairs) == len(tables.rows("squeeze_forces"))
    for pounds, diameter in pairs:
        found = driving.squeeze_force(Fraction(diameter), "AD")
        assert found.least == int(pounds.replace(" ", ""))
        assert found.certainty == "common practice"
    assert driving.squeeze_force(Fraction(5, 32), "AD") is None
    assert driving.squeeze_force(Fraction(1, 8), "DD") is None


PRACTICE = [row for row in rows("common_practice") if row["fact"] == "hand squeezer"]


@pytest.mark.parametrize("row", cases(PRACTICE, "fact"))
def test_hand_squeezer(row):
    assert driving.fact("hand squeezer")["value"] == row["value"]


STORE = [row for row in rows("sealant_storage") if row["item"] == "icebox rivets"]


@pytest.mark.parametrize("row", cases(STORE, "item"))
def test_icebox(row):
    hours, least, most = map(
        int,
        re.search(r"2017 about (\d+) h, 2024 (\d+)-(\d+) min", row["value"]).groups(),
    )
    d, dd = driving.icebox("D"), driving.icebox("DD")
    assert (d.least, d.most) == (60 * hours, 60 * hours)
    assert (dd.least, dd.most) == (least, most)
    assert "2 weeks" in driving.fact("cold store")["value"]
    assert "2 weeks" in row["value"]


ALLOYS = [
    row for row in rows("rivet_alloys") if row["heat_treat"] not in ("-", "cold store")
]


@pytest.mark.parametrize("row", cases(ALLOYS, "letter", "alloy"))
def test_what_is_heat_treated_is_kept_cold(row):
    letter = row["letter"].split()[0]
    cold = "icebox" in row["heat_treat"]
    assert (driving.icebox(letter) is not None) == cold
    assert (driving.alloy(letter)["heat_treat"] == "yes") == cold


COLD = [row for row in rows("rivet_alloys") if "cold store" in row.values()]


@pytest.mark.parametrize("row", cases(COLD, "letter", "note"))
def test_cold_store(row):
    limit, weeks = digits(driving.fact("cold store")["value"])
    assert f"below {limit} F" in row["note"]
    assert f"up to {weeks} weeks" in row["note"]


def test_every_solid_rivets_head_has_a_set():
    solid = [r for r in tables.rows("standards") if r["kind"] == "solid_rivet"]
    assert {row["head"] for row in solid} == set(driving.heads())


# Handbook practice, from memory.
@pytest.mark.parametrize(
    ("head", "chosen", "sized"),
    [
        ("universal", "universal cup set", "yes"),
        ("flush", "flush (mushroom) set", "no"),
        ("round", "round-head cup set", "yes"),
        ("flat", "flat set", "no"),
        ("modified brazier", "brazier cup set", "yes"),
    ],
)
def test_sets_from_memory(head, chosen, sized):
    row = driving.hammer_set(head)
    assert (row["set"], row["sized"], row["certainty"]) == (
        chosen,
        sized,
        "from memory",
    )


@pytest.mark.parametrize("row", cases(EXAMPLES, "value"))
def test_rpm_examples(row):
    speed, diameter, turns = re.match(
        r"V (\d+), D (\S+) .*-> (.+) rpm", row["value"]
    ).groups()
    found = driving.rpm(Fraction(speed), Fraction(diameter))
    # The examples round to 3.82 / D and to whole turns.
    assert found == pytest.approx(int(turns.replace(" ", "")), rel=3e-4)


TABLE = [row for row in DRILLING if row["item"] == "table row"]


@pytest.mark.parametrize("row", cases(TABLE, "item"))
def test_rpm_table(row):
    for diameter, turns in re.findall(r"(1/4|1/2|3/4|1) (?:in )?(\d{4})", row["value"]):
        # That table rounds with 3.8 / D.
        assert driving.rpm(Fraction(300), Fraction(diameter)) == pytest.approx(
            int(turns), rel=2e-2
        )


SPEEDS = [row for row in DRILLING if row["item"] == "V aluminium HSS"]


@pytest.mark.parametrize("row", cases(SPEEDS, "item"))
def test_speeds_of_aluminium_by_source(row):
    said = digits(row["value"])
    found = [driving.speed("aluminium", key) for key in ("table", "single", "wrought")]
    assert [found[0].least, found[0].most, found[1].least] == said[:3]
    assert [found[2].least, found[2].most] == said[3:]
    assert driving.speed("aluminium") == found[0]


# The example of mild steel: 80 ft/min, restated.
def test_speed_of_mild_steel():
    assert any("V 80" in r["value"] and "mild steel" in r["value"] for r in EXAMPLES)
    assert driving.speed("mild steel").least == 80
    assert driving.materials() == ("aluminium", "mild steel")


FEEDS = [row for row in DRILLING if row["item"] == "feed"]


@pytest.mark.parametrize("row", cases(FEEDS, "item"))
def test_feeds(row):
    spans = re.findall(r"(\.\d+)-(\.\d+)", row["value"])
    for diameter, (least, most) in zip(("1/8", "1/4", "1/2"), spans, strict=True):
        found = driving.feed(Fraction(diameter))
        assert (found.least, found.most) == (Fraction(least), Fraction(most))
    assert driving.feed(Fraction(9, 16)) is None


NAMED = [row for row in DRILLING if row["item"] in DRILLING_FACTS]


@pytest.mark.parametrize("row", cases(NAMED, "item"))
def test_facts_on_drilling(row):
    said = driving.drilling_fact(DRILLING_FACTS[row["item"]])["value"]
    assert set(digits(said)) <= set(digits(row["value"]))
    telling = [
        word for word in re.findall("[a-z]{5,}", said.lower()) if word in row["value"]
    ]
    assert len(telling) > 1 or digits(said)


SIGNS = [row for row in DRILLING if row["item"] == "resharpen signs"]


@pytest.mark.parametrize("row", cases(SIGNS, "item"))
def test_signs_of_a_dull_drill(row):
    sharp = driving.drilling_fact("sharp signs")["value"]
    assert f"{sharp} = sharp" in row["value"]
    dull = driving.drilling_fact("dull signs")["value"]
    for sign in ("squeal", "colour", "burr", "oversize", "out"):
        assert sign in dull
        assert sign in row["value"]


def test_no_published_figure_for_the_holes_of_a_drill():
    row = next(row for row in rows("drilling") if row["item"] == NOT_FOUND)
    assert row["certainty"] == "NOT FOUND"
    said = driving.drilling_fact("holes per drill")
    assert said["value"].startswith("no published figure")
    assert not digits(said["value"])


sixty_fourths = st.integers(1, 32).map(lambda steps: Fraction(steps, 64))


@given(sixty_fourths, sixty_fourths)
def test_a_larger_drill_turns_slower(one, other):
    small, large = sorted((one, other))
    speed = Fraction(300)
    assert driving.rpm(speed, small) >= driving.rpm(speed, large)
    assert driving.feed(small).least <= driving.feed(large).least


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        (lambda: driving.hammer_set("square"), "driving.head"),
        (lambda: driving.alloy("Z"), "driving.alloy"),
        (lambda: driving.speed("titanium"), "driving.material"),
        (lambda: driving.speed("mild steel", "wrought"), "driving.material"),
    ],
)
def test_unknown_things_are_refused(asked, code):
    with pytest.raises(Refused, match="Expected one of") as caught:
        asked()
    assert caught.value.code == code
