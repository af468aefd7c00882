"""What one solid rivet weighs and how many make a pound, each with its doubt."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.reading import Reading

# Exact by the international yard and pound agreement of 1959, published.
MG_PER_POUND = Fraction(45359237, 100)
MASS_SOURCE = "from geometry, on head dimensions and tolerances from memory"
DENSITY_SOURCES = {
    "restated": "nominal densities, Aluminum Specification table 4.3 and a chart",
    "from memory": "handbook value",
}

# A universal head fills about three quarters of the cylinder around it: a guess that
# stands in for the head's curve.
_UNIVERSAL_FILL = 0.75
_MM3_PER_CUBIC_INCH = 25.4**3
_UNKNOWN = "a solid rivet with a universal or a 100 deg flush head, or a weighed sample"


@dataclass(frozen=True, slots=True)
class Mass:
    """The mass of one piece in milligrams, from low to high."""

    mg: float
    low_mg: float
    high_mg: float
    source: str
    certainty: str

    @property
    def per_pound(self) -> float:
        return float(MG_PER_POUND) / self.mg

    @property
    def per_pound_low(self) -> float:
        return float(MG_PER_POUND) / self.high_mg

    @property
    def per_pound_high(self) -> float:
        return float(MG_PER_POUND) / self.low_mg

    def pieces_in(self, pounds: Fraction) -> tuple[int, int]:
        """Fewest and most pieces in these pounds, rounded away from each other."""
        low, high = self.per_pound_low, self.per_pound_high
        return math.floor(low * float(pounds)), math.ceil(high * float(pounds))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solid:
    """A solid rivet's dimensions in inches, its density in mg per cubic millimetre."""

    flush: bool
    shank_in: float
    length_in: float
    head_diameter_in: float
    head_height_in: float
    fill: float
    density: float

    @property
    def mg(self) -> float:
        """Shank and head; a flush head is part of the length."""
        across, shank, height = (
            self.head_diameter_in,
            self.shank_in,
            self.head_height_in,
        )
        if self.flush:
            head = math.pi / 12 * height * (across**2 + across * shank + shank**2)
            below = max(self.length_in - height, 0.0)
        else:
            head = self.fill * math.pi / 4 * across**2 * height
            below = self.length_in
        volume = head + math.pi / 4 * shank**2 * below
        return volume * _MM3_PER_CUBIC_INCH * self.density


def piece_mass_mg(reading: Reading) -> float | None:
    """What one solid rivet weighs, in milligrams; None where the head is not known.

    Computed from the shank, the head's shape and the alloy's density. The head's
    dimensions are from memory: an estimate, to be replaced by a sample.
    """
    solid = _solid(reading)
    return solid.mg if solid else None


def piece_mass(reading: Reading) -> Mass:
    """What one solid rivet weighs, with the doubt its tolerances leave.

    Each dimension is moved to its limits alone, and what that does to the mass adds
    up as independent errors do: the root of the sum of squares. Computed, on dimensions
    and tolerances from memory. Raises Refused mass.unknown for any other part.
    """
    solid = _solid(reading)
    if solid is None:
        raise Refused(
            "mass.unknown",
            f"Expected {_UNKNOWN}; no mass of {reading.callout} is known here: "
            "weigh a counted sample.",
            {"text": reading.callout, "expected": _UNKNOWN},
        )
    less, more = zip(*_swings(solid, _tolerances(reading)), strict=True)
    low, high = solid.mg - math.hypot(*less), solid.mg + math.hypot(*more)
    return Mass(solid.mg, low, high, MASS_SOURCE, "computed")


def _solid(reading: Reading) -> _Solid | None:
    head = tables.index("rivet_heads", "key", "diameter_32nds").get(_head_of(reading))
    if reading.kind != "solid_rivet" or head is None:
        return None
    return _Solid(
        flush=reading.head == "flush",
        shank_in=float(reading.diameter_in or 0),
        length_in=float(reading.length_in or 0),
        head_diameter_in=float(head["head_diameter_in"]),
        head_height_in=float(head["head_height_in"]),
        fill=_UNIVERSAL_FILL,
        density=float(density(reading.alloy)["density_g_cm3"]),
    )


def _head_of(reading: Reading) -> tuple[str, str]:
    return reading.key[:7], str((reading.diameter_in or 0) * 32)


Tolerance = tuple[float, float]


def _tolerances(reading: Reading) -> dict[str, Tolerance]:
    """How far each dimension may be under and over."""
    common = {
        row["quantity"]: (float(row["minus"]), float(row["plus"]))
        for row in tables.rows("solid_tolerances")
    }
    head = tables.index("rivet_tolerances", "key", "diameter_32nds")[_head_of(reading)]
    across, height = (
        float(head["head_diameter_tol_in"]),
        float(head["head_height_tol_in"]),
    )
    last = _last_digit(density(reading.alloy)["density_g_cm3"])
    return {
        **common,
        "head_diameter_in": (across, across),
        "head_height_in": (height, height),
        "density": (last / 2, last / 2),
    }


def _last_digit(printed: str) -> float:
    """What one step of a printed figure's last digit is worth: a figure is rounded."""
    return float(10.0 ** -len(printed.partition(".")[2]))


def _swings(
    solid: _Solid, tolerances: Mapping[str, Tolerance]
) -> Iterator[tuple[float, float]]:
    """How far each tolerance alone takes the mass down and up."""
    for name, (minus, plus) in tolerances.items():
        value = getattr(solid, name)
        light, heavy = (
            replace(solid, **{name: value - minus}),
            replace(solid, **{name: value + plus}),
        )
        yield solid.mg - light.mg, heavy.mg - solid.mg


def weighed(pieces: int, grams: Fraction, division: Fraction) -> Mass:
    """The mass of one piece by a counted sample, good to one division of the scale.

    Takes grams. Raises Refused mass.sample for no pieces, no division, or a sample no
    heavier than the division.
    """
    if pieces < 1 or division <= 0 or grams <= division:
        expected = "a counted sample that weighs more than one division of the scale"
        raise Refused(
            "mass.sample",
            f"Expected {expected}; got {pieces} pieces of {float(grams):g} g on a scale "
            f"of {float(division):g} g: weigh more of them.",
            {"pieces": pieces, "grams": grams, "expected": expected},
        )
    low, mg, high = (
        float((grams + error) * 1000 / pieces) for error in (-division, 0, division)
    )
    return Mass(mg, low, high, "a counted sample of the lot", "computed")


def density(letter: str) -> Mapping[str, str]:
    """An alloy's row by its letter: density_g_cm3 and density_certainty."""
    return tables.index("rivet_alloys", "letter")[(letter,)]


def pounds_per_cubic_inch(g_cm3: Fraction) -> Fraction:
    """A density of g/cm3 in lb/in3, exactly."""
    return g_cm3 * Fraction(254, 100) ** 3 * 1000 / MG_PER_POUND
