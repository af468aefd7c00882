"""The plan as a file of its own: what goes out comes in again without a difference."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.planning.rules.compare import FlatPlan, changes, plan_of
from inventory.planning.rules.lines import COLUMNS, parse
from inventory.planning.rules.lists import replaced
from inventory.planning.rules.unfolding import plan_csv, plan_xlsx
from inventory.sheets import Row, csv_text, read

NAMES = ["Fin", "=Fin", "'-Rib", "#7", "+1", "a, b", 'the "old" one', "Flügel", "@x"]
WHAT = [
    {"callout": "MS20470AD4-5"},
    {"callout": "zz-plug 7"},
    {"callout": "=1+1"},
    {"kind": "other", "name": "cable tie"},
    {"kind": "sealant", "name": "class B-2", "unit": "g"},
    {"kind": "abrasive", "name": "disc, 2 in"},
    {"hole_size": "#40", "holes": "12", "operation": "open", "fasten_every": "2"},
]
SEAMS = [
    {"seam_length": "10", "pitch": "1", "sheets": ".032+.032", "diameter": "1/8"},
    {
        "seam_length": "2x48",
        "pitch": "1",
        "sheets": ".020+.025",
        "diameter": "3/32",
        "head": "flush",
        "pilot": "40",
        "fasten_every": "2",
    },
    {"seam_length": "10", "pitch": "1", "callout": "MS20470AD4-5"},
]


def kept(line, each):
    """A row of something counted says how many."""
    counted = {"each": str(each)} if "callout" in line or "kind" in line else {}
    return line if "seam_length" in line else line | counted


ROWS = st.builds(
    lambda stage, spot, line, each, days, origin: {
        "stage": stage,
        "assembly": spot,
        "days_held": str(days),
        "list": origin,
        **kept(line, each),
    },
    st.sampled_from(NAMES),
    st.sampled_from(NAMES),
    st.sampled_from(WHAT + SEAMS),
    st.integers(1, 99),
    st.integers(0, 3),
    st.sampled_from(["kit", "wing kit", "by hand", "=list", ""]),
)


def planned(rows):
    good, bad = parse(Row(at, row) for at, row in enumerate(rows, start=2))
    assert bad == []
    return plan_of(good, "kit")


def imported(plan, name, data):
    good, bad = parse(read(name, data, COLUMNS))
    assert bad == []
    file = plan_of(good, "no list at all")
    return replaced(plan, file, {row.origin for row in good})


def told(plan):
    """All that a plan says."""
    return {change.sentence for change in changes(FlatPlan(), plan)}


@given(st.lists(ROWS, min_size=1, max_size=8), st.data())
def test_any_plan_goes_out_and_comes_in_unchanged(rows, data):
    plan = planned(rows)
    for stage in data.draw(st.sets(st.sampled_from(list(plan.starts)))):
        plan.starts[stage] = date(2027, 1, 1) + timedelta(days=len(stage))
    plan.starts["Bare"] = None
    plan.how_many["Fin", "Bare"] = 3
    plan.starts.setdefault("Fin", None)
    plan.made_by |= {("Bare",): "", ("Fin", "Bare"): "kit"}
    plan.made_by.setdefault(("Fin",), "kit")

    again = imported(plan, "plan.csv", plan_csv(plan).encode())

    assert changes(plan, again) == []
    assert told(again) == told(plan)
    assert (again.needs, again.holes, again.seams) == (
        plan.needs,
        plan.holes,
        plan.seams,
    )
    assert again.made_by == plan.made_by


def test_holes_that_read_alike_are_one_line_to_a_reader():
    """Days tell nothing apart where no hole is held, in whatever order they stand."""
    spot = {"stage": "Fin", "assembly": "Fin", "list": "kit"}
    plan = planned(
        [{**spot, "days_held": days, **SEAMS[0]} for days in ("0", "0", "1")]
    )
    assert len({key[5] for key in plan.holes}) == 2
    again = imported(plan, "plan.csv", plan_csv(plan).encode())
    assert changes(plan, again) == []
    (told,) = [each for each in changes(FlatPlan(), plan) if each.kind == "holes"]
    assert told.after == str(sum(plan.holes.values()))


@pytest.mark.slow
def test_a_workbook_says_the_same_and_computes_nothing():
    plan = planned(
        [{"stage": "=Fin", "assembly": "@x", **kept(line, 9)} for line in WHAT + SEAMS]
    )
    assert changes(plan, imported(plan, "plan.xlsx", plan_xlsx(plan))) == []
    assert b"<f>" not in plan_xlsx(plan)
    assert "\n=" not in plan_csv(plan)


@pytest.mark.parametrize("text", ["=1", "'=1", "''=1", "'plain", "-3", " =1", "'"])
def test_a_disarmed_cell_comes_back_as_it_was(text):
    (row,) = read(
        "x.csv", csv_text(["name", "more"], [[text, "x"]]).encode(), ["name", "more"]
    )
    assert row["name"] == text.strip()


def test_a_seam_that_no_rule_reckons_any_more_stays_counted():
    plan = planned([{"stage": "Fin", "assembly": "Skin", **SEAMS[0]}])
    ((key, seam),) = plan.seams.items()
    plan.seams = {(*key[:3], '{"length": "10", "pitch": "none"}', key[4]): seam}
    rows = parse(read("x.csv", plan_csv(plan).encode(), COLUMNS))[0]
    again = plan_of(rows)
    assert (again.needs, again.holes) == (plan.needs, plan.holes)
    assert again.seams == {}
