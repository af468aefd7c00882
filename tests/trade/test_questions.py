"""The answers: each key a program reads, against published values; sources and marks."""

import json
import re
from fractions import Fraction

import pytest

from inventory.trade import tables
from inventory.trade.cautions import AIRWORTHINESS
from inventory.trade.questions.index import QUESTIONS, named
from inventory.trade.questions.shape import as_data
from tests.trade.asked import ASKED, NAMES, ask
from tests.trade.checks import cases, rows

# By the international yard and pound agreement of 1959, published.
MM = Fraction("25.4")
EVERY = [(name, given) for name in NAMES for given in ASKED[name]]
FIRST = {row["id"]: row for row in rows("first_checks")}
CALLOUT_KEYS = {
    *("callout", "kind", "standard", "head", "alloy", "diameter_in", "length_in"),
    *("grip_in", "equivalents", "meaning"),
}


def data(name, **given):
    """What a program gets: through JSON and back, so nothing in it is ours."""
    return json.loads(json.dumps(as_data(ask(name, given))))


def near(printed):
    """A figure as a table prints it: good to half its last place."""
    places = len(printed.partition(".")[2])
    return pytest.approx(float(printed), abs=0.5001 * 10.0**-places)


# AC 43.13-1B p. 4-16 names this half length; its alloy and sizes by the published grammar.
def test_callout_keys():
    found = data("callout", text="ms20470ad4-3.5")
    assert set(found) >= CALLOUT_KEYS
    head, alloy, diameter, length = FIRST["S01"]["expected"].split(";")
    assert (found["callout"], found["standard"]) == ("MS20470AD4-3.5", "MS20470")
    assert (found["kind"], found["head"]) == ("solid rivet", head)
    assert found["alloy"].startswith(alloy)
    assert (found["diameter_in"], found["length_in"]) == (
        float(diameter),
        float(length),
    )
    assert found["grip_in"] is None
    assert set(found["equivalents"]) == {"AN470AD4-3.5", "NASM20470AD4-3.5"}
    for word in ("Solid rivet", "2117-T4", "1/8 in", "7/32 in"):
        assert word in found["meaning"]


# Restated: the AN3 to AN20 bolt sheet.
def test_a_bolts_grip_is_one_figure_and_a_blind_rivets_two():
    assert data("callout", text="AN3-4A")["grip_in"] == 0.125
    published = next(row for row in rows("blind_rivet_grips") if row["number"] == "42")
    span = [float(published["grip_min"]), float(published["grip_max"])]
    assert data("callout", text="MS20600 series, no. 42")["grip_in"] == span


@pytest.mark.parametrize("row", cases(rows("callouts"), "callout"))
def test_every_published_callout_through_the_question(row):
    found = data("callout", text=row["callout"])
    assert found["kind"] == row["kind"]
    if row["alloy"] != "-":
        assert found["alloy"].startswith(row["alloy"])
    if thread := re.search(r"\d+(?:/\d+)?-\d+", row["diameter"]):
        assert found["thread"] == thread[0]
    elif size := re.search(r"\d+/\d+", row["diameter"]):
        assert found["diameter_in"] == float(Fraction(size[0]))
    assert found["callout"] in ask("callout", {"text": row["callout"]}).headline


# NAVEDTRA 14018 fig. 13-43: length = grip + 1.5 D; worked by exam pages and a handbook.
@pytest.mark.parametrize(
    "row",
    cases([row for row in rows("rivet_length_examples") if row["dash"]], "grip_in"),
)
def test_rivet_length_and_dash(row):
    grip = row["grip_in"].split()[0]
    found = data("rivet", grip=grip, diameter=row["dia_in"], head="universal")
    assert found["length_in"] == float(row["length_in"])
    assert found["dash"] == row["dash"].split()[0].removeprefix("-")
    assert found["dash"] in found["acceptable"]
    assert found["callout"] == f"MS20470AD4-{found['dash']}"


# TM 9-2320-303-24-2 table 5: over 2 in of grip a sixteenth more for every 2 in.
def test_a_rivet_longer_than_callouts_say_has_a_length_and_no_callout():
    found = data("rivet", grip="4.0", diameter="3/16")
    assert found["length_in"] == float(FIRST["S04"]["expected"].rpartition("= ")[2])
    assert (found["callout"], found["best"], found["acceptable"]) == (None, None, [])


DRIVEN = [row for row in rows("driven_heads") if row["rivet"].endswith("/32")]


@pytest.mark.parametrize("row", cases(DRIVEN, "standard", "rivet"))
def test_published_driven_heads(row):
    found = data("rivet", grip=".064", diameter=row["rivet"])["shop_head"]
    if row["min_dia"]:
        assert found["min_diameter_in"] == near(row["min_dia"])
        assert found["min_height_in"] == near(row["height_limits"])
    else:
        assert found["nominal_diameter_in"] == near(row["nom_dia"])
        assert found["nominal_height_in"] == near(row["nom_height"])


def test_the_driven_head_is_what_the_shank_leaves_over():
    """Metal is neither lost nor won: shank = what fills the hole + driven head."""
    found = data("rivet", grip="0.064", diameter="1/8", hole="#30")
    head, hole = found["shop_head"], found["hole_in"]
    # MIL-HDBK-5H p. 8-9 (published): 1.3 D by 0.3 D at least.
    assert (head["min_diameter_in"], head["min_height_in"]) == (0.1625, 0.0375)
    assert (hole, head["dash"]) == (0.1285, "4")
    left = 0.125**2 * 4 / 16 - hole**2 * 0.064
    assert head["diameter_in"] ** 2 * head["height_in"] == pytest.approx(left)
    assert head["acceptable"] is True


def test_the_length_judged_is_the_one_asked_for():
    """Two sixteenths stand too little out of .064 in, by the volume left over."""
    height = (0.125**2 * 2 / 16 - 0.1285**2 * 0.064) / (1.5 * 0.125) ** 2
    assert height < 0.0375  # MIL-HDBK-5H p. 8-9, published
    found = data("rivet", grip=".064", diameter="1/8", length="2")
    judged = found["shop_head"]
    assert (judged["dash"], judged["acceptable"]) == ("2", False)
    assert judged["height_in"] == pytest.approx(height)
    assert "2" not in found["acceptable"]
    assert any("-2 makes a head" in each["sentence"] for each in found["warnings"])


def test_a_flush_rivet_without_a_rule_for_its_sheet_still_has_a_length():
    found = data("rivet", grip=".064", diameter="1/16", head="FLUSH", alloy="a")
    # NAVEDTRA 14018: .064 + 1.5 x 1/16.
    assert found["length_in"] == 0.15775
    assert found["callout"] == "MS20426A2-3"


@pytest.mark.parametrize("row", cases(rows("drill_sizes"), "name"))
def test_drill_keys(row):
    found = data("drill", size=row["name"])
    assert found["size"] == row["name"]
    assert found["diameter_in"] == near(row["inch"])
    assert found["diameter_mm"] == near(row["mm"])


def test_a_drills_neighbours_are_the_tables():
    """The drills beside #40, by the published sizes in order."""
    sizes = sorted({float(row["inch"]) for row in rows("drill_sizes")})
    at = sizes.index(0.0980)
    found = data("drill", size="#40")
    assert found["diameter_mm"] == near("2.489")
    assert found["nearest_down"]["diameter_in"] == near(f"{sizes[at - 1]:.4f}")
    assert found["nearest_up"]["diameter_in"] == near(f"{sizes[at + 1]:.4f}")
    between = data("drill", size=".0990")
    assert (between["size"], between["diameter_in"]) == (None, 0.099)


LEAST_OF = (FIRST["S05"][column].split(";") for column in ("input", "expected"))
LEAST = list(zip(*LEAST_OF, strict=True))


# TM 9-2320-363-34-2 table 4 (published): the thinnest sheet to countersink.
@pytest.mark.parametrize(
    ("diameter", "least"),
    LEAST,
)
def test_countersink_keys(diameter, least):
    thinner = str(float(least) - 0.001)
    assert data("countersink", diameter=diameter, sheets=least)["preparation"] == [
        "countersink"
    ]
    found = data("countersink", diameter=diameter, sheets=thinner)
    assert found["preparation"] == ["dimple"]
    assert found["least_sheet_in"]["manual"] == float(least)
    assert found["by_source"]["manual"] == ["dimple"]


# AC 43.13-1B p. 4-27 (published): a 10 in lap splice of .032 in takes 37, 19 to a row;
# at the least spacing of 4 D the pattern holds 40.
def test_the_circulars_splice():
    splice = {"length": "10", "sheets": ".032,.032", "diameter": "1/8", "rows": "2"}
    found = data("seam", **splice, splice="4-10", share="lap")
    assert found["needed"] == int(FIRST["S07"]["expected"].split()[0])
    assert [run["by_row"] for run in found["runs"]] == [[19, 19]]
    assert data("seam", **splice, pitch="1/2")["rivets"] == 40


# AC 43.13-1B fig. 4-20 (published): 3 and 8 rivets in a frame.
def test_the_circulars_frames():
    counts = [
        data(
            "seam",
            length=width,
            sheets=".040,.040",
            diameter="1/8",
            splice="4-10",
            share="frame",
        )["needed"]
        for width in (".6", "2.0")
    ]
    assert counts == [
        int(each) for each in FIRST["S08"]["expected"].split() if each != "and"
    ]


def test_lengths_several_times_and_in_capitals():
    """A phone writes '2X10'; ten inches by the inch take 11, less the two edges' half."""
    one = data("seam", length="10", pitch="1", diameter="1/8")["rivets"]
    for text in ("2x10", "2X10", "2 x 10", "10, 10", "10+10", "1x10;10"):
        found = data("seam", length=text, pitch="1", diameter="1/8")
        assert found["rivets"] == 2 * one
        assert len(found["runs"]) == 2


def numbers(found, ending, path=""):
    """Every value whose name ends so, all the way down, with its path."""
    if isinstance(found, dict):
        for name, value in found.items():
            if name.endswith(ending):
                yield path + name, value
            else:
                yield from numbers(value, ending, f"{path}{name}.")
    elif isinstance(found, list):
        for at, value in enumerate(found):
            yield from numbers(value, ending, f"{path}{at}.")


def leaves(value):
    if isinstance(value, dict):
        return [leaf for each in value.values() for leaf in leaves(each)]
    if isinstance(value, list):
        return [leaf for each in value for leaf in leaves(each)]
    return [value]


@pytest.mark.parametrize(("name", "given"), EVERY)
def test_lengths_are_numbers_and_millimetres_follow(name, given):
    found = data(name, **given)
    lengths = [*numbers(found, "_in"), *numbers(found, "_mm")]
    for path, value in lengths:
        for leaf in leaves(value):
            assert leaf is None or type(leaf) in (int, float), path
    inches = dict(numbers(found, "_in"))
    for path, millimetres in numbers(found, "_mm"):
        size = inches[path.removesuffix("_mm") + "_in"]
        if size is None:
            assert millimetres is None
        else:
            assert millimetres == pytest.approx(size * float(MM), rel=1e-12)


BOTH_UNITS = re.compile(r"(\d*\.?\d+) in \((\d+\.\d\d) mm\)")


@pytest.mark.parametrize(("name", "given"), EVERY)
def test_both_units_in_words_agree(name, given):
    answer = ask(name, given)
    for text in (answer.headline, *(each.text for each in answer.figures)):
        for inches, millimetres in BOTH_UNITS.findall(text):
            # Half a place of each: .0001 in is .0025 mm.
            assert abs(float(inches) * 25.4 - float(millimetres)) <= 0.0065


@pytest.mark.parametrize(("name", "given"), EVERY)
def test_every_line_has_a_source_and_a_mark(name, given):
    answer = ask(name, given)
    assert answer.headline
    assert answer.figures
    for each in (*answer.figures, *answer.warnings, *answer.cautions):
        assert each.source
        assert each.certainty.startswith(tables.MARKS)
    assert as_data(answer)["airworthiness"] == AIRWORTHINESS
    assert len({each.name for each in named(name).fields}) == len(named(name).fields)


def test_every_field_of_every_question_is_asked():
    for question in QUESTIONS:
        asked = {name for given in ASKED[question.name] for name in given}
        assert asked == {each.name for each in question.fields}
        assert question.title
        assert question.asks.endswith("?")
