"""How long a sealant or primer keeps, and how long it can be worked once mixed."""

import re
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import cautions, sealants
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Figure,
    Given,
    Question,
    Warned,
    text_of,
)
from inventory.trade.sealants import Class, Container, Expiry, Rule
from inventory.trade.spelling import plain

_TEMPERATURE = re.compile(r"(-?[0-9]{1,3}(?:\.[0-9])?)\s*°?\s*([FC])", re.ASCII)
_USUAL_KIND, _USUAL_TEMPERATURE = "polysulfide", "77 F"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Work:
    """A class at a temperature: hours to apply it, least and most."""

    grade: Class
    at_f: Fraction
    hours: tuple[float, float]


def answer(given: Given) -> Answer:
    """What the rule says of this container and class.

    Raises Refused sealant.unknown, sealant.date, sealant.temperature, sealant.passed
    and sealant.class.
    """
    rule = sealants.rule(text_of(given, "kind", _USUAL_KIND))
    work, container = _work(given, rule), _container(given)
    expiry = _expiry(rule, container)
    on = sealants.days(on)[1] if (on := text_of(given, "on")) else None
    standing = sealants.standing(expiry, on) if expiry and on else None
    kept = _kept_words(rule, expiry, standing)
    return Answer(
        headline=". ".join([kept, *_work_words(work)]) + ".",
        data={
            "kind": rule.family,
            **_work_data(work),
            **_expiry_data(expiry),
            "standing": standing,
            **_rule_data(rule, container),
        },
        figures=(
            *_rule_figures(rule),
            *_work_figures(work),
            *map(_fact, _facts(work, given)),
        ),
        warnings=_warnings(container, standing),
        cautions=cautions.about("sealants"),
    )


def fahrenheit(text: str) -> Fraction:
    """Degrees F from '60 F' or '15 C'. Raises Refused sealant.temperature."""
    match = _TEMPERATURE.fullmatch(plain(text))
    if match is None:
        raise _refused("temperature", text, "a temperature with its unit: 60 F or 15 C")
    degrees = Fraction(match[1])
    return degrees * 9 / 5 + 32 if match[2] == "C" else degrees


def _celsius(degrees_f: Fraction) -> int:
    return round((degrees_f - 32) * 5 / 9)


def _work(given: Given, rule: Rule) -> _Work | None:
    name = text_of(given, "class")
    if not name:
        return None
    if not rule.classed:
        raise _refused("class", name, f"no class with {rule.words}")
    grade = sealants.class_of(name)
    at_f = fahrenheit(text_of(given, "temperature", _USUAL_TEMPERATURE))
    hours = sealants.application_time(grade.application_hours, at_f)
    return _Work(grade=grade, at_f=at_f, hours=hours)


def _container(given: Given) -> Container:
    made, printed, opened = (
        sealants.days(text) if (text := text_of(given, name)) else None
        for name in ("made", "printed", "opened")
    )
    return Container(
        made=made,
        printed=printed[1] if printed else None,
        opened=opened,
        warm=_flag(given, "warm"),
        passed=_passed(text_of(given, "passed", "0")),
        failed=_flag(given, "failed"),
    )


def _flag(given: Given, name: str) -> bool:
    return text_of(given, name, "no") != "no"


def _passed(text: str) -> int:
    if re.fullmatch("[0-9]{1,2}", text, re.ASCII) and int(text) <= sealants.MOST_TESTS:
        return int(text)
    raise _refused("passed", text, f"0 to {sealants.MOST_TESTS} update tests passed")


def _refused(code: str, text: str, expected: str) -> Refused:
    return Refused(
        f"sealant.{code}",
        f"Expected {expected}; got '{text}'.",
        {"text": text, "expected": expected},
    )


def _expiry(rule: Rule, container: Container) -> Expiry | None:
    """None where nothing was said of a container, only of a kind or class."""
    return sealants.expires(rule, container) if container != Container() else None


def _kept_words(rule: Rule, expiry: Expiry | None, standing: str | None) -> str:
    """The first thing to know: expired is never 'use by' a day that is past."""
    if expiry is None:
        return f"Keeps {_life(rule)} unopened ({rule.words})"
    if expiry.verdict == sealants.DO_NOT_USE:
        return "Do not use: an update test failed"
    if standing == sealants.EXPIRED:
        return f"Expired since {expiry.latest}: do not use it untested"
    if standing == sealants.TEST_FIRST and expiry.earliest is not None:
        return f"It may be expired since {expiry.earliest}: test it before use"
    said = f"Use by {expiry.earliest}"
    if expiry.earliest is None:
        said = "Unknown: test before use"
    elif expiry.earliest == expiry.latest:
        return said
    end = f"certainly expired after {expiry.latest}"
    return f"{said}, {end if expiry.latest else 'the label may say later'}"


def _life(rule: Rule) -> str:
    """'9 months', '12 to 24 months', 'at least 12 months'."""
    if rule.most is None:
        return f"at least {rule.least} {rule.unit}"
    if rule.least == rule.most:
        return f"{rule.least} {rule.unit}"
    return f"{rule.least} to {rule.most} {rule.unit}"


def _work_words(work: _Work | None) -> list[str]:
    if work is None:
        return []
    return [
        f"{work.grade.name}: {_hours(work.hours)} to apply at {_degrees(work.at_f)}"
    ]


def _hours(hours: tuple[float, float]) -> str:
    least, most = (f"{each:.2f}".rstrip("0").rstrip(".") for each in hours)
    return f"{least} h" if least == most else f"{least} to {most} h"


def _degrees(at_f: Fraction) -> str:
    return f"{float(at_f):g} F ({_celsius(at_f)} C)"


def _work_data(work: _Work | None) -> dict[str, object]:
    least, most = (round(each, 2) for each in work.hours) if work else (None, None)
    return {
        "class": work.grade.name if work else None,
        "application_hours_min": least,
        "application_hours_max": most,
        "assembly_hours": work.grade.assembly_hours if work else None,
        "temperature_f": work.at_f if work else None,
    }


def _expiry_data(expiry: Expiry | None) -> dict[str, object]:
    first, last = (expiry.earliest, expiry.latest) if expiry else (None, None)
    return {
        "use_by_earliest": first.isoformat() if first else None,
        "use_by_latest": last.isoformat() if last else None,
        "verdict": expiry.verdict if expiry else None,
    }


def _rule_data(rule: Rule, container: Container) -> dict[str, object]:
    least, most = sealants.original_life(rule, container)
    limit = rule.limit_f
    return {
        "storage_limit_f": limit,
        "storage_limit_c": None if limit is None else _celsius(Fraction(limit)),
        "rule": f"{_life(rule)}: {rule.note}",
        "life_unit": rule.unit,
        f"extension_{rule.unit}": Fraction(least, 2),
        f"extension_{rule.unit}_most": None if most is None else Fraction(most, 2),
    }


def _rule_figures(rule: Rule) -> tuple[Figure, ...]:
    limit = "kept cool, no figure known here"
    if rule.limit_f is not None:
        limit = f"unopened, at or below {_degrees(Fraction(rule.limit_f))}"
    return (
        Figure("storage", limit, rule.limit_source, rule.limit_certainty),
        Figure("life", f"{_life(rule)}: {rule.note}", rule.source, rule.certainty),
    )


def _work_figures(work: _Work | None) -> list[Figure]:
    if work is None:
        return []
    grade, hours = work.grade, f"{float(work.grade.application_hours):g} h to apply"
    if grade.assembly_hours:
        hours += f", {grade.assembly_hours} h to assemble"
    said = f"{grade.use}: {hours} at {_degrees(Fraction(sealants.ROOM_F))}"
    return [
        Figure(f"class {grade.name}", said, grade.source, grade.certainty),
        *_cure_figures(grade),
    ]


def _cure_figures(grade: Class) -> list[Figure]:
    row = sealants.timing(grade.name)
    if row is None:
        return []
    text = f"tack-free under {row['tack_free_hours']} h, cured in {row['cure_hours']} h"
    return [Figure("cure example", text, row["source"], row["certainty"])]


def _facts(work: _Work | None, given: Given) -> list[str]:
    by_month = any("/" in text_of(given, name) for name in ("made", "printed"))
    return [
        *(["warmth", "mix", "service"] if work else []),
        *(["month"] if by_month else []),
        "extension",
        "half month",
        "update test",
    ]


def _fact(name: str) -> Figure:
    row = sealants.fact(name)
    return Figure(name, row["value"], row["source"], row["certainty"])


def _warnings(container: Container, standing: str | None) -> tuple[Warned, ...]:
    expired = standing in (sealants.EXPIRED, sealants.TEST_FIRST)
    spoiled = bool(container.opened or container.warm)
    names = ["expired"] * expired + ["opened or warm"] * spoiled
    rows = map(sealants.fact, names)
    return tuple(Warned(row["value"], row["source"], row["certainty"]) for row in rows)


_WHEN = "a day, or a month and year"
_FIELDS = (
    Field(
        name="kind",
        label="Kind",
        help="what it is",
        default=_USUAL_KIND,
        choices=tuple(sealants.rules()),
    ),
    Field(
        name="class",
        label="Class",
        help="of a polysulfide, as on the kit",
        example="B-2",
        choices=sealants.class_names(),
    ),
    Field(name="printed", label="Printed use-by date", help=_WHEN, example="06/2027"),
    Field(name="made", label="Made", help=_WHEN, example="2026-09-30"),
    Field(name="opened", label="Opened", help=_WHEN, example="2026-12-01"),
    Field(name="warm", label="Kept too warm", help="above its limit", flag=True),
    Field(name="passed", label="Update tests passed", help="how many", default="0"),
    Field(name="failed", label="An update test failed", flag=True),
    Field(
        name="temperature",
        label="Temperature where it is applied",
        help="in F or C",
        default=_USUAL_TEMPERATURE,
        example="60 F",
    ),
    Field(
        name="on",
        label="On",
        help="the day to judge it by; without it today",
        example="2027-01-15",
        is_today=True,
    ),
)

QUESTION = Question(
    name="sealant",
    title="Sealant and primer",
    asks="Until when does it keep, and how long can it be worked?",
    fields=_FIELDS,
    answer=answer,
)
