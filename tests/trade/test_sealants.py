"""Sealant and primer: every published rule, and dates that only ever come earlier."""

import re
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import sealants
from inventory.trade.sealants import (
    Container,
    application_time,
    class_of,
    days,
    expires,
    later,
    month_year,
    rule,
    standing,
)
from tests.trade.checks import cases, rows

# The time out of the cold store is a rivet's: tests/trade/test_driving.py.
OTHER_ROOMS = {"icebox rivets"}
MADE = (date(2026, 8, 31), date(2026, 8, 31))


def hours(name):
    return class_of(name).application_hours


def numbers(text):
    return [Fraction(each) for each in re.findall(r"-?\d+(?:\.\d+)?", text)]


def check_storage(row):
    assert [rule("polysulfide").limit_f] == numbers(row["value"])[:1]
    opened = expires(rule("polysulfide"), Container(made=MADE, opened=MADE))
    assert opened.verdict == sealants.TEST_FIRST


def check_expired(row):
    expiry = expires(rule("polysulfide"), Container(made=MADE))
    said = row["value"].replace("until", "until an")
    assert said in standing(expiry, expiry.latest + timedelta(1))


def check_extension(row):
    assert "half the original shelf life per passed update test" in row["value"]
    # A life of 12 months by its own label: half is 6, and again 6.
    label = {"made": MADE, "printed": date(2027, 8, 31)}
    ends = [
        expires(rule("polysulfide"), Container(**label, passed=passed)).earliest
        for passed in range(3)
    ]
    assert ends == [date(2027, 8, 31), date(2028, 2, 29), date(2028, 8, 31)]
    failed = expires(rule("polysulfide"), Container(**label, passed=2, failed=True))
    assert failed == sealants.Expiry(None, None, sealants.DO_NOT_USE)


def check_update_test(row):
    said = sealants.fact("update test")["value"]
    for words in ("one kit", "batch", "lumps", "part cure", "working time"):
        assert words in row["value"]
        assert words in said


def check_classes(row):
    named = re.findall(r"[ABC]-[\d/]+(?:\(\d+\))?", row["value"])
    assert named == list(sealants.class_names())
    for name in named:
        number, _, assembly = name.partition("-")[2].rstrip(")").partition("(")
        found = class_of(name)
        assert found.application_hours == Fraction(number)
        assert found.assembly_hours == (int(assembly) if assembly else None)
        assert (found.use == "brush") == (name[0] == "A")
        assert (found.use == "gun or spatula") == (name[0] == "B")


def check_service(row):
    said = sealants.fact("service")["value"]
    assert numbers(said)[:2] == numbers(row["value"])[:2] == [-65, 250]
    for words in ("type 1", "dichromate", "type 2", "manganese dioxide"):
        assert words in said
        assert words in row["value"]


def check_timings(row):
    for name, text in re.findall(r"(B-[\d/]+): ([^;]+)", row["value"]):
        life, tack_free, *cure = numbers(text.replace("30A", ""))
        found = sealants.timing(name)
        assert hours(name) == Fraction(found["life_hours"]) == life
        assert Fraction(found["tack_free_hours"]) == tack_free
        assert Fraction(found["cure_hours"]) == cure[0]


def check_mix(row):
    accelerator, base = numbers(row["value"])
    assert sealants.accelerator(base) == accelerator


def check_minimum(row):
    months, limit, longer = numbers(row["value"].replace("-S-", ""))
    found = rule("MIL-S-29574")
    assert (found.least, found.most, found.limit_f) == (months, None, limit)
    assert f"{longer} F" in found.note
    assert expires(found, Container(made=MADE)).latest is None


def check_polysulfide(row):
    found = rule("polysulfide")
    assert [found.least, found.limit_f] == numbers(row["value"])
    assert found.unit in row["value"]


def check_premixed(row):
    limit, life, _longer = numbers(row["value"])
    found = rule("premixed")
    assert [found.limit_f, found.least] == [limit, life]
    assert found.unit in row["value"]


def check_halving(row):
    warmer, colder = numbers(row["value"])
    half = application_time(Fraction(2), 77 + warmer)
    double = application_time(Fraction(2), 77 + colder)
    assert half[0] < 1 < half[1]
    assert double[0] < 4 < double[1]
    assert application_time(Fraction(2), Fraction(77)) == (2, 2)


def check_primer(row):
    least, most = map(int, re.match(r"(\d+)-(\d+) months", row["value"]).groups())
    expiry = expires(rule("primer"), Container(made=MADE))
    assert expiry.earliest == later(MADE[0], Fraction(least), "months")
    assert expiry.latest == later(MADE[0], Fraction(most), "months")


CHECKED = {
    "storage temp": check_storage,
    "expired": check_expired,
    "extension": check_extension,
    "update test": check_update_test,
    "AMS-S-8802 classes": check_classes,
    "AMS-S-8802D service": check_service,
    "class B timing example": check_timings,
    "mix ratio example": check_mix,
    "MIL-S-29574": check_minimum,
    "two-part polysulfide": check_polysulfide,
    "premixed frozen": check_premixed,
    "application-life rule": check_halving,
    "primer, zinc-chromate style 1-part": check_primer,
}
ROWS = [row for row in rows("sealant_storage") if row["item"] not in OTHER_ROOMS]


@pytest.mark.parametrize("row", cases(ROWS, "item"))
def test_published_row(row):
    CHECKED[row["item"]](row)


FIRST = [row for row in rows("first_checks") if row["topic"] == "sealant"]


@pytest.mark.parametrize("row", cases(FIRST, "id", "input"))
def test_first_check(row):
    assert f"{rule('polysulfide').limit_f} F" in row["expected"]
    assert "half of original life per passed test" in row["expected"]


# From memory: a use-by date of month and year means that month's last day.
@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("06/2027", date(2027, 6, 30)),
        ("2/2028", date(2028, 2, 29)),
        ("02/2027", date(2027, 2, 28)),
        ("2027-06-15", date(2027, 6, 15)),
    ],
)
def test_month_and_year_from_memory(text, day):
    assert month_year(text) == day


# The calendar's own arithmetic.
@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        ("2026-05-31", "9", "2027-02-28"),
        ("2027-05-31", "9", "2028-02-29"),
        ("2028-02-29", "12", "2029-02-28"),
        ("2026-12-31", "1", "2027-01-31"),
        ("2026-08-15", "9/2", "2026-12-30"),
        ("2026-11-30", "0", "2026-11-30"),
    ],
)
def test_months_at_month_ends(start, months, end):
    start = date.fromisoformat(start)
    assert later(start, Fraction(months), "months") == date.fromisoformat(end)


def test_a_month_of_making_gives_a_window():
    expiry = expires(rule("polysulfide"), Container(made=days("09/2026")))
    assert (expiry.earliest, expiry.latest) == (date(2027, 6, 1), date(2027, 6, 30))


def test_days_by_the_label_extend_by_half():
    frozen, made = rule("premixed"), date(2026, 9, 1)
    label = Container(made=(made, made), printed=made + timedelta(30), passed=1)
    assert expires(frozen, label).earliest == made + timedelta(45)
    alone = Container(made=(made, made), passed=1)
    assert expires(frozen, alone).earliest == made + timedelta(45)


def test_a_least_only_does_not_say_how_late():
    found, printed = rule("MIL-S-29574"), date(2027, 6, 30)
    assert expires(found, Container(printed=printed)).latest == printed
    assert expires(found, Container(printed=printed, passed=1)).latest is None


def test_standing_of_a_day():
    primer = expires(rule("primer"), Container(made=MADE))
    said = [
        standing(primer, date(year, 8, 31) + timedelta(more))
        for year, more in ((2027, 0), (2027, 1), (2028, 0), (2028, 1))
    ]
    assert said == [
        sealants.IN_DATE,
        sealants.TEST_FIRST,
        sealants.TEST_FIRST,
        sealants.EXPIRED,
    ]
    failed = expires(rule("primer"), Container(failed=True))
    assert standing(failed, MADE[0]) == sealants.DO_NOT_USE


made_days = st.dates(date(2000, 1, 1), date(2060, 1, 1)).map(lambda day: (day, day))
families = st.sampled_from(sorted(sealants.rules()))
tests_passed = st.integers(0, sealants.MOST_TESTS - 1)


def sooner(one, other):
    return (one or date.min) <= (other or date.min)


@given(families, made_days, tests_passed)
def test_opened_or_warm_never_lasts_longer(family, made, passed):
    cool = Container(made=made, passed=passed)
    warm = Container(made=made, passed=passed, warm=True)
    opened = Container(made=made, passed=passed, opened=made)
    expiry = expires(rule(family), cool)
    for spoiled in (expires(rule(family), warm), expires(rule(family), opened)):
        assert spoiled.earliest is None
        assert spoiled.latest == expiry.latest
        assert spoiled.verdict == sealants.TEST_FIRST


@given(families, made_days, tests_passed)
def test_another_passed_test_never_shortens(family, made, passed):
    before, after = (
        expires(rule(family), Container(made=made, passed=passed + more))
        for more in (0, 1)
    )
    assert sooner(before.earliest, after.earliest)
    assert before.earliest < after.earliest
    assert sooner(before.latest, after.latest)


@given(families, made_days, tests_passed)
def test_a_window_runs_forward(family, made, passed):
    expiry = expires(rule(family), Container(made=made, passed=passed))
    assert made[0] < expiry.earliest
    assert expiry.latest is None or expiry.earliest <= expiry.latest


@given(
    st.sampled_from(sealants.class_names()),
    st.integers(40, 119),
)
def test_warmer_never_works_longer(name, degrees):
    cool, warm = (
        application_time(hours(name), Fraction(at)) for at in (degrees, degrees + 1)
    )
    assert cool[0] > warm[0]
    assert cool[1] > warm[1]
    assert warm[0] <= warm[1]


@given(
    made_days,
    st.integers(0, 60),
)
def test_whole_months_keep_the_day_or_end_the_month(made, months):
    end = later(made[0], Fraction(months), "months")
    assert (end.year - made[0].year) * 12 + end.month - made[0].month == months
    assert end.day == made[0].day or (end + timedelta(1)).day == 1


@pytest.mark.parametrize(
    "text", ["", "13/2027", "2027-02-30", "2027", "27/06", "0/2027"]
)
def test_other_dates_are_refused(text):
    with pytest.raises(Refused, match="06/2027") as caught:
        days(text)
    assert caught.value.code == "sealant.date"


@pytest.mark.parametrize(
    "container",
    [
        Container(passed=1),
        Container(made=MADE, printed=date(2026, 8, 30)),
        Container(made=MADE, opened=(date(2026, 8, 1), date(2026, 8, 1))),
    ],
)
def test_no_date_or_a_wrong_order_is_refused(container):
    with pytest.raises(Refused) as caught:
        expires(rule("polysulfide"), container)
    assert caught.value.code == "sealant.date"
    assert caught.value.data["expected"]


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        (lambda: rule("glue"), "sealant.unknown"),
        (lambda: class_of("D-2"), "sealant.unknown"),
        (
            lambda: application_time(Fraction(2), Fraction(121)),
            "sealant.temperature",
        ),
    ],
)
def test_unknown_things_are_refused(asked, code):
    with pytest.raises(Refused, match="Expected") as caught:
        asked()
    assert caught.value.code == code


@pytest.mark.parametrize("text", ["b2", "B-2", "Class B-2", "B\u20112"])
def test_spellings_of_a_class(text):
    assert class_of(text).name == "B-2"
