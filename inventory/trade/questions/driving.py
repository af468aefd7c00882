"""What drives a rivet: air pressure, set, squeezer, and its time out of the icebox."""

from collections.abc import Mapping
from fractions import Fraction

from inventory.trade import cautions, driving
from inventory.trade.cautions import Caution
from inventory.trade.driving import Known
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Figure,
    Given,
    Question,
    Warned,
    both_units,
    shank_of,
    text_of,
)
from inventory.trade.sizes import print_size

_SQUEEZER_RATED = Fraction(1, 8)
_USUAL_HEAD, _USUAL_ALLOY = "universal", "AD"
# No harder to squeeze than the 2117 that a squeezer is rated for.
_NO_HARDER = ("A", "AD", "B")
_NO_FIGURE = "no figure known for this rivet"
_FACTS = (
    "slow-hitting gun",
    "fast-hitting gun",
    "rivet gun",
    "squeezer",
    "hand squeezer",
)


def answer(given: Given) -> Answer:
    """How this rivet is driven.

    Raises Refused question.missing, size.unknown, rivet.diameter, driving.head and
    driving.alloy.
    """
    diameter = shank_of(given)
    chosen = driving.hammer_set(text_of(given, "head", _USUAL_HEAD).lower())
    alloy = driving.alloy(text_of(given, "alloy", _USUAL_ALLOY).upper())
    pressure = driving.gun_pressure(diameter)
    force = driving.squeeze_force(diameter, alloy["letter"])
    window = driving.icebox(alloy["letter"])
    figures = (
        _figure("gun pressure", pressure, "psi"),
        _set_figure(chosen, diameter),
        _figure("force to squeeze, a guess", force, "lb"),
        *_heat_figures(alloy, window),
        *(_fact(name) for name in _FACTS),
    )
    return Answer(
        headline=_headline(diameter, chosen, pressure, window),
        data={
            "diameter_in": diameter,
            "head": chosen["head"],
            "alloy": alloy["letter"],
            "gun_psi": pressure.least if pressure else None,
            "squeeze_lb": force.least if force else None,
            "set": chosen["set"],
            "icebox_minutes": (window.least, window.most) if window else None,
            "heat_treat": alloy["heat_treat"] == "yes",
        },
        figures=figures,
        warnings=_warnings(diameter, alloy),
        cautions=(*cautions.about("driving"), _eyes(), *cautions.about("squeezing")),
    )


def _headline(
    diameter: Fraction,
    chosen: Mapping[str, str],
    pressure: Known | None,
    window: Known | None,
) -> str:
    air = f"{pressure.span} psi" if pressure else "air pressure by trial on scrap"
    said = f"{print_size(diameter)} {chosen['head']}: {air}, {_set_words(chosen, diameter)}"
    if window is None:
        return said
    return f"{said}; drive within {window.span} min of leaving the cold store"


def _figure(name: str, known: Known | None, unit: str) -> Figure:
    if known is None:
        return Figure(name, _NO_FIGURE, "no public table found", "common practice")
    return Figure(name, f"about {known.span} {unit}", known.source, known.certainty)


def _set_words(chosen: Mapping[str, str], diameter: Fraction) -> str:
    if chosen["sized"] == "yes":
        return f"{print_size(diameter)} {chosen['set']}"
    return chosen["set"]


def _set_figure(chosen: Mapping[str, str], diameter: Fraction) -> Figure:
    words = f"{_set_words(chosen, diameter)}, the shank {both_units(diameter)}"
    return Figure("set", words, chosen["source"], chosen["certainty"])


def _heat_figures(alloy: Mapping[str, str], window: Known | None) -> list[Figure]:
    words = f"{alloy['alloy']}: {alloy['before_driving']}"
    said = [Figure("before driving", words, alloy["source"], alloy["certainty"])]
    if window:
        said += [_figure("out of the cold store", window, "min"), _fact("cold store")]
    return said


def _fact(name: str) -> Figure:
    row = driving.fact(name)
    return Figure(name, row["value"], row["source"], row["certainty"])


def _eyes() -> Caution:
    row = driving.fact("eyes")
    return Caution("driving", row["value"], row["source"], row["certainty"])


def _warnings(diameter: Fraction, alloy: Mapping[str, str]) -> tuple[Warned, ...]:
    row = driving.fact("squeezer")
    said = []
    if diameter > _SQUEEZER_RATED:
        said.append(f"This rivet is beyond the usual squeezer, {row['value']}.")
    if alloy["letter"] not in _NO_HARDER:
        said.append(
            f"The usual squeezer's limit, {row['value']}, is not of {alloy['alloy']}: this "
            "rivet asks more force; try it on scrap."
        )
    return tuple(Warned(each, row["source"], row["certainty"]) for each in said)


QUESTION = Question(
    name="driving",
    title="Driving a rivet",
    asks="Which pressure, set and squeezer does this rivet take, and must it be kept cold?",
    fields=(
        Field(
            name="diameter",
            label="Rivet diameter",
            help="the shank, in inches or mm",
            example="1/8",
            required=True,
        ),
        Field(
            name="head",
            label="Head",
            help="the manufactured head",
            default=_USUAL_HEAD,
            choices=driving.heads(),
        ),
        Field(
            name="alloy",
            label="Alloy",
            help="the letter in the callout",
            default=_USUAL_ALLOY,
            choices=driving.letters(),
        ),
    ),
    answer=answer,
)
