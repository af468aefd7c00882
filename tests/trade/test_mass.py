"""Mass: what one rivet weighs, how far its tolerances let it stray, and samples."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.trade import mass, tables
from inventory.trade.callouts import parse
from inventory.trade.mass import piece_mass, piece_mass_mg, weighed
from tests.trade.checks import cases, rows

DENSITIES = rows("densities")
TENTH = Fraction(1, 10)


# Computed from geometry and head dimensions given from memory.
@pytest.mark.parametrize(
    ("callout", "milligrams"), [("AN426AD3-3.5", 81), ("MS20470AD4-4", 227)]
)
def test_piece_mass_from_memory_dimensions(callout, milligrams):
    found = piece_mass(parse(callout))
    assert piece_mass_mg(parse(callout)) == found.mg
    assert found.mg == pytest.approx(milligrams, rel=0.01)
    assert found.low_mg < milligrams < found.high_mg


# Computed: half a length is 10 to 17 mg in the two common diameters.
@pytest.mark.parametrize("text", ["AN426AD3", "AN470AD3", "AN426AD4", "AN470AD4"])
def test_half_a_length_weighs_little(text):
    short, long = (piece_mass_mg(parse(f"{text}-{dash}")) for dash in ("4", "4.5"))
    assert 9.5 < long - short < 17.5


@pytest.mark.parametrize(
    "row", cases([r for r in DENSITIES if r["letter"] != "-"], "letter", "alloy")
)
def test_masses_are_as_the_densities(row):
    pieces = [parse(f"AN470{letter}4-4") for letter in (row["letter"], "AD")]
    heavy, usual = map(piece_mass_mg, pieces)
    assert heavy / usual == pytest.approx(float(row["g_cm3"]) / 2.75)
    said = mass.density(row["letter"])["density_certainty"]
    assert (said == "from memory") == (row["certainty"] == "FROM MEMORY")
    assert said in mass.DENSITY_SOURCES


def half_a_step(printed):
    return Fraction(1, 2 * 10 ** len(printed.partition(".")[2]))


@pytest.mark.parametrize("row", cases(DENSITIES, "letter", "alloy"))
def test_both_units_of_a_density_agree(row):
    # Both columns are rounded to their last digit.
    found = mass.pounds_per_cubic_inch(Fraction(row["g_cm3"]))
    rounded = half_a_step(row["lb_in3"])
    rounded += mass.pounds_per_cubic_inch(half_a_step(row["g_cm3"]))
    assert abs(found - Fraction(row["lb_in3"])) <= rounded


# Published: the pound is 0.453 592 37 kg exactly.
def test_the_pound():
    assert Fraction("453592.37") == mass.MG_PER_POUND
    assert weighed(100, Fraction("45.359237"), TENTH).per_pound == pytest.approx(1000)


@pytest.mark.parametrize(
    "callout",
    [
        "AN430AD4-4",
        "AN470AD12-4",
        "AN3-4A",
        "AN742-4",
        "NAS1097AD3-4",
        "MS20600AD4W2",
    ],
)
def test_no_mass_without_a_known_head(callout):
    assert piece_mass_mg(parse(callout)) is None
    with pytest.raises(Refused, match="weigh a counted sample") as caught:
        piece_mass(parse(callout))
    assert caught.value.code == "mass.unknown"


def test_heads_with_a_mass_have_their_tolerances():
    heads, tolerances = (
        {(row["key"], row["diameter_32nds"]) for row in tables.rows(name)}
        for name in ("rivet_heads", "rivet_tolerances")
    )
    assert heads == tolerances


HEADS = rows("rivet_heads")


@pytest.mark.parametrize("row", cases(HEADS, "standard", "dia_32nds"))
def test_head_tolerances(row):
    key = row["standard"].partition("/")[0]
    found = tables.index("rivet_tolerances", "key", "diameter_32nds")
    tolerance = found[(key, row["dia_32nds"])]
    across = Fraction(row["head_dia_tol"].removeprefix("+-"))
    assert Fraction(tolerance["head_diameter_tol_in"]) == across
    if row["geometry_h_in"]:
        # The cone's height follows its diameter: half of it over tan 50 deg.
        height = float(across) / (2 * math.tan(math.radians(50)))
        assert height <= float(tolerance["head_height_tol_in"]) < height + 0.001


def by_hand(shank, length, across, height, fill, density):
    """A universal-head rivet's milligrams by the formulas of a cylinder."""
    cubic_inches = math.pi / 4 * (shank**2 * length + fill * across**2 * height)
    return cubic_inches * 16387.064 * density


# A 1/8 universal of 2117, 1/4 long: each limit by hand, from memory.
def test_the_doubt_is_the_root_of_the_squares():
    usual = [0.125, 0.25, 0.25, 0.054, 0.75, 2.75]
    down = [0.001, 0.01, 0.012, 0.005, 0.1, 0.005]
    up = [0.003, *down[1:]]
    mg = by_hand(*usual)
    found = piece_mass(parse("MS20470AD4-4"))
    for limits, sign, doubt in (
        (down, -1, found.mg - found.low_mg),
        (up, 1, found.high_mg - found.mg),
    ):
        moved = [
            [
                value + sign * limits[at] * (at == place)
                for at, value in enumerate(usual)
            ]
            for place in range(6)
        ]
        squares = [(by_hand(*each) - mg) ** 2 for each in moved]
        assert doubt == pytest.approx(math.sqrt(sum(squares)), rel=1e-6)


lengths = st.integers(4, 40).map(lambda halves: Fraction(halves, 2))
solids = st.sampled_from(
    [
        f"AN{number}{letter}{size}"
        for number in (426, 470)
        for letter in ("A", "AD", "B", "D", "DD", "E", "M")
        for size in (2, 3, 4, 5, 6, 8)
    ]
)


def dash(sixteenths):
    return f"{float(sixteenths):g}"


@given(solids, lengths)
def test_longer_is_heavier(text, sixteenths):
    short, long = (
        piece_mass(parse(f"{text}-{dash(sixteenths + more)}"))
        for more in (0, Fraction(1, 2))
    )
    assert short.mg < long.mg
    assert short.low_mg < long.low_mg
    assert short.high_mg < long.high_mg


quarters = st.integers(1, 40).map(lambda steps: Fraction(steps, 4))


@given(solids, lengths, quarters)
def test_a_pound_is_a_range(text, sixteenths, pounds):
    found = piece_mass(parse(f"{text}-{dash(sixteenths)}"))
    assert 0 < found.low_mg < found.mg < found.high_mg
    assert found.per_pound_low < found.per_pound < found.per_pound_high
    low, high = found.pieces_in(pounds)
    assert low < found.per_pound * pounds < high


# Computed: on a 0.1 g scale 20 small rivets give about 6 %, 100 about 1.2 %.
@pytest.mark.parametrize(("pieces", "percent"), [(20, 6), (100, 1.2)])
def test_a_larger_sample_is_surer(pieces, percent):
    found = weighed(pieces, Fraction(81 * pieces, 1000), TENTH)
    assert found.mg == pytest.approx(81)
    for doubt in (found.mg - found.low_mg, found.high_mg - found.mg):
        assert 100 * doubt / found.mg == pytest.approx(percent, rel=0.05)


@pytest.mark.parametrize(
    ("pieces", "grams", "division"),
    [(0, 8, TENTH), (1, TENTH, TENTH), (9, 8, Fraction(0))],
)
def test_a_sample_that_says_nothing_is_refused(pieces, grams, division):
    with pytest.raises(Refused, match="weigh more") as caught:
        weighed(pieces, Fraction(grams), division)
    assert caught.value.code == "mass.sample"
