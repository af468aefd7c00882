"""Is the record whole? Every invariant of the ledger, read from what is stored.

Nothing here trusts what it reads: balances against movements, acts against their
fingerprints, pictures against their names, triggers against what the migrations made.
Read item by item and page by page, so that no read holds a writer up for long.
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from typing import Any

from django.apps import apps
from django.db import connection
from django.db.models import ForeignKey, Model

from inventory.catalog.models import Item
from inventory.ledger.models import (
    Act,
    Balance,
    Bin,
    KeptSum,
    Movement,
    Photograph,
    Place,
    Recheck,
)
from inventory.ledger.queries.counts import counts_found, known_of
from inventory.ledger.queries.paging import PAGE, in_pages
from inventory.ledger.queries.sums import KEYS, SUMS, Key
from inventory.ledger.rules import (
    Figure,
    Flaw,
    Invariant,
    Verb,
    fingerprint,
    photograph_name,
)

GUARDS = (
    "0002_movements_never_change",
    "0014_evidence_never_changes",
    "0020_scans_never_change",
)
FUNCTION = "gripcount_never_changed"
# As SQLite keeps a table's own text.
_NAMED = re.compile(r'CONSTRAINT "(\w+)"')
_UNIQUE = re.compile(r'"(\w+)" [^,"]*?(?:UNIQUE|PRIMARY KEY)')


def flaws(folder: Path | None = None) -> list[Flaw]:
    """All that is wrong with the record; with the shop's `folder`, its pictures too."""
    found = [
        *_balances(),
        *_acts(),
        *_known(),
        *_kept_sums(),
        *_wanted(),
        *guards_gone(),
        *_rules_kept(),
        *_own_check(),
    ]
    if folder is not None:
        found += _pictures(folder)
    return found


def _balances() -> Iterator[Flaw]:
    """I1, I2, I5, I6: what each movement left, and what stands now, item by item."""
    places = Place.objects.in_bulk()
    for item in _items():
        totals: dict[int, int] = defaultdict(int)
        for row in _movements_of(item.pk):
            yield from _moved(row, totals, places)
        yield from _standing(item, totals, places)


def _items() -> list[Item]:
    """Every item that anything moved of, or that stands anywhere."""
    moved = Movement.objects.order_by().values_list("item_id", flat=True).distinct()
    held = Balance.objects.values_list("item_id", flat=True).distinct()
    return list(Item.objects.filter(pk__in=set(moved) | set(held)).order_by("pk"))


def _movements_of(item: int) -> Iterator[Movement]:
    return in_pages(Movement.objects.filter(item=item))


def _moved(
    row: Movement, totals: dict[int, int], places: Mapping[int, Place]
) -> Iterator[Flaw]:
    if row.quantity <= 0 or row.source_id == row.target_id:
        yield Flaw(Invariant.CONSERVED, f"movement {row.pk} moves nothing")
    totals[row.source_id] -= row.quantity
    totals[row.target_id] += row.quantity
    for pk, said in (
        (row.source_id, row.source_after),
        (row.target_id, row.target_after),
    ):
        if totals[pk] != said:
            yield Flaw(
                Invariant.RUNNING,
                f"movement {row.pk} says it left {said} in {places.get(pk)}; by those "
                f"before it, it left {totals[pk]}",
            )
        if said < 0 and not _may_owe(pk, places):
            yield Flaw(
                Invariant.NEVER_BELOW, f"movement {row.pk} left {said} in {places[pk]}"
            )


def _may_owe(pk: int, places: Mapping[int, Place]) -> bool:
    return pk not in places or places[pk].open_ended


def _standing(
    item: Item, totals: Mapping[int, int], places: Mapping[int, Place]
) -> Iterator[Flaw]:
    rows = {row.place_id: row for row in Balance.objects.filter(item=item)}
    for pk in sorted(set(totals) | set(rows)):
        row, total = rows.get(pk), totals.get(pk, 0)
        held = row.quantity if row else 0
        where = f"{places.get(pk)}, {item.words}"
        if held != total:
            yield Flaw(
                Invariant.CONSERVED,
                f"{where}: the balance says {held}, the movements sum to {total}",
            )
        if row and row.open_ended != _may_owe(pk, places):
            yield Flaw(
                Invariant.NEVER_BELOW,
                f"{where}: its balance may go below nothing, or may not, otherwise "
                "than its place",
            )
        if held < 0 and not _may_owe(pk, places):
            yield Flaw(Invariant.NEVER_BELOW, f"{where}: it holds {held}")


def sums_of(item: int) -> dict[int, int]:
    """What every place holds of an item by its movements."""
    totals: dict[int, int] = defaultdict(int)
    for row in _movements_of(item):
        totals[row.source_id] -= row.quantity
        totals[row.target_id] += row.quantity
    return totals


def _acts() -> Iterator[Flaw]:
    """I3, I4: each act moved what its fingerprint says, once; corrections mirror."""
    rows = Act.objects.select_related("bin", "undoes__undoes")
    rows = rows.prefetch_related("movements__corrects")
    for act in in_pages(rows):
        yield from _act(act)


def _act(act: Act) -> Iterator[Flaw]:
    moved = list(act.movements.all())
    if act.fingerprint not in map(fingerprint, _payloads(act, moved)):
        yield Flaw(
            Invariant.ONCE, f"act {act.pk} is not what was asked: {act.verb}, {act.at}"
        )
    if (act.verb == Verb.UNDO) != (act.undoes_id is not None):
        yield Flaw(Invariant.ONCE, f"act {act.pk} takes back nothing, or should not")
    if act.takes_back_id != _gone_by(act):
        yield Flaw(Invariant.ONCE, f"act {act.pk} takes back what it does not undo")
    for row in moved:
        was = row.corrects
        if was is not None and (
            (was.item_id, was.quantity, was.source_id, was.target_id)
            != (row.item_id, row.quantity, row.target_id, row.source_id)
            or was.act_id != act.undoes_id
            or row.original_id != (was.original_id or was.pk)
        ):
            yield Flaw(
                Invariant.CONSERVED, f"movement {row.pk} does not take back {was.pk}"
            )


def _gone_by(act: Act) -> int | None:
    """What an act takes back: the first of its chain, at every other undo."""
    chain = [act]
    while chain[-1].undoes is not None:
        chain.append(chain[-1].undoes)
    return chain[-1].pk if len(chain) % 2 == 0 else None


def _payloads(act: Act, moved: list[Movement]) -> Iterator[dict[str, object]]:
    """What the act may have been asked to do, by what it did."""
    asked: dict[str, object] = {"verb": act.verb, "bin": act.bin_id}
    if act.verb == Verb.UNDO:
        yield {"verb": act.verb, "undoes": act.undoes_id}
    elif act.verb == Verb.MERGE:
        ends = (moved[0].item_id, moved[-1].item_id) if moved else (None, None)
        pieces = sum(row.quantity for row in moved) // 2
        yield {**asked, "quantity": pieces, "from": ends[0], "to": ends[1]}
    elif act.verb == Verb.COUNT and act.bin is not None:
        place = act.bin.place_id
        yield {**asked, "counted": act.counted}
        came = sum(
            row.quantity if row.target_id == place else -row.quantity for row in moved
        )
        yield {**asked, "change": came}
    elif act.verb == Verb.LOOK:
        yield {**asked, "seen": act.reason}
    for row in moved:
        yield {
            **asked,
            "quantity": row.quantity,
            "from": row.source_id,
            "to": row.target_id,
            "lot": row.lot_id,
        }


def _known() -> Iterator[Flaw]:
    """I2: what is known of a bin is what its acts that stand say."""
    for bin in Bin.objects.all():
        known = known_of(bin.place_id, bin.item_id)
        row = (bin.last_count_id, bin.moved_since, bin.last_look_id, bin.moved_at_look)
        if row != (
            known.last_count,
            known.moved_since,
            known.last_look,
            known.moved_at_look,
        ):
            yield Flaw(
                Invariant.RUNNING,
                f"{bin} says that {bin.moved_since} moved since its last count",
            )
        if counts_found(bin.pk) != known.found:
            yield Flaw(
                Invariant.RUNNING, f"what the counts of {bin} found is not what is kept"
            )


def _kept_sums() -> Iterator[Flaw]:
    """I2: the kept sums are those of the movements that they say they hold."""
    kept = list(KeptSum.objects.values_list("figure", *KEYS, "total"))
    upto = sum(row[-1] for row in kept if row[0] == Figure.UPTO)
    off: dict[tuple[str, Key], int] = defaultdict(int)
    # But for the day, the last key: the shop's clock may be in another zone since.
    for row in _sums_upto(upto):
        off[row[0], row[1:-2]] += row[-1]
    for row in kept:
        if row[0] != Figure.UPTO:
            off[row[0], row[1:-2]] -= row[-1]
    for (figure, key), less in off.items():
        if less:
            yield Flaw(
                Invariant.RUNNING,
                f"the kept sum of {figure} for {key} is {less} less than its movements",
            )


def _sums_upto(upto: int) -> Iterator[tuple[Any, ...]]:
    """Figure, keys and sum of every page of movements up to one."""
    for after in range(0, upto, PAGE):
        page = Movement.objects.filter(pk__gt=after, pk__lte=min(after + PAGE, upto))
        for figure, ways in SUMS.items():
            for sums in ways:
                for each in sums(page).values_list(*KEYS, "total"):
                    yield figure, *each


def _wanted() -> Iterator[Flaw]:
    """I9: nobody has looked at more than was wanted."""
    for row in Recheck.objects.all():
        if row.done > row.wanted:
            yield Flaw(
                Invariant.LOOKED,
                f"item {row.item_id} was looked at {row.done} times, wanted "
                f"{row.wanted} times",
            )


def expected_guards() -> dict[str, str]:
    """The triggers of this engine by name, as the migrations made them."""
    engine = "POSTGRES" if connection.vendor == "postgresql" else "SQLITE"
    found: dict[str, str] = {}
    for name in GUARDS:
        found |= getattr(import_module(f"inventory.migrations.{name}"), engine)
    return found


def guards_gone() -> Iterator[Flaw]:
    """I7: the triggers that refuse every change stand, and stand armed."""
    present = _triggers()
    for name, sql in expected_guards().items():
        if name not in present:
            yield Flaw(Invariant.APPEND_ONLY, f"the trigger {name} is gone or is off")
        elif connection.vendor != "postgresql" and present[name] != sql:
            yield Flaw(Invariant.APPEND_ONLY, f"the trigger {name} says something else")
    if connection.vendor == "postgresql" and not _function_refuses():
        yield Flaw(Invariant.APPEND_ONLY, f"the function {FUNCTION} refuses nothing")


def _triggers() -> dict[str, str]:
    rows = (
        "SELECT tgname, '' FROM pg_trigger WHERE tgenabled IN ('O', 'A')"
        if connection.vendor == "postgresql"
        else "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    )
    return {row[0]: row[1] for row in _read(rows)}


def _function_refuses() -> bool:
    rows = _read("SELECT prosrc, '' FROM pg_proc WHERE proname = %s", FUNCTION)
    made = import_module(f"inventory.migrations.{GUARDS[0]}").POSTGRES_FUNCTION
    return bool(rows) and rows[0][0].strip() in made


def _rules_kept() -> Iterator[Flaw]:
    """The tables still have every rule of their models."""
    names, single = _rules_there()
    for model in apps.get_app_config("inventory").get_models():
        table = model._meta.db_table
        for constraint in model._meta.constraints:
            if constraint.name not in names:
                yield Flaw(
                    Invariant.SOUND, f"{table} has lost its rule {constraint.name}"
                )
        for field in model._meta.local_fields:
            if field.unique and (table, field.column) not in single:
                yield Flaw(Invariant.SOUND, f"{table} may hold {field.column} twice")


def _rules_there() -> tuple[set[str], set[tuple[str, str]]]:
    """The names of rules and indexes, and the columns that may hold nothing twice."""
    if connection.vendor == "postgresql":
        names = "SELECT conname FROM pg_constraint UNION SELECT relname FROM pg_class"
        single = (
            "SELECT c.relname, a.attname FROM pg_index i "
            "JOIN pg_class c ON c.oid = i.indrelid JOIN pg_attribute a "
            "ON a.attrelid = c.oid AND a.attnum = i.indkey[0] "
            "WHERE i.indisunique AND i.indisvalid AND i.indnatts = 1"
        )
        pairs = {(row[0], row[1]) for row in _read(single)}
        return {row[0] for row in _read(names)}, pairs
    found, pairs = set(), set()
    for kind, name, sql in _read(
        "SELECT type, name, coalesce(sql, '') FROM sqlite_master"
    ):
        found |= {name} if kind == "index" else set(_NAMED.findall(sql))
        pairs |= {(name, column) for column in _UNIQUE.findall(sql)}
    return found, pairs


def _own_check() -> Iterator[Flaw]:
    """What the database itself finds wrong; rows that name what is not there."""
    if connection.vendor == "postgresql":
        for model in apps.get_app_config("inventory").get_models():
            yield from _dangling(model)
        return
    for (said,) in _read("PRAGMA integrity_check(20)"):
        if said != "ok":
            yield Flaw(Invariant.SOUND, f"the database says: {said}")
    for table, row, target, _key in _read("PRAGMA foreign_key_check"):
        yield Flaw(
            Invariant.SOUND, f"{table} {row} names a row of {target} that is gone"
        )


def _dangling(model: type[Model]) -> Iterator[Flaw]:
    for field in model._meta.local_fields:
        if isinstance(field, ForeignKey):
            there = field.related_model._default_manager.values("pk")
            rows = model._default_manager.exclude(**{field.name: None})
            for pk in rows.exclude(**{f"{field.attname}__in": there}).values_list("pk"):
                yield Flaw(
                    Invariant.SOUND,
                    f"{model._meta.db_table} {pk[0]} names a row of "
                    f"{field.related_model._meta.db_table} that is gone",
                )


def _pictures(folder: Path) -> Iterator[Flaw]:
    """Evidence: each picture's file is there and is what its name says."""
    for pk, mark in Photograph.objects.order_by("pk").values_list("pk", "sha256"):
        file = folder / photograph_name(mark)
        if not file.is_file():
            yield Flaw(Invariant.EVIDENCE, f"photograph {pk}: its file {file} is gone")
        elif sha256(file.read_bytes()).hexdigest() != mark:
            yield Flaw(
                Invariant.EVIDENCE,
                f"photograph {pk}: its file {file} is not the picture",
            )


def _read(sql: str, *values: str) -> list[tuple[str, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return list(cursor.fetchall())
