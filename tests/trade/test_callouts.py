"""Callouts: the published rows, the grammar's traps, and parse against print."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.callouts import bolt_grip, next_sizes, parse, rivet_class
from tests.trade.checks import cases, inches, rows

CALLOUTS = rows("callouts")
BOLT_GRIPS = rows("an_bolt_grip")
ANSWERED = {"callout", "bolt"}

STANDARDS = [row["standard"] for row in tables.rows("standards")]
RIVETS = [row for row in tables.rows("standards") if row["grammar"] == "rivet"]


@st.composite
def rivet_callouts(draw):
    row = draw(st.sampled_from(RIVETS))
    letter = draw(st.sampled_from(row["letters"].split()))
    diameter = draw(st.integers(2, 12))
    halves = draw(st.integers(2, 64))
    length = f"{halves // 2}{'.5' if halves % 2 else ''}"
    return f"{row['standard']}{letter}{diameter}-{length}"


def refused(text):
    with pytest.raises(Refused) as caught:
        parse(text)
    return caught.value


def words_of(text):
    return {word.strip() for word in text.split(",")}


@pytest.mark.parametrize("row", cases(CALLOUTS, "callout"))
def test_published_callout_reads_as_printed(row):
    reading = parse(row["callout"])
    assert reading.kind.replace("_", " ") == row["kind"]
    assert words_of(row["head/style"]) <= words_of(reading.head_words)
    if row["alloy"] != "-":
        assert reading.alloy_words.startswith(row["alloy"])
    assert parse(reading.callout) == reading


@pytest.mark.parametrize("row", cases(CALLOUTS, "callout"))
def test_published_callout_has_the_printed_diameter(row):
    reading, text = parse(row["callout"]), row["diameter"]
    if thread := re.search(r"\d+(/\d+)?-\d+", text):
        assert reading.thread == thread[0]
    for size in re.findall(r"\d+/\d+(?!-)", text.split("= 0.")[0]):
        assert reading.diameter_in == Fraction(size)
    assert reading.thread or "/" in text


@pytest.mark.parametrize("row", cases(CALLOUTS, "callout"))
def test_published_callout_has_the_printed_length(row):
    reading, text = parse(row["callout"]), row["length or thickness"]
    if text == "-":
        assert reading.length_in is None
    elif "grip" in text:
        check_grip(reading, text)
    elif "thick" in text:
        assert reading.thickness_in == inches(text)
    elif "nominal" in text:
        check_nominal(reading, text)
    else:
        assert reading.length_in == inches(text)


def check_grip(reading, text):
    sixteenths = Fraction(re.search(r"max grip (\d+/16)", text)[1])
    assert abs(reading.grip_in[1] - sixteenths) < Fraction(1, 1000)
    if span := re.search(r"range (\.\d+)-(\.\d+)", text):
        assert reading.grip_in == (Fraction(span[1]), Fraction(span[2]))


def check_nominal(reading, text):
    """'1 + 2/8 = ..' or '7/8 nominal (.969)': the real length stands in brackets."""
    assert reading.nominal_in == inches(text.split("(")[0])
    if real := re.search(r"\(([\d.]+)\)", text):
        assert abs(reading.length_in - Fraction(real[1])) < Fraction(1, 1000)


@pytest.mark.parametrize("row", cases(BOLT_GRIPS, "bolt", "dash"))
def test_bolt_grip_and_length_follow_the_bolt_sheet(row):
    reading = parse(f"{row['bolt']}-{row['dash']}A")
    tolerance = Fraction(1, 1000)
    assert abs(bolt_grip(reading) - Fraction(row["grip_in"])) < tolerance
    if row["length_in"]:
        assert abs(reading.length_in - Fraction(row["length_in"])) < tolerance


FIRST = [row for row in rows("first_checks") if row["topic"] in ANSWERED]


@pytest.mark.parametrize(
    "row", cases([row for row in FIRST if row["topic"] == "callout"], "id", "input")
)
def test_first_check_of_a_callout(row):
    reading = parse(row["input"])
    head, alloy, diameter, length = row["expected"].split(";")
    assert reading.head == head
    assert reading.alloy_words.startswith(alloy)
    assert reading.diameter_in == Fraction(diameter)
    assert reading.length_in == Fraction(length)


@pytest.mark.parametrize(
    "row", cases([row for row in FIRST if row["topic"] == "bolt"], "id", "input")
)
def test_first_check_of_a_bolt(row):
    names, expected = row["input"].split("; "), row["expected"].split("; ")
    for name, figures in zip(names, expected, strict=True):
        grip, length = re.fullmatch(r"grip (\S+) len (\S+)", figures).groups()
        reading = parse(name)
        assert bolt_grip(reading) == Fraction(grip)
        assert abs(reading.length_in - Fraction(length)) < Fraction(1, 1000)


# A few of the alloys' own lines say more than a letter and its alloy.
ALLOY_PROSE = {"D, DD", "-"}


@pytest.mark.parametrize(
    "row",
    cases(
        [r for r in rows("rivet_alloys") if r["letter"] not in ALLOY_PROSE],
        "letter",
        "alloy",
    ),
)
def test_alloy_letters(row):
    for letter in re.findall(r"[A-Z]+", row["letter"]):
        reading = parse(f"MS20470{letter}6-8")
        assert reading.alloy_words == row["alloy"]
        if row["heat_treat"] != "-":
            assert reading.heat_treat == row["heat_treat"].startswith("yes")


@pytest.mark.parametrize("row", cases(rows("blind_rivet_grips"), "number"))
def test_blind_rivet_grip_numbers(row):
    reading = parse(f"MS20600 series, no. {row['number'].rstrip('?')}")
    assert reading.grip_in == (Fraction(row["grip_min"]), Fraction(row["grip_max"]))
    assert reading.length_in == Fraction(row["length_in"])
    assert reading.certainty == ("computed" if "?" in row["number"] else "published")


@given(rivet_callouts())
def test_print_and_parse_are_inverse(text):
    reading = parse(text)
    assert reading.callout == text
    assert parse(reading.callout) == reading
    assert parse(reading.key).key == reading.key


@given(rivet_callouts())
def test_equivalents_share_the_key_and_the_words(text):
    reading = parse(text)
    for other in map(parse, reading.equivalents):
        assert (other.key, other.words) == (reading.key, reading.words)
        assert reading.callout in other.equivalents


@given(rivet_callouts(), rivet_callouts())
def test_different_rivets_have_different_bin_labels(one, other):
    first, second = parse(one), parse(other)
    assert (first.key == second.key) == (first.words == second.words)


@given(rivet_callouts())
def test_soft_is_never_hard(text):
    soft, hard = (re.sub(r"(?<=\d)[A-Z]+", other, text) for other in ("A", "AD"))
    assert parse(soft).key != parse(hard).key
    assert parse(soft).words != parse(hard).words


@given(rivet_callouts())
def test_a_half_length_is_a_length_and_not_a_range(text):
    reading = parse(text)
    assert reading.grip_in is None
    assert reading.length_in == Fraction(text.split("-")[1]) / 16


@given(rivet_callouts())
def test_neighbours_are_half_a_size_off_and_mutual(text):
    reading = parse(text)
    for key in next_sizes(reading):
        other = parse(key)
        assert abs(other.length_in - reading.length_in) == Fraction(1, 32)
        assert reading.key in next_sizes(other)


@given(rivet_callouts(), st.sampled_from(["-", "\u2013", "\u2212", " - ", " "]))
def test_sloppy_spelling_reads_the_same(text, dash):
    sloppy = text.replace("-", dash).lower().replace("ad", " ad ")
    assert parse(f" {sloppy} ") == parse(text)


def check_read_or_refused(text):
    """Whatever comes is read so that it reads again, or refused in words."""
    try:
        reading = parse(text)
    except Refused as caught:
        code, said = caught.code, set(caught.data)
    else:
        assert parse(reading.callout) == reading
        return
    assert code.startswith("callout.")
    assert said == {"text", "expected"}


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text):
    check_read_or_refused(text)


@given(
    st.sampled_from(STANDARDS),
    st.text(alphabet="ABCDHLNPRS-.0123456789", max_size=8),
)
def test_any_tail_is_read_or_refused(standard, tail):
    check_read_or_refused(standard + tail)


@pytest.mark.parametrize(
    ("text", "callout"),
    [
        ("426AD3-3.5", "MS20426AD3-3.5"),
        ("470ad4-5", "MS20470AD4-5"),
        ("1097AD3-4", "NAS1097AD3-4"),
        ("20470AD4-5", "MS20470AD4-5"),
        ("AN426AD3-3½", "AN426AD3-3.5"),
        ("AN426AD3-3 1/2", "AN426AD3-3.5"),
        ("AN426AD3-3,5", "AN426AD3-3.5"),
        ("MS20470AD04-05", "MS20470AD4-5"),
        ("an 3 - 4 a", "AN3-4A"),
        ("AN3H-4A", "AN3H4A"),
        ("nas1149 f0463 p", "NAS1149F0463P"),
        ("AN960 416", "AN960-416"),
        ("MS24693 S50", "MS24693-S50"),
        ("MS27039 0806", "MS27039-0806"),
        ("MS27039-108", "MS27039-1-08"),
        ("MS20600-42", "MS20600 series, no. 42"),
    ],
)
def test_sloppy_but_plain(text, callout):
    assert parse(text).callout == callout


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "unknown"),
        ("hello", "unknown"),
        ("9" * 65, "unknown"),
        ("AN2-4", "unknown"),
        ("AN470XX4-5", "unknown"),
        ("MS20470AD4-5A", "unknown"),
        ("AN426AD3-1/2", "unknown"),
        ("AN3-4AX", "unknown"),
        ("NAS177-14-17X", "unknown"),
        ("AN507-999R8", "unknown"),
        ("NAS1149X0463P", "unknown"),
        ("MS20600X4W2", "unknown"),
        ("MS20600AD4W2W", "unknown"),
        ("AN365-1032AX", "unknown"),
        ("AN470", "incomplete"),
        ("AN470AD", "incomplete"),
        ("AN470AD4-", "incomplete"),
        ("MS20470-4-5", "incomplete"),
        ("AN3", "incomplete"),
        ("MS20600", "incomplete"),
        ("NAS177-14", "incomplete"),
        ("NAS1149F0463", "incomplete"),
        ("MS21044-3", "incomplete"),
        ("MS24693-S", "incomplete"),
        ("AN470AD13-5", "impossible"),
        ("AN470AD1-5", "impossible"),
        ("AN470AD4-0", "impossible"),
        ("AN470AD4-5.25", "impossible"),
        ("AN470AD4-65", "impossible"),
        ("AN3-8A", "impossible"),
        ("AN3-2A", "impossible"),
        ("AN11-5A", "impossible"),
        ("NAS177-0-17", "impossible"),
        ("AN507-832R0", "impossible"),
        ("MS27039-1-00", "impossible"),
        ("NAS1149F0400P", "impossible"),
        ("AN380-0-2", "impossible"),
        ("AN5-3A", "unknown_dash"),
        ("MS20600 series, no. 99", "unknown_dash"),
        ("MS24693-S900", "unknown_dash"),
        ("MS24665-999", "unknown_dash"),
        ("AN960-5", "unknown_dash"),
        ("MS21042-2", "unknown_dash"),
    ],
)
def test_refusals_say_what_was_expected_and_what_came(text, code):
    refusal = refused(text)
    assert refusal.code == f"callout.{code}"
    assert refusal.data["text"] in refusal.sentence
    assert refusal.data["expected"] in refusal.sentence
    assert refusal.sentence.startswith("Unknown dash") == (code == "unknown_dash")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("AN426A3-4", "AN426AD3-4"),
        ("AN4-5", "AN4-5A"),
        ("AN4-5A", "AN4H5A"),
        ("AN426AD3-3.5", "AN426AD3-3"),
        ("AN426AD3-4", "NAS1097AD3-4"),
        ("AN426AD3-4", "AN470AD3-4"),
        ("AN470E4-4", "AN470KE4-4"),
        ("AN960-10", "AN960-10L"),
        ("AN960-416", "NAS1149F0463P"),
        ("MS24693-S50", "MS24693-C50"),
        ("AN365-1032A", "MS21044N3"),
    ],
)
def test_look_alikes_have_different_keys(one, other):
    assert parse(one).key != parse(other).key


def test_old_and_new_number_of_a_nut_share_a_key():
    # From memory: A and no letter are both steel.
    nut = parse("AN365-1032A")
    assert "MS20365-1032" in nut.equivalents
    assert "AN365-1032A" in parse("MS20365-1032").equivalents
    assert {parse(name).key for name in nut.equivalents} == {nut.key}
    assert parse("AN365-1032D").key != nut.key


def test_flush_is_overall_and_universal_under_the_head():
    assert "overall" in parse("MS20426AD3-4").meaning
    assert "under the head" in parse("MS20470AD3-4").meaning
    assert "grip" in parse("MS20600 series, no. 42").meaning


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("AN426AD3-3.5", "3/32 flush, 7/32 long"),
        ("MS20470AD4-4", "1/8 universal, 1/4 long"),
        ("MS20470A3-4", "3/32 universal soft (1100), 1/4 long"),
        ("AN3-4A", "3/16 bolt, 17/32 long, plain shank"),
        ("AN7-12", "7/16 bolt, about 1 1/4 long, drilled shank"),
        ("AN960-10L", "#10 (3/16) washer light, .032 thick"),
        ("MS24693-C50", "8-32 flush screw corrosion-resistant steel, 1/2 long"),
        ("MS21047L3", "10-32 two-lug nut plate steel, dry-film lubricant"),
        ("MS20601AD4W2", "1/8 blind flush 2117, grip .063 to .125"),
        ("AN381-2-4", "1/16 cotter pin corrosion-resistant steel, 1 long"),
        ("MS24665-353", "1/8 cotter pin, 1 long"),
        ("NAS1149FN832P", "#8 washer, .032 thick"),
        ("AN742-4", "AN742-4"),
    ],
)
def test_bin_label_words(text, words):
    assert parse(text).words == words


def test_a_standard_without_a_rule_is_kept():
    reading = parse("an742-4")
    assert (reading.kind, reading.callout) == ("other", "AN742-4")
    assert reading.diameter_in is None


def test_bolt_grip_between_the_rows_is_computed():
    reading = parse("AN3-11A")
    assert bolt_grip(reading) == Fraction(3, 4)
    assert reading.certainty == "computed"
    assert parse("AN3-10A").certainty == "restated"


def test_bolt_grip_refuses_what_it_does_not_know():
    with pytest.raises(Refused, match="AN7-12A"):
        bolt_grip(parse("AN7-12A"))
    with pytest.raises(Refused, match="not a bolt"):
        bolt_grip(parse("AN960-10"))


def test_neighbours_of_bolts_step_over_the_missing_dashes():
    assert next_sizes(parse("AN4-7A")) == ("AN4-6A", "AN4-10A")
    assert next_sizes(parse("AN4C10")) == ("AN4C7", "AN4C11")


def test_neighbours_stop_at_the_ends_and_are_for_lengths_only():
    assert next_sizes(parse("AN426AD3-1")) == ("MS20426AD3-1.5",)
    assert next_sizes(parse("AN960-10")) == ()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("AN426A3-3.5", "3/32 flush"),
        ("AN470AD4-4", "1/8 universal"),
        ("MS20600 series, no. 42", "1/8 blind protruding"),
        ("NAS177-14-17", "7/16 pin rivet flush"),
        ("AN3-4A", "3/16 bolt"),
        ("MS24693-S50", "8-32 screw"),
        ("AN742-4", "other"),
    ],
)
def test_rivet_class(text, expected):
    assert rivet_class(parse(text)) == expected
