"""How long sealant and primer keep, and how long mixed sealant can be worked."""

import re
from calendar import monthrange
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from functools import cache

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.spelling import plain, tight

USE_BY = "use by the earliest date"
TEST_FIRST = "unknown: test before use"
DO_NOT_USE = "do not use"
IN_DATE = "within its life"
EXPIRED = "expired: do not use until an update test passes"

ROOM_F = 77
# The thumb rule is carried no further than people work.
COLDEST_F, WARMEST_F = 40, 120
MOST_TESTS = 20

_USUAL_STEP_F = 18
# What 'about 18 F' is read as, to either side: our own reading.
_STEP_DOUBT_F = 2
_DAY = re.compile(r"(?:19|20)[0-9]{2}-[0-9]{2}-[0-9]{2}", re.ASCII)
_MONTH = re.compile(r"(?P<month>0?[1-9]|1[0-2])/(?P<year>(?:19|20)[0-9]{2})", re.ASCII)
_CLASS = re.compile(
    r"(?P<letter>[ABC])-(?P<hours>[0-9/]+)(?:\((?P<assembly>[0-9]+)\))?"
)

Days = tuple[date, date]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """How long a family keeps unopened, at or below its storage limit.

    `least` and `most` count months or days, as `unit` says. `most` is None where the
    source gives a least only, `limit_f` where it gives no figure.
    """

    family: str
    words: str
    classed: bool
    limit_f: int | None
    least: int
    most: int | None
    unit: str
    note: str
    limit_source: str
    limit_certainty: str
    source: str
    certainty: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Class:
    """A class of AMS-S-8802: `assembly_hours` only where its bracket gives them."""

    name: str
    use: str
    application_hours: Fraction
    assembly_hours: int | None
    source: str
    certainty: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Container:
    """What is known of one container.

    `made` runs over a month where the label gives no day; `printed` is the label's
    use-by date; `warm` means kept above the limit; `passed` counts update tests.
    """

    made: Days | None = None
    printed: date | None = None
    opened: Days | None = None
    warm: bool = False
    passed: int = 0
    failed: bool = False


@dataclass(frozen=True, slots=True)
class Expiry:
    """When a container expires: earliest and latest; None where no rule gives a date.

    `verdict` is USE_BY, TEST_FIRST or DO_NOT_USE.
    """

    earliest: date | None
    latest: date | None
    verdict: str


@cache
def rules() -> Mapping[str, Rule]:
    """The rules by family, in the table's order."""
    return {row["family"]: _rule(row) for row in tables.rows("sealants")}


def _rule(row: Mapping[str, str]) -> Rule:
    return Rule(
        family=row["family"],
        words=row["words"],
        classed=row["classed"] == "yes",
        limit_f=int(row["limit_f"]) if row["limit_f"] else None,
        least=int(row["least"]),
        most=int(row["most"]) if row["most"] else None,
        unit=row["unit"],
        note=row["note"],
        limit_source=row["limit_source"],
        limit_certainty=row["limit_certainty"],
        source=row["source"],
        certainty=row["certainty"],
    )


def rule(family: str) -> Rule:
    """The rule of a product family. Raises Refused sealant.unknown."""
    found = rules().get(family)
    if found is None:
        raise _unknown(family, rules())
    return found


def fact(name: str) -> Mapping[str, str]:
    """A sentence of the trade by name: its value, source and certainty."""
    return tables.index("sealant_facts", "fact")[(name,)]


def class_names() -> tuple[str, ...]:
    """The classes known, in the table's order."""
    return tuple(row["class"] for row in tables.rows("sealant_classes"))


def class_of(name: str) -> Class:
    """The class 'B-2', 'C-8(20)': its number is application hours, its bracket assembly
    hours.

    Restated from the scope of AMS-S-8802D. Raises Refused sealant.unknown.
    """
    wanted = tight(name).removeprefix("CLASS")
    for row in tables.rows("sealant_classes"):
        match = _CLASS.fullmatch(row["class"])
        if match and tight(row["class"]) == wanted:
            return Class(
                name=row["class"],
                use=row["use"],
                application_hours=Fraction(match["hours"]),
                assembly_hours=int(match["assembly"]) if match["assembly"] else None,
                source=row["source"],
                certainty=row["certainty"],
            )
    raise _unknown(name, class_names())


def timing(name: str) -> Mapping[str, str] | None:
    """A class's hours to tack-free and cure as one maker's sheet gives them, if any."""
    return tables.index("sealant_timings", "class").get((name,))


def days(text: str) -> Days:
    """The first and last day meant: '2027-06-30' is one day, '06/2027' a month.

    Raises Refused sealant.date.
    """
    written = plain(text)
    if match := _MONTH.fullmatch(written):
        year, month = int(match["year"]), int(match["month"])
        return date(year, month, 1), date(year, month, monthrange(year, month)[1])
    if _DAY.fullmatch(written):
        with suppress(ValueError):
            day = date.fromisoformat(written)
            return day, day
    raise _refused("date", text, "a date such as 2027-06-30 or 06/2027")


def month_year(text: str) -> date:
    """The day a use-by label means: of '06/2027' the last of that month.

    From memory, label practice. Raises Refused sealant.date.
    """
    return days(text)[1]


def later(start: date, amount: Fraction, unit: str) -> date:
    """So many months or days after a date; a part of a day is dropped.

    A month keeps the day, or takes the last of a shorter month; half a month is 15
    days.
    """
    if unit == "days":
        return start + timedelta(days=int(amount))
    whole, half = divmod(amount, 1)
    year, month = divmod(start.year * 12 + start.month - 1 + int(whole), 12)
    day = min(start.day, monthrange(year, month + 1)[1])
    return date(year, month + 1, day) + timedelta(days=int(half * 30))


def original_life(rule: Rule, container: Container) -> tuple[int, int | None]:
    """Least and most of the original life, in the rule's unit.

    The label's own where it gives both its dates, otherwise the family's.
    """
    made, printed = container.made, container.printed
    if made is None or printed is None:
        return rule.least, rule.most
    if rule.unit == "days":
        return max((printed - made[1]).days, 0), (printed - made[0]).days
    months = (printed.year - made[0].year) * 12 + printed.month - made[0].month
    return months, months


def expires(rule: Rule, container: Container) -> Expiry:
    """When this container expires, from its printed date or from when it was made.

    Each passed update test adds half the original life: TO 1-1-700 para 12.8,
    published. Opened or kept warm it lasts less long, by how much no figure says.
    Raises Refused sealant.date without a date or for dates out of order.
    """
    if container.failed:
        return Expiry(None, None, DO_NOT_USE)
    first, last = _base(container)
    least, most = original_life(rule, container)
    # A printed date has the life in it already; the date of making has not.
    halves = container.passed + (0 if container.printed else 2)
    earliest = later(first, Fraction(least * halves, 2), rule.unit)
    latest = None
    if most is not None or not halves:
        latest = later(last, Fraction((most or 0) * halves, 2), rule.unit)
    if container.opened or container.warm:
        return Expiry(None, latest, TEST_FIRST)
    return Expiry(earliest, latest, USE_BY)


def _base(container: Container) -> Days:
    made, printed, opened = container.made, container.printed, container.opened
    for first, then in ((made, printed), (made, opened and opened[1])):
        if first and then and then < first[0]:
            expected = f"a date not before {first[0]}, when it was made"
            raise _refused("date", str(then), expected)
    base = (printed, printed) if printed else made
    if base is None:
        raise _refused("date", "", "the printed date, or when it was made")
    return base


def standing(expiry: Expiry, on: date) -> str:
    """What an expiry says of a day: IN_DATE, TEST_FIRST, EXPIRED or DO_NOT_USE."""
    if expiry.verdict == DO_NOT_USE:
        return DO_NOT_USE
    if expiry.latest and on > expiry.latest:
        return EXPIRED
    if expiry.earliest is None or on > expiry.earliest:
        return TEST_FIRST
    return IN_DATE


def application_time(hours: Fraction, at_f: Fraction) -> tuple[float, float]:
    """Least and most hours to work a class's `hours` at a temperature in degrees F.

    About halved per 18 F above 77 F and doubled per 18 F below: common practice. 'About
    18' is read as 16 to 20. Raises Refused sealant.temperature out of 40 to 120 F.
    """
    if not COLDEST_F <= at_f <= WARMEST_F:
        expected = (
            f"a temperature of {COLDEST_F} to {WARMEST_F} F, as far as the rule goes"
        )
        raise _refused("temperature", f"{float(at_f):g} F", expected)
    doublings = float(ROOM_F - at_f)
    steps = (_USUAL_STEP_F - _STEP_DOUBT_F, _USUAL_STEP_F + _STEP_DOUBT_F)
    found = [float(hours) * 2 ** (doublings / step) for step in steps]
    return min(found), max(found)


def accelerator(base: Fraction) -> Fraction:
    """Accelerator for so much base, in the same unit of weight: 10 to 100.

    Restated from two makers' sheets as an example; the maker's sheet decides.
    """
    return base * 10 / 100


def _unknown(name: str, known: Iterable[str]) -> Refused:
    return _refused("unknown", name, f"one of {', '.join(known)}")


def _refused(code: str, text: str, expected: str) -> Refused:
    return Refused(
        f"sealant.{code}",
        f"Expected {expected}; got '{text}'." if text else f"Expected {expected}.",
        {"text": text, "expected": expected},
    )
