"""Seams: counts that fit their length, every operation, and the circular's example."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import lengths, seams
from inventory.trade.seams import SeamShape, takes

SHEETS = (Fraction("0.032"), Fraction("0.032"))
PLAIN = SeamShape(
    runs=(Fraction(10),), sheets=SHEETS, diameter=Fraction(1, 8), pitch=Fraction(1)
)
SEAMS = st.builds(
    SeamShape,
    runs=st.lists(st.fractions(1, 60), min_size=1, max_size=4).map(tuple),
    sheets=st.lists(
        st.sampled_from([Fraction(t) for t in (".02", ".025", ".032", ".040")]),
        min_size=1,
        max_size=3,
    ).map(tuple),
    diameter=st.sampled_from([Fraction(3, 32), Fraction(1, 8)]),
    pitch=st.fractions("0.4", 2),
    rows=st.integers(1, 4),
    staggered=st.booleans(),
    head=st.sampled_from(["universal", "flush"]),
    hold_every=st.integers(0, 5),
)


def work(found):
    return {each.operation: (each.size, each.count) for each in found.work}


# AC 43.13-1B para 4-58g p. 4-27 (published): a 10 in splice in .032, 1/8 rivets, in
# two rows; the pattern of least spacing, 4 D apart, would hold 40.
def test_the_circulars_splice_in_two_rows():
    two_rows = replace(PLAIN, pitch=None, number=37, rows=2)
    assert takes(two_rows).runs[0].by_row == (19, 19)
    least = replace(PLAIN, pitch=4 * PLAIN.diameter, rows=2)
    assert takes(least).rivets == 40


@pytest.mark.slow
@given(SEAMS)
def test_no_pitch_is_over_the_one_asked_and_one_rivet_fewer_would_be(seam):
    for run in takes(seam).runs:
        between = run.length_in - 2 * seam.edge_in
        if run.pitch_in is None:
            assert between == 0
            continue
        assert run.pitch_in <= seam.pitch
        assert run.pitch_in * (run.by_row[0] - 1) == between
        if run.by_row[0] > 2:
            assert between / (run.by_row[0] - 2) > seam.pitch
        assert type(run.pitch_in) is Fraction


@pytest.mark.unmeasured
@pytest.mark.slow
@given(SEAMS)
def test_a_longer_seam_or_another_row_never_takes_fewer(seam):
    found = takes(seam)
    longer = takes(replace(seam, runs=tuple(run + 1 for run in seam.runs)))
    wider = takes(replace(seam, rows=seam.rows + 1))
    assert found.rivets < wider.rivets
    assert found.rivets <= longer.rivets


@pytest.mark.slow
@given(SEAMS)
def test_every_hole_is_drilled_deburred_and_held(seam):
    found = takes(seam)
    done = work(found)
    assert done["full"][1] == found.rivets
    assert done["deburr"][1] == 2 * found.rivets * len(seam.sheets)
    if seam.hold_every:
        assert found.holders * seam.hold_every >= found.rivets
    else:
        assert (found.holders, found.holder_size) == (0, "")
    if seam.head == "flush":
        worked = done.get("dimple", ("", 0))[1] + done.get("countersink", ("", 0))[1]
        named = [each for each in found.preparation if each != "plain"]
        assert worked == found.rivets * len(named)
    else:
        assert set(found.preparation) == {"plain"}


@pytest.mark.slow
@given(SEAMS)
def test_the_rivet_is_the_one_its_sheets_ask_for(seam):
    grip = sum(seam.sheets)
    dash = Fraction(takes(seam).callout.rpartition("-")[2])
    rule = lengths.required_length(grip, seam.diameter) * 16
    assert abs(dash - rule) <= 1
    assert f"AD{seam.diameter * 32}-" in takes(seam).callout


def test_a_staggered_row_stands_in_the_gaps():
    found = takes(replace(PLAIN, rows=3, staggered=True))
    assert found.runs[0].by_row == (11, 10, 11)
    assert seams.rule(found) == "32 rivets = 10 in: 11 + 10 + 11"


def test_pilot_open_dimple_and_countersink_each_with_its_tool():
    seam = replace(
        PLAIN,
        head="flush",
        sheets=(Fraction("0.032"), Fraction("0.063")),
        pilot="40",
    )
    assert work(takes(seam)) == {
        "pilot": ("#40", 11),
        "open": ("#30", 11),
        "deburr": ("", 44),
        "dimple": ("1/8 rivet dies", 11),
        "countersink": ("#30", 11),
    }


def test_punched_holes_are_only_opened_and_large_ones_get_a_pilot():
    assert "pilot" not in work(takes(replace(PLAIN, punched=True)))
    assert work(takes(replace(PLAIN, punched=True)))["open"] == ("#30", 11)
    large = replace(PLAIN, diameter=Fraction(3, 16), sheets=(Fraction(1, 8),))
    assert work(takes(large))["pilot"] == ("#40", 11)


def test_a_named_callout_is_kept_and_no_sheets_give_no_rivet():
    assert takes(replace(PLAIN, callout="an470ad4-6")).callout == "AN470AD4-6"
    bare = takes(replace(PLAIN, sheets=()))
    assert (bare.callout, bare.rivets, bare.preparation) == ("", 11, ())


def test_a_named_callout_decides_the_head_and_must_be_of_the_diameter():
    named = takes(replace(PLAIN, callout="MS20426AD4-5"))
    assert set(named.preparation) == {"dimple"}
    assert named.tools[1:] == ("1/8 rivet dies",)
    with pytest.raises(Refused, match="a callout of 1/8 in"):
        takes(replace(PLAIN, callout="MS20426AD3-5"))


def test_a_rule_that_is_broken_is_said_with_its_source():
    close = replace(PLAIN, pitch=Fraction("0.3"), edge_distance=Fraction("0.2"))
    said = {each.sentence.split(" of")[0]: each for each in takes(close).breaches}
    assert set(said) == {"The pitch", "The edge distance"}
    assert all(each.source and each.certainty for each in said.values())
    assert takes(PLAIN).breaches == ()
    near_rows = replace(PLAIN, rows=2, row_distance=Fraction("0.2"))
    assert "row distance" in takes(near_rows).breaches[0].sentence


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"number": 5}, "either a pitch or a number"),
        ({"pitch": None}, "either a pitch or a number"),
        ({"runs": ()}, "lengths above nought"),
        ({"pitch": Fraction(0)}, "a pitch above nought"),
        ({"rows": 10}, "1 to 9 rows"),
        ({"pitch": None, "number": 1, "rows": 2}, "at least one rivet for each row"),
        ({"runs": (Fraction("0.3"),)}, "twice the edge distance"),
        ({"pitch": Fraction("0.00005")}, "at most 100000 rivets"),
        ({"head": "round"}, "universal or flush"),
        ({"sheets": (Fraction(3),)}, "2 to 32 sixteenths"),
    ],
)
def test_an_impossible_seam_is_refused_with_what_was_expected(change, words):
    with pytest.raises(Refused, match=words):
        takes(replace(PLAIN, **change))
