"""The question of sealant: until when it keeps, how long it is worked, what to mind."""

from datetime import date
from fractions import Fraction

import pytest

from inventory.errors import Refused
from inventory.trade import sealants, tables
from inventory.trade.cautions import AIRWORTHINESS
from inventory.trade.questions.sealant import QUESTION, fahrenheit
from inventory.trade.questions.shape import as_data


def ask(grade="", **given):
    return as_data(QUESTION.answer({"class": grade, **given}))


def headline(**given):
    return QUESTION.answer(given).headline


def test_nothing_given_answers_the_usual_kind():
    found = ask()
    # Published: TO 1-1-700 para 12.8, 80 F (27 C). From memory: 9 months.
    assert (found["storage_limit_f"], found["storage_limit_c"]) == (80, 27)
    assert found["extension_months"] == 4.5
    assert (found["use_by_earliest"], found["verdict"]) == (None, None)
    assert found["rule"].startswith("9 months")
    assert "Keeps 9 months" in headline()


def test_a_printed_month_is_its_last_day():
    found = ask(printed="06/2027")
    assert found["use_by_earliest"] == found["use_by_latest"] == "2027-06-30"
    assert headline(printed="06/2027") == "Use by 2027-06-30."
    assert any(each["name"] == "month" for each in found["figures"])


# Published: each passed test adds half the original life, here the label's 12 months.
def test_a_passed_update_test_adds_half():
    label = {"made": "06/2026", "printed": "06/2027"}
    found = ask(**label, passed="1")
    assert found["extension_months"] == 6
    assert found["use_by_earliest"] == "2027-12-30"
    failed = ask(**label, failed="yes")
    assert failed["verdict"] == sealants.DO_NOT_USE
    assert (failed["use_by_earliest"], failed["use_by_latest"]) == (None, None)
    assert "Do not use" in headline(failed="yes")


@pytest.mark.parametrize("spoiled", [{"opened": "2026-10-01"}, {"warm": "yes"}])
def test_opened_or_warm_is_unknown(spoiled):
    kept_well = ask(made="2026-09-01", warm="no")
    assert kept_well["use_by_earliest"] == kept_well["use_by_latest"]
    found = ask(made="2026-09-01", **spoiled)
    assert found["use_by_earliest"] is None
    assert found["use_by_latest"] == "2027-06-01"
    assert "test before use" in found["verdict"]
    assert "no figure" in found["warnings"][0]["sentence"]
    assert "certainly expired after 2027-06-01" in headline(
        made="2026-09-01", **spoiled
    )


def test_a_least_life_leaves_the_end_open():
    given = {"kind": "MIL-S-29574", "made": "2026-05-31"}
    found = ask(**given)
    # Restated: MIL-S-29574 keeps at least 12 months below 80 F.
    assert (found["use_by_earliest"], found["use_by_latest"]) == ("2027-05-31", None)
    assert found["rule"].startswith("at least 12 months")
    assert found["extension_months_most"] is None
    assert "later" in headline(**given)


def test_primer_has_a_range_and_no_figure_for_the_store():
    found = ask(kind="primer", made="2026-05-31")
    # Common practice: 12 to 24 months.
    window = (found["use_by_earliest"], found["use_by_latest"])
    assert window == ("2027-05-31", "2028-05-31")
    assert (found["storage_limit_f"], found["storage_limit_c"]) == (None, None)
    assert found["rule"].startswith("12 to 24 months")


def test_frozen_counts_days():
    found = ask(kind="premixed", made="2026-05-31")
    # From memory: about 30 days at -40 F, which is -40 C.
    assert found["use_by_earliest"] == "2026-06-30"
    assert (found["storage_limit_f"], found["storage_limit_c"]) == (-40, -40)
    assert found["extension_days"] == 15


@pytest.mark.parametrize(
    ("on", "said", "warned"),
    [
        ("2027-05-31", "within its life", 0),
        ("2027-06-01", "unknown", 1),
        ("2028-06-01", "expired", 1),
    ],
)
def test_judged_by_a_day(on, said, warned):
    found = ask(kind="primer", made="2026-05-31", on=on)
    assert found["standing"].startswith(said)
    assert len(found["warnings"]) == warned


# Restated: the number is application hours, the bracket assembly hours, at 77 F.
@pytest.mark.parametrize("row", tables.rows("sealant_classes"))
def test_a_class_at_room_temperature(row):
    found = ask(grade=row["class"])
    number, _, bracket = row["class"].partition("-")[2].rstrip(")").partition("(")
    assert found["application_hours_min"] == float(Fraction(number))
    assert found["application_hours_max"] == float(Fraction(number))
    assert found["assembly_hours"] == (int(bracket) if bracket else None)
    assert found["temperature_f"] == 77


def test_colder_is_slower():
    found = ask(grade="B-2", temperature="15 C")
    assert found["temperature_f"] == 59
    # Common practice: 18 F below 77 F is about twice the 2 h.
    assert found["application_hours_min"] < 4 < found["application_hours_max"]
    said = headline(**{"class": "B-2", "temperature": "15 C"})
    assert "3.73 to 4.36 h to apply at 59 F (15 C)" in said


# Restated from one maker's sheet: B-2 is tack-free under 24 h and cured in 48 h.
def test_cure_example_only_where_a_sheet_says():
    named = {each["name"]: each["text"] for each in ask(grade="B-2")["figures"]}
    assert named["cure example"] == "tack-free under 24 h, cured in 48 h"
    assert "10 parts" in named["mix"]
    other = {each["name"] for each in ask(grade="C-8(20)")["figures"]}
    assert "cure example" not in other


# The scale's own definition.
@pytest.mark.parametrize(
    ("text", "degrees"),
    [("60 F", 60), ("15 C", 59), ("0c", 32), ("-40 C", -40), ("21.5 C", "70.7")],
)
def test_fahrenheit(text, degrees):
    assert fahrenheit(text) == Fraction(degrees)


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"kind": "glue"}, "sealant.unknown"),
        ({"class": "Z-9"}, "sealant.unknown"),
        ({"kind": "primer", "class": "B-2"}, "sealant.class"),
        ({"class": "B-2", "temperature": "60"}, "sealant.temperature"),
        ({"class": "B-2", "temperature": "90 C"}, "sealant.temperature"),
        ({"printed": "June"}, "sealant.date"),
        ({"passed": "1"}, "sealant.date"),
        ({"passed": "-1"}, "sealant.passed"),
        ({"passed": "21"}, "sealant.passed"),
    ],
)
def test_refused(given, code):
    with pytest.raises(Refused, match="Expected") as caught:
        QUESTION.answer(given)
    assert caught.value.code == code
    assert caught.value.data["expected"]


def test_cautions_and_marks():
    found = ask(grade="B-2", made="09/2026", warm="yes")
    assert "gloves" in found["cautions"][0]["sentence"]
    assert found["airworthiness"] == AIRWORTHINESS
    for each in (*found["figures"], *found["warnings"], *found["cautions"]):
        assert each["certainty"] in tables.MARKS
        assert each["source"]


def test_what_is_expired_says_so_first():
    label = {"made": "2025-06-01", "printed": "06/2026"}
    assert headline(**label, on="2026-07-01").startswith("Expired since 2026-06-30")
    assert headline(**label, on="2026-06-30") == "Use by 2026-06-30."
    doubtful = headline(made="2026-01-01", kind="polysulfide", on="2030-01-01")
    assert doubtful.startswith(("Expired since", "It may be expired since"))


def test_a_day_that_is_left_open_is_the_day_of_asking():
    field = next(each for each in QUESTION.fields if each.name == "on")
    assert field.given_on(date(2026, 12, 1), " ") == "2026-12-01"
    assert field.given_on(date(2026, 12, 1), "2027-01-02") == "2027-01-02"
    other = next(each for each in QUESTION.fields if each.name == "made")
    assert other.given_on(date(2026, 12, 1), "") == ""
