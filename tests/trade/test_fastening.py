"""A named callout is taken for what it is: every kind, in every question that takes one.

The rules are the trade's own: only a solid rivet is driven with a set; a nut, a washer and
a cotter pin take no hole; dies and cutters of 100 degree heads fit no other head. Common
practice, no source. Holes are those of the hole table, with its sources.
"""

from fractions import Fraction

import pytest

from inventory.errors import Refused
from inventory.planning.rules.seaming import seamed
from inventory.sheets import Row
from inventory.trade import cautions, holes, tables
from inventory.trade.callouts import parse
from inventory.trade.fastening import DECIDED
from inventory.trade.holes import fastener_of
from inventory.trade.questions.index import QUESTIONS
from inventory.trade.questions.seam import answer

# One callout of every standard this handbook reads, in thin sheets.
OF_STANDARD = {
    "MS20426": "MS20426AD4-4",
    "MS20470": "MS20470AD4-4",
    "MS20430": "AN430AD4-4",
    "MS20442": "AN442AD4-4",
    "MS20456": "AN456AD4-4",
    "AN455": "AN455AD4-4",
    "AN425": "AN425AD4-4",
    "AN420": "AN420AD4-4",
    "NAS1097": "NAS1097AD4-4",
    "MS20600": "MS20600AD4W2",
    "MS20601": "MS20601AD4W2",
    "MS20602": "MS20602AD4W2",
    "MS20603": "MS20603AD4W2",
    "NAS177": "NAS177-4-4",
    "NAS178": "NAS178-4-4",
    "MS20365": "AN365-1032A",
    "MS20364": "AN364-1032A",
    "MS21044": "MS21044N3",
    "MS21083": "MS21083N3",
    "MS21042": "MS21042-3",
    "MS21047": "MS21047-3",
    "MS21049": "MS21049-3",
    "MS21051": "MS21051-3",
    "MS21059": "MS21059-3",
    "AN310": "AN310-3",
    "AN320": "AN320-3",
    "AN315": "AN315-3",
    "AN316": "AN316-3",
    "AN960": "AN960-10",
    "NAS1149": "NAS1149F0363P",
    "MS24693": "MS24693-S30",
    "MS24694": "MS24694-S50",
    "AN507": "AN507-632-8",
    "AN509": "AN509-10R8",
    "AN525": "AN525-10R8",
    "AN526": "AN526-632-8",
    "AN515": "AN515-6-8",
    "AN520": "AN520-10-8",
    "MS27039": "MS27039-1-08",
    "AN380": "AN380-2-2",
    "AN381": "AN381-2-2",
    "MS24665": "MS24665-132",
    "AN3": "AN3-4A",
    "AN4": "AN4-4A",
    "AN5": "AN5-5A",
    "AN6": "AN6-5A",
}
FULL = {"universal", "flush"}


def seam(callout, sheets=".032,.040", **more):
    return answer(
        {"length": "10", "pitch": "1", "sheets": sheets, "callout": callout, **more}
    )


def test_every_standard_that_is_read_has_its_example():
    assert {row["key"] for row in tables.rows("standards")} <= OF_STANDARD.keys()


@pytest.mark.parametrize("callout", OF_STANDARD.values())
def test_a_seam_takes_each_kind_for_what_it_is(callout):
    reading = parse(callout)
    if reading.diameter_in is None:
        for more in ({}, {"diameter": "3/16"}):
            with pytest.raises(Refused, match=callout):
                seam(callout, **more)
        return
    found = seam(callout)
    work = {row["operation"]: row for row in found.data["work"]}
    tools = " ".join(found.data["tools"])
    is_solid = reading.kind == "solid_rivet"
    assert bool(work) == bool(fastener_of(reading))
    assert ("set" in tools.split()) == is_solid
    is_ours = is_solid and reading.head in FULL
    assert ("dimple" in work) == (is_ours and reading.head == "flush")
    assert ("dies" in tools) == ("dimple" in work)
    if not is_ours:
        assert "degree cutter" not in tools
        assert {row["preparation"] for row in found.data["sheets"]} <= {
            "plain",
            DECIDED,
        }
    if work:
        drilled = work.get("full") or work["open"]
        hole = holes.hole_for(fastener_of(reading))
        names = {hole.drill.name if hole.drill else "", "0.3125", "5/16", "3/8"}
        assert drilled["size"] in names
    if found.drawing is not None:
        assert is_solid
        assert is_ours or "flush" not in reading.head
    is_blind = reading.kind == "blind_rivet"
    topics = {each.topic for each in found.cautions}
    assert ("driving" in topics, "pulling" in topics) == (is_solid, is_blind)
    noun = "rivets" if is_solid or is_blind else "pieces"
    assert f" {noun} = " in found.data["rule"]


@pytest.mark.parametrize("callout", OF_STANDARD.values())
def test_every_other_question_refuses_a_callout_by_name_or_is_about_callouts(callout):
    for question in QUESTIONS:
        if question.name in ("seam", "sealant"):
            continue
        first = next(field for field in question.fields if field.required)
        given = {first.name: callout, "grip": ".064", "pounds": "1/4"}
        names = {field.name for field in question.fields}
        asked = {name: text for name, text in given.items() if name in names}
        is_solid = parse(callout).kind == "solid_rivet"
        if question.name == "callout" or (question.name == "weight" and is_solid):
            said = _said(question, asked)
        else:
            with pytest.raises(Refused) as refused:
                question.answer(asked)
            said = refused.value.sentence
        assert callout in said


def _said(question, asked):
    """The headline; of a solid rivet whose head has no mass here, the refusal."""
    try:
        return question.answer(asked).headline
    except Refused as refusal:
        return refusal.sentence


@pytest.mark.parametrize(
    ("callout", "drill"),
    [
        ("AN3-4A", "#12"),
        ("MS20600AD5W2", "#20"),
        ("MS24693-S30", "#28"),
        ("MS20470AD5-5", "#21"),
        ("AN960-10", None),
        ("MS21042-3", None),
    ],
)
def test_a_plans_seam_drills_the_fasteners_own_hole(callout, drill):
    cells = {"seam_length": "10", "pitch": "1", "sheets": ".032+.040"}
    found = seamed(Row(2, {**cells, "callout": callout}))
    assert found.callout == callout
    assert {size for size, _work in found.drilled} - {"#40"} == ({drill} - {None})


@pytest.mark.parametrize(
    ("callout", "sheets", "said"),
    [
        ("MS20470AD4-8", ".032,.040", "-8 makes a head that is tall: do not drive it"),
        ("MS20470AD4-3", ".063,.063", "-3 makes a head that is"),
        ("MS20470AD4-4", ".032,.032", ""),
        (
            "MS20600AD4W3",
            ".032,.040",
            "grip is .126 to .187 in and the sheets are .072",
        ),
        ("MS20600AD4W2", ".032,.040", ""),
        ("AN3-5A", ".125,.125", ""),
        ("AN3-5A", ".125,.188", "thread would bear in the hole"),
        ("AN3-5A", ".125,.063", "washers of .062 in must make up the rest"),
        ("NAS1097AD4-4", ".032,.040", "The drawing decides."),
        ("AN425AD4-4", ".032,.040", "The drawing decides."),
        ("MS24693-S30", ".032,.040", "No temporary fastener for a #28 hole"),
    ],
)
def test_what_is_named_is_judged_against_its_sheets(callout, sheets, said):
    """The least driven head and the grips are those of the tables that `rivet` and
    `callout` answer from, with their sources."""
    warned = " ".join(each.sentence for each in seam(callout, sheets).warnings)
    judged = ("do not", "thread would", "washers of", "The drawing", "No temporary")
    assert said in warned
    if not said:
        warned = warned.replace("The drawing decides.", "")
        assert not any(words in warned for words in judged)


def test_sources_that_disagree_on_a_hole_are_said_to():
    said = holes.disagreements("AN3")
    assert len(said) == 1
    assert (
        "(.1890 in, common practice, no source) is outside .1910 to .1970 in" in said[0]
    )
    assert holes.disagreements("3/32 rivet") == ()
    assert any(said[0] == each.sentence for each in seam("AN3-5A").warnings)
    (question,) = [each for each in QUESTIONS if each.name == "callout"]
    found = question.answer({"text": "AN3-5A"})
    assert said[0] in [each.sentence for each in found.warnings]


def test_a_hole_lies_within_its_own_limits():
    for fastener in {row["fastener"] for row in tables.rows("holes")}:
        for hole in holes.holes_for(fastener):
            if hole.limits_in:
                low, high = hole.limits_in
                assert low <= hole.diameter_in <= high


def test_an_unread_callout_is_counted_only_with_its_diameter():
    with pytest.raises(Refused, match="the diameter of AN173-5A"):
        seam("AN173-5A")
    found = seam("AN173-5A", diameter="1/8")
    assert (found.data["rivets"], found.data["work"], found.data["tools"]) == (
        11,
        [],
        (),
    )
    assert found.drawing is None


def test_a_strength_table_counts_solid_rivets_only():
    with pytest.raises(Refused, match="Expected a solid rivet"):
        answer(
            {
                "length": "10",
                "sheets": ".032,.032",
                "callout": "MS20600AD4W2",
                "splice": "4-9",
            }
        )


def test_a_flush_seam_stands_two_and_a_half_diameters_from_its_ends():
    """Exam guides, restated; the seam then breaks no edge rule of its own."""
    found = seam("MS20426AD4-4")
    assert found.data["edge_in"] == Fraction(5, 16)
    assert not any("edge" in each.sentence for each in found.warnings)
    assert seam("MS20470AD4-4").data["edge_in"] == Fraction(1, 4)
    thick = seam("MS20426AD4-4", ".063,.032").data["tools"]
    assert thick == ("flush (mushroom) set", "100 degree cutter, pilot #30")


def test_stems_that_fly_are_warned_of():
    (said,) = cautions.about("pulling")
    assert "eyes" in said.sentence
    assert "every stem" in said.sentence


def ask(name, **given):
    return next(each for each in QUESTIONS if each.name == name).answer(given)


@pytest.mark.parametrize(
    ("callout", "said"),
    [
        ("MS20470AD9-4", "No 9/32 rivet is stocked"),
        ("MS20470AD4-33", "No rivet 2 1/16 long is stocked"),
        ("MS20470AD4-1", "No rivet 1/16 long is stocked"),
        ("MS20600AD4W9", "Its least grip is not known here"),
        ("MS20470AD4-4", ""),
        ("MS20600AD4W2", ""),
    ],
)
def test_a_size_that_nobody_makes_is_warned_of(callout, said):
    warned = " ".join(each.sentence for each in ask("callout", text=callout).warnings)
    assert said in warned
    assert bool(said) == ("stocked" in warned or "least grip" in warned)


@pytest.mark.parametrize("question", ["rivet", "seam", "countersink", "driving"])
def test_who_measures_in_millimetres_is_told_the_inch_beside(question):
    """25.4 mm to the inch, exactly: 1/8 in is 3.175 mm."""
    more = {"grip": "1.6 mm", "length": "250 mm", "pitch": "25 mm", "sheets": "1 mm"}
    if question == "rivet":
        more = {"grip": "1.6 mm"}
    with pytest.raises(Refused, match=r"got '3.2 mm', next to 1/8 \(3.175 mm\)"):
        ask(question, diameter="3.2 mm", **more)


def test_a_sample_that_weighs_otherwise_is_another_part():
    """1/8 universal, 1/4 long, is 210 to 247 mg by its dimensions (from memory)."""
    sample = {"sample_pieces": "100", "text": "MS20470AD4-4"}
    wrong = ask("weight", **sample, sample_grams="60")
    assert "This is not MS20470AD4-4" in wrong.warnings[0].sentence
    right = ask("weight", **sample, sample_grams="23")
    assert not any("This is not" in each.sentence for each in right.warnings)


def test_a_screw_with_its_material_letter_is_read_though_its_dash_is_not_known():
    for text in ("MS24694-S50", "MS24694S50"):
        found = ask("callout", text=text)
        assert found.data["kind"] == "screw"
        assert (found.data["callout"], found.data["alloy"]) == (
            "MS24694-S50",
            "alloy steel",
        )
        assert "is not known here" in found.data["meaning"]
    with pytest.raises(Refused, match="material letter"):
        ask("callout", text="MS24694-50")
