"""Cautions: every published one is said, with its source."""

import pytest

from inventory.trade import cautions
from tests.trade.checks import cases, rows

# One telling word of each row's sentence, in the rows' order.
TELLING = (
    "goggles",
    "both hands",
    "air drill",
    "by hand",
    "breaks through",
    "retaining spring",
    "yoke",
    "hearing",
    "channel",
    "dry-sand",
    "gloves, ventilation",
)


@pytest.mark.parametrize(
    ("row", "word"),
    [
        pytest.param(*case.values, word, id=case.id)
        for case, word in zip(cases(rows("safety"), "caution"), TELLING, strict=True)
    ],
)
def test_each_caution_is_said_with_its_source(row, word):
    said = [each for topic in cautions.topics() for each in cautions.about(topic)]
    found = [each for each in said if word in each.sentence]
    known = (row["source"], "common practice, no source")
    assert [
        any(source.startswith(each.source[:12]) for source in known) for each in found
    ] == [True]


@pytest.mark.parametrize(
    "topic",
    [
        "drilling",
        "driving",
        "squeezing",
        "deburring",
        "sealants",
        "temporary fasteners",
    ],
)
def test_topics(topic):
    assert topic in cautions.topics()
    assert {each.topic for each in cautions.about(topic)} == {topic}


def test_nothing_about_other_topics():
    assert cautions.about("weather") == ()


def test_airworthiness_is_one_sentence():
    assert cautions.AIRWORTHINESS.count(".") == 1
    assert "airworthiness advice" in cautions.AIRWORTHINESS
