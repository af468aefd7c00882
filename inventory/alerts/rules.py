"""Why the workshop is told something, and how it is said."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from inventory import days


@dataclass(frozen=True)
class Cause:
    """Why the workshop is told something; what is not mailed waits on its page."""

    code: str
    words: str
    mailed: bool = True


CAUSES = {
    cause.code: cause
    for cause in (
        Cause("short", "short before a stage"),
        Cause("keep_level", "under the keep level"),
        Cause("pool", "too few temporary fasteners"),
        Cause("drills", "too few drills"),
        Cause("tools", "no die, cutter or set of a size"),
        Cause("shelf_life", "shelf life ends"),
        Cause("overdue", "order overdue"),
        Cause("lent", "lent or borrowed past its day"),
        Cause("count", "bin to be counted", mailed=False),
        Cause("late", "stage late"),
        Cause("unreckoned", "a forecast that fails"),
        Cause("record", "the record does not add up"),
        Cause("backup", "no fresh backup"),
    )
}
MAILED = frozenset(cause.code for cause in CAUSES.values() if cause.mailed)


@dataclass(frozen=True)
class Finding:
    """A cause as it stands now: what, when, how many, what to order by which date."""

    subject: str
    cause: str
    title: str
    sentence: str
    act_by: date | None = None
    link: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)

    @property
    def key(self) -> tuple[str, str]:
        """One alert a subject and cause."""
        return self.subject, self.cause


# Headings, each with its lines.
Parts = Sequence[tuple[str, Sequence[str]]]
CAUTION = (
    "Counts and forecasts are as good as the record; guesses are marked. Drawings,",
    "the kit maker's instructions and licensed practice decide what is driven.",
)


def order_words(pieces: int, order_by: date, today: date, *, guess: bool) -> str:
    """'order 120 by 2027-03-04', or that the day is over; '' for nothing."""
    if not pieces:
        return ""
    doubt = " (lead time is a guess)" if guess else ""
    if order_by < today:
        return (
            f"order {pieces:,} now: the day to order was {days.said(order_by)}{doubt}"
        )
    return f"order {pieces:,} by {days.said(order_by)}{doubt}"


# The hour of the shop's clock from which a build day's letter goes out: a choice.
MORNING = 6


def is_build_morning(at: datetime, build_days: str) -> bool:
    """Whether it is the morning, or later, of a day that the shop builds on."""
    return str(at.isoweekday()) in build_days and at.hour >= MORNING


def digest(shop: str, day: date, parts: Parts, url: str) -> tuple[str, str]:
    """Subject and body of the letter that sums up: headings, each with its lines."""
    lines = [f"{shop}, {day:%A} {day.day} {day:%B %Y}.", ""]
    for heading, rows in parts:
        if rows:
            lines += [heading, *(f"* {row}" for row in rows), ""]
    lines += [f"All of it: {url.rstrip('/')}/", "", *CAUTION]
    return f"{shop}: where the build stands", "\n".join(lines)


def letter(shop: str, findings: list[Finding], url: str) -> tuple[str, str]:
    """Subject and body of one mail about these findings.

    The subject begins with what to do and by when, as a phone shows little of it.
    """
    first = findings[0]
    to_do = f"{first.data['to_do']}: " if first.data.get("to_do") else ""
    more = f" and {len(findings) - 1} more" if len(findings) > 1 else ""
    lines = [f"{shop}: what needs doing, the most pressing first.", ""]
    for row in findings:
        lines += [f"* {row.title}", f"  {row.sentence}"]
        if row.link:
            lines.append(f"  {url.rstrip('/')}{row.link}")
        lines.append("")
    lines += CAUTION
    return f"{shop}: {to_do}{first.title}{more}", "\n".join(lines)
