"""Importing a plan, stock or price list: look at what it would change, then apply it."""

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any

from django.core.files.base import ContentFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from inventory.errors import Refused
from inventory.ordering.actions import offering, opening
from inventory.ordering.rules.example import offers_example, stock_example
from inventory.ordering.rules.lists import COLUMNS as STOCK_COLUMNS
from inventory.ordering.rules.offers import COLUMNS as OFFER_COLUMNS
from inventory.people.actions import remember_header
from inventory.people.models import User
from inventory.people.queries import header_called
from inventory.planning.actions import importing
from inventory.planning.rules.example import plan_example
from inventory.planning.rules.lines import COLUMNS as PLAN_COLUMNS
from inventory.sheets import NOTHING_TOLD, Table, Told, how_read
from inventory.web import uploads
from inventory.web.importforms import Apply, LookAgain, Upload, said_of, told_text
from inventory.web.parts import checked, done, download, keep, person, posted

SHOWN = 400


@dataclass(frozen=True)
class Look:
    """What a list would do, in words, and the call that does it.

    Of a plan: which list it is, what it may be instead, what is closed and would change.
    """

    bad: Sequence[tuple[int, str]]
    changes: Sequence[str]
    first: bool
    apply: Callable[[User, bool, bool], int]
    table: Table
    about: str = ""
    origin: str = ""
    instead: Sequence[tuple[str, str]] = ()
    closed: Sequence[str] = ()

    @property
    def mark(self) -> str:
        """The same for the same changes: what was looked at is what is applied."""
        text = "\n".join([*map(str, self.bad), *self.changes])
        return hashlib.sha256(text.encode()).hexdigest()

    @property
    def how_read(self) -> list[str]:
        """What is read otherwise than it stands, in words."""
        return how_read(self.table)


@dataclass(frozen=True)
class ListKind:
    """One of the three lists."""

    title: str
    word: str
    urls: tuple[str, str, str]
    back: str
    look: Callable[[str, bytes, str, Told], Look]
    columns: Sequence[str]


def _plan(name: str, data: bytes, origin: str, told: Told) -> Look:
    found = importing.preview(name=name, data=data, origin=origin, told=told)

    def apply(by: User, good_rows_only: bool, closed_too: bool) -> int:
        row = importing.apply(
            found=found,
            by=by,
            now=timezone.now(),
            good_rows_only=good_rows_only,
            closed_too=closed_too,
        )
        return row.changes if row else 0

    return Look(
        [(row.line, row.sentence) for row in found.bad],
        [row.sentence for row in found.changes],
        found.first,
        apply,
        found.table,
        about=_about(found),
        origin=found.origin,
        instead=_instead(found, name),
        closed=found.closed,
    )


def _about(found: importing.Preview) -> str:
    if found.first:
        return ""
    if found.origin not in found.lists:
        return "Each row names its list; what came from other lists stays."
    if found.known:
        return (
            f"It is the list '{found.origin}': what came from that list before is replaced, "
            "the rest stays."
        )
    return (
        f"It is a new list, '{found.origin}': it is added to the plan, and nothing "
        "that stands there goes."
    )


def _instead(found: importing.Preview, name: str) -> list[tuple[str, str]]:
    """Which list the file may be instead, and what a button says of it."""
    if found.first or found.origin not in found.lists:
        return []
    lists = [(each, f"No: it replaces the list '{each}'") for each in found.others]
    own = " ".join(PurePath(name).stem.split())[:70] or "plan"
    if own in found.others:
        own = next(
            f"{own} {at}" for at in range(2, 999) if f"{own} {at}" not in found.others
        )
    lists.append((own, f"No: add it to the plan, as the list '{own}'"))
    return [pair for pair in lists if pair[0] != found.origin]


def _stock(name: str, data: bytes, _origin: str, told: Told) -> Look:
    found = opening.preview(name=name, data=data, told=told)

    def apply(by: User, good_rows_only: bool, _closed: bool) -> int:
        return opening.apply(
            found=found, by=by, now=timezone.now(), good_rows_only=good_rows_only
        )

    return Look(found.bad, found.changes, found.first, apply, found.table)


def _offers(name: str, data: bytes, _origin: str, told: Told) -> Look:
    found = offering.preview(name=name, data=data, told=told)

    def apply(by: User, good_rows_only: bool, _closed: bool) -> int:
        return offering.apply(found=found, by=by, good_rows_only=good_rows_only)

    return Look(found.bad, found.changes, found.first, apply, found.table)


PLAN = ListKind(
    "Import a plan",
    "plan",
    ("plan-import", "plan-apply", "plan-example"),
    "plan",
    _plan,
    PLAN_COLUMNS,
)
STOCK = ListKind(
    "Import a stock list",
    "stock list",
    ("stock-import", "stock-apply", "stock-example"),
    "bins",
    _stock,
    STOCK_COLUMNS,
)


OFFERS = ListKind(
    "Import a price list",
    "price list",
    ("offers-import", "offers-apply", "offers-example"),
    "suppliers",
    _offers,
    OFFER_COLUMNS,
)


def _upload(request: HttpRequest, kind: ListKind) -> HttpResponse:
    form = Upload(posted(request), request.FILES or None)
    page: dict[str, Any] = {"kind": kind, "form": form}
    if request.method != "POST":
        return render(request, "import.html", page)
    keep(request, "import.html", page)
    if request.POST.get("sha256"):
        return _again(request, kind)
    given = checked(form)
    file = given["file"]
    name = file.name[:160] if file else "what was pasted"
    data = file if file else ContentFile(given["pasted"].encode(), name)
    digest, content = uploads.store(data)
    found, told = kind.look(name, content, "", NOTHING_TOLD), NOTHING_TOLD
    before = header_called(_mark(kind, found.table.header))
    if before is not None:
        told = Told(columns=before.columns, guessing=before.guessing)
        found = kind.look(name, content, "", told)
    shown = _preview(found, digest, name, told)
    return render(request, "import.html", page | shown)


def _mark(kind: ListKind, names: Iterable[str]) -> str:
    """The same for lists of one kind that name their columns in one own way."""
    text = "\n".join([kind.word, *sorted(names)])
    return hashlib.sha256(text.encode()).hexdigest()


def _again(request: HttpRequest, kind: ListKind) -> HttpResponse:
    """The same file looked at as another list, or with something said about it."""
    page: dict[str, Any] = {"kind": kind, "form": Upload()}
    keep(request, "import.html", page)
    asked = checked(LookAgain(request.POST))
    digest, name = asked["sha256"], asked["name"]
    told = said_of(request.POST, asked["told"], kind.columns)
    found = kind.look(name, uploads.fetch(digest), asked["list"], told)
    shown = _preview(found, digest, name, told)
    return render(request, "import.html", page | shown)


def _preview(found: Look, digest: str, name: str, told: Told) -> dict[str, Any]:
    start = {
        "sha256": digest,
        "name": name,
        "seen": found.mark,
        "list": found.origin,
        "told": told_text(told),
    }
    return {
        "ask_order": found.table.asks_order and told.day_first is None,
        "found": found,
        "name": name,
        "apply": Apply(initial=start),
        "shown": found.changes[:SHOWN],
        "more": max(0, len(found.changes) - SHOWN),
    }


def _apply(request: HttpRequest, kind: ListKind) -> HttpResponse:
    form = Apply(request.POST)
    keep(request, "import.html", {"kind": kind, "form": Upload()})
    asked = checked(form)
    told = said_of({}, asked["told"], kind.columns)
    data = uploads.fetch(asked["sha256"])
    found = kind.look(asked["name"], data, asked["list"], told)
    again = _preview(found, asked["sha256"], asked["name"], told)
    keep(request, "import.html", {"kind": kind, "form": Upload(), **again})
    if found.mark != asked["seen"]:
        raise Refused(
            "web.preview_old",
            "The shop changed since you looked: these are the changes now. Nothing was "
            "imported yet.",
        )
    if told.columns:
        mark = _mark(kind, found.table.header)
        remember_header(mark=mark, columns=told.columns, guessing=told.guessing)
    count = found.apply(person(request), asked["good_rows_only"], asked["closed_too"])
    uploads.forget(asked["sha256"])
    said = (
        f"{count} change{'' if count == 1 else 's'} made"
        if count
        else "it changed nothing"
    )
    return done(request, f"{asked['name']}: {said}.", kind.back)


@require_http_methods(["GET", "HEAD", "POST"])
def plan_import(request: HttpRequest) -> HttpResponse:
    """Choose a plan file; then see what it would change."""
    return _upload(request, PLAN)


@require_POST
def plan_apply(request: HttpRequest) -> HttpResponse:
    """Make the plan what the file says."""
    return _apply(request, PLAN)


@require_http_methods(["GET", "HEAD", "POST"])
def stock_import(request: HttpRequest) -> HttpResponse:
    """Choose a stock list; then see what it would change."""
    return _upload(request, STOCK)


@require_POST
def stock_apply(request: HttpRequest) -> HttpResponse:
    """Make the bins what the list says."""
    return _apply(request, STOCK)


@require_http_methods(["GET", "HEAD", "POST"])
def offers_import(request: HttpRequest) -> HttpResponse:
    """Choose a price list; then see what it would change."""
    return _upload(request, OFFERS)


@require_POST
def offers_apply(request: HttpRequest) -> HttpResponse:
    """Make the offers what the list says."""
    return _apply(request, OFFERS)


@require_safe
def offers_csv(request: HttpRequest) -> HttpResponse:
    """A price list to write over."""
    return _csv(offers_example(), "price-list-example.csv")


@require_safe
def plan_csv(request: HttpRequest) -> HttpResponse:
    """A plan file to write over."""
    return _csv(plan_example(), "plan-example.csv")


@require_safe
def stock_csv(request: HttpRequest) -> HttpResponse:
    """A stock list to write over."""
    return _csv(stock_example(), "stock-example.csv")


def _csv(text: str, name: str) -> HttpResponse:
    return download(text.encode(), name, "text/csv; charset=utf-8")
