"""A scratch shop with as long a record as wanted: twenty builds, 5,000 bins.

The plan is the demo's, once a build; nineteen builds are closed, and all movements are
theirs. The record is written in bulk, but holds: its own proof finds nothing wrong.
"""

import random
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import islice
from typing import Any, NamedTuple

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.models import QuerySet
from django.utils import timezone

from inventory.catalog.actions import item_for_callout
from inventory.catalog.models import Item
from inventory.ledger.actions.bins import open_bin, open_place
from inventory.ledger.queries import Bin, bins, single_place
from inventory.ledger.rules import Verb, fingerprint
from inventory.people.actions import create_owner
from inventory.people.models import User
from inventory.planning.actions import importing
from inventory.planning.models import CLOSED, Assembly, Build, Drilling, Need, Stage

BINS, BUILDS, ITEMS, YEARS, BATCH, SEED = 5000, 20, 500, 10, 1000, 7
# One act of so many is no pull: a delivery, a count, scrap, an undo.
EVERY = {Verb.RECEIVE: 40, Verb.COUNT: 33, Verb.SCRAP: 50, Verb.UNDO: 97}
DELIVERED, LOST = 1000, "count_difference"
# By the row and through the actions it would take hours; the proof says that it holds.
INSERT_ACT = """INSERT INTO inventory_act (id, fingerprint, verb, by_id, at, bin_id,
reason, counted, undoes_id, takes_back_id)
VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)"""
INSERT_MOVEMENT = """INSERT INTO inventory_movement (id, act_id, item_id, quantity,
source_id, target_id, source_after, target_after, corrects_id, original_id)
VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)"""
INSERT_FOUND = """INSERT INTO inventory_countfound (act_id, bin_id, difference, moved)
VALUES (%s, %s, %s, %s)"""
UPSERT_BALANCE = """INSERT INTO inventory_balance
(place_id, item_id, open_ended, quantity) VALUES (%s, %s, %s, %s)
ON CONFLICT (place_id, item_id) DO UPDATE SET quantity = excluded.quantity"""
UPDATE_BIN = """UPDATE inventory_bin
SET counted_at = %s, last_count_id = %s, moved_since = %s WHERE id = %s"""
UPDATE_NEED = "UPDATE inventory_need SET each = %s WHERE id = %s"
Way = tuple[int, int]  # the places a quantity goes from and to


class Pulled(NamedTuple):
    """The last pull, which may be undone."""

    act: int
    movement: int
    bin: Bin
    pieces: int
    place: int


@dataclass
class Filled:
    """The scratch shop and what its record says so far, to go on from."""

    by: list[User]
    bins: list[Bin]
    work: list[tuple[int, Need, Bin]]
    supplier: int
    held: dict[tuple[int, int], int] = field(default_factory=lambda: defaultdict(int))
    known: dict[int, tuple[int | None, int]] = field(default_factory=dict)
    dice: random.Random = field(default_factory=lambda: random.Random(SEED))
    movements: int = 0
    acts: int = 0


def furnish(plan: bytes) -> Filled:
    """People, items, bins and builds; nothing moved yet."""
    with transaction.atomic():
        owner = create_owner(name="owner", password="a scratch shop's phrase")
        helper = User.objects.create(username="helper")
        first = _first_build(plan, owner)
        builds = [first, *(_like(first, at) for at in range(1, BUILDS))]
        _close(builds[:-1], owner)
        every = _bins(owner)
        of_item = {bin.item_id: bin for bin in reversed(every)}
        needs = Need.objects.filter(assembly__stage__build__in=builds[:-1])
        work = [
            (need.assembly.place_id or 0, need, of_item[need.item_id])
            for need in needs.select_related("assembly").order_by("pk")
        ]
        supplier = open_place(kind="supplier", name="scratch supplier").pk
        return Filled([owner, helper], every, work, supplier)


def _first_build(plan: bytes, owner: User) -> Build:
    """One build with the plan's stages."""
    build = Build.objects.create(name="aircraft 1")
    found = importing.preview(name="plan.csv", data=plan)
    importing.apply(found=found, by=owner, now=timezone.now())
    return build


def _like(first: Build, at: int) -> Build:
    """Another build of the same plan."""
    build = Build.objects.create(name=f"aircraft {at + 1}")
    stages = _copied(
        Stage.objects.filter(build=first), {"build_id": {first.pk: build.pk}}
    )
    rows = Assembly.objects.filter(stage__build=first)
    assemblies = {"assembly_id": _copied(rows, {"stage_id": stages})}
    for model in (Need, Drilling):
        _copied(model.objects.filter(assembly__stage__build=first), assemblies)
    return build


def _copied(
    rows: QuerySet[Any], named: Mapping[str, Mapping[int, int]]
) -> dict[int, int]:
    """Copies of some rows that name other rows; each one's number by its original's."""
    old = [row.pk for row in rows.order_by("pk")]
    fresh = list(rows.order_by("pk"))
    for row in fresh:
        row.pk = None
        for name, numbers in named.items():
            setattr(row, name, numbers[getattr(row, name)])
    made = rows.model.objects.bulk_create(fresh)
    return dict(zip(old, (row.pk for row in made), strict=True))


def _close(builds: Iterable[Build], owner: User) -> None:
    """All assemblies of these builds are closed, one build after the other."""
    for at, build in enumerate(builds):
        when = _moment(at / BUILDS)
        for row in Assembly.objects.filter(stage__build=build):
            row.place = open_place(kind="assembly", name=row.name)
            row.state, row.started_at, row.closed_at = CLOSED, when, when
            row.started_by = row.closed_by = owner
            row.save()


def _moment(share: float) -> datetime:
    return timezone.now() - timedelta(days=365 * YEARS * (1 - share) + 1)


def _bins(owner: User) -> list[Bin]:
    """Bins of the plan's items and of more, several of each."""
    lengths = [
        f"MS20470{alloy}{dash}-{at}"
        for alloy in ("AD", "DD", "B")
        for dash in range(3, 9)
        for at in range(3, 32)
    ]
    planned = Need.objects.order_by("item").values_list("item_id", flat=True).distinct()
    items = list(Item.objects.filter(pk__in=planned))
    more = (item_for_callout(text=text) for text in lengths)
    items += islice((each for each in more if each not in items), ITEMS - len(items))
    for at in range(BINS):
        open_bin(item=items[at % len(items)], by=owner, number=at + 1)
    return bins()


def fill(shop: Filled, count: int) -> None:
    """Acts up to so many movements, then what stands by them."""
    writer = _Writer(shop, count)
    with transaction.atomic():
        writer.write()
        writer.settle()


class _Writer:
    """Acts and movements as bare rows, written by the thousand."""

    def __init__(self, shop: Filled, upto: int) -> None:
        self.shop, self.upto = shop, upto
        self.acts: list[tuple[Any, ...]] = []
        self.rows: list[tuple[Any, ...]] = []
        self.found: list[tuple[Any, ...]] = []
        self.last: Pulled | None = None
        self.scrap, self.lost = single_place("scrap").pk, single_place(LOST).pk
        self.start, self.span = _moment(0), _moment(1) - _moment(0)

    def write(self) -> None:
        """One act after the other, each kind in its turn."""
        dice, work, at = self.shop.dice, self.shop.work, 0
        while self.shop.movements < self.upto:
            at += 1
            place, _need, bin = work[self.shop.movements * len(work) // self.upto]
            if at % 7 == 0:
                place, _need, bin = dice.choice(work)
            verb = next((v for v, n in EVERY.items() if at % n == 0), Verb.PULL)
            self._one(verb, place, bin)
            if len(self.acts) >= BATCH:
                self._flush()
        self._flush()

    def _one(self, verb: Verb, place: int, bin: Bin) -> None:
        held, here, there = self.shop.held, bin.place_id, (place, bin.item_id)
        if verb == Verb.UNDO and self._can_undo():
            self._undo()
        elif verb == Verb.COUNT:
            self._count(bin)
        elif verb == Verb.SCRAP and held[there]:
            self._move(verb, bin, 1, (place, self.scrap))
        elif verb == Verb.RECEIVE or held[here, bin.item_id] < 5:
            self._move(Verb.RECEIVE, bin, DELIVERED, (self.shop.supplier, here))
        else:
            pieces = self.shop.dice.randint(1, 5)
            self._move(Verb.PULL, bin, pieces, (here, place))
            self.last = Pulled(self.shop.acts, self.shop.movements, bin, pieces, place)

    def _move(self, verb: Verb, bin: Bin, pieces: int, way: Way) -> None:
        ends = {"from": way[0], "to": way[1], "lot": None}
        asked = {"verb": verb, "bin": bin.pk, "quantity": pieces, **ends}
        self._act(verb, bin, fingerprint(asked))
        self._row(bin, pieces, way)

    def _count(self, bin: Bin) -> None:
        """Every second count finds one piece too few or too many."""
        held = self.shop.held[bin.place_id, bin.item_id]
        counted = max(0, held + self.shop.dice.choice((-1, 0, 0, 1)))
        asked = {"verb": Verb.COUNT, "bin": bin.pk, "counted": counted}
        self._act(Verb.COUNT, bin, fingerprint(asked), counted=counted)
        if counted != held:
            way = (self.lost, bin.place_id)
            way = way if counted > held else way[::-1]
            self._row(bin, abs(counted - held), way)
        last, moved = self.shop.known.get(bin.pk, (None, 0))
        if last:
            self.found.append((self.shop.acts, bin.pk, counted - held, moved))
        self.shop.known[bin.pk] = (self.shop.acts, 0)
        if self.last and self.last.bin == bin:
            self.last = None  # a pull that a count has seen is left as it is

    def _can_undo(self) -> bool:
        was = self.last
        return bool(was and self.shop.held[was.place, was.bin.item_id] >= was.pieces)

    def _undo(self) -> None:
        was, self.last = self.last, None
        assert was is not None
        mark = fingerprint({"verb": Verb.UNDO, "undoes": was.act})
        self._act(Verb.UNDO, was.bin, mark, undoes=was.act)
        self._row(was.bin, was.pieces, (was.place, was.bin.place_id), was.movement)
        last, moved = self.shop.known.get(was.bin.pk, (None, 0))
        self.shop.known[was.bin.pk] = (last, moved - was.pieces)

    def _act(self, verb: Verb, bin: Bin, mark: str, **facts: int) -> None:
        self.shop.acts += 1
        share = self.shop.movements / self.upto
        by = self.shop.by[self.shop.acts % 3 % 2]
        when = connection.ops.adapt_datetimefield_value(self.start + share * self.span)
        undone = facts.get("undoes")
        last = (facts.get("counted"), undone, undone)
        self.acts.append(
            (self.shop.acts, mark, verb.value, by.pk, when, bin.pk, "", *last)
        )

    def _row(
        self, bin: Bin, pieces: int, way: Way, corrects: int | None = None
    ) -> None:
        held, (source, target), item = self.shop.held, way, bin.item_id
        held[source, item] -= pieces
        held[target, item] += pieces
        if bin.place_id in way and self.lost not in way and corrects is None:
            last, moved = self.shop.known.get(bin.pk, (None, 0))
            self.shop.known[bin.pk] = (last, moved + pieces)
        self.shop.movements += 1
        left = (held[source, item], held[target, item])
        self.rows.append(
            (
                self.shop.movements,
                self.shop.acts,
                item,
                pieces,
                source,
                target,
                *left,
                corrects,
                corrects,
            )
        )

    def _flush(self) -> None:
        with connection.cursor() as cursor:
            cursor.executemany(INSERT_ACT, self.acts)
            cursor.executemany(INSERT_MOVEMENT, self.rows)
            cursor.executemany(INSERT_FOUND, self.found)
        self.acts, self.rows, self.found = [], [], []

    def settle(self) -> None:
        """What stands by the movements: balances, what is known of bins, the needs."""
        shop = self.shop
        owes = {shop.supplier, self.lost}
        held = [
            (place, item, place in owes, n) for (place, item), n in shop.held.items()
        ]
        when = connection.ops.adapt_datetimefield_value(_moment(1))
        known = [
            (when if last else None, last, moved, bin)
            for bin, (last, moved) in shop.known.items()
        ]
        needs = [
            (max(1, shop.held[place, bin.item_id]), need.pk)
            for place, need, bin in shop.work
        ]
        every = list(apps.get_app_config("inventory").get_models())
        with connection.cursor() as cursor:
            cursor.executemany(UPSERT_BALANCE, held)
            cursor.executemany(UPDATE_BIN, known)
            cursor.executemany(UPDATE_NEED, needs)
            for sql in connection.ops.sequence_reset_sql(no_style(), every):
                cursor.execute(sql)
