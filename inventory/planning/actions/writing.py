"""Writing a plan: rows are kept where they only changed their name, number or place."""

import json
from collections.abc import Collection, Mapping
from typing import Any

from inventory.catalog.actions import item_described, item_for_callout
from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.ledger.actions.bins import name_place
from inventory.ledger.actions.posting import want_recheck
from inventory.planning.models import (
    PLANNED,
    Assembly,
    Build,
    Drilling,
    Need,
    Seam,
    Stage,
)
from inventory.planning.queries.stored import asked_as, closed_spots
from inventory.planning.rules.compare import FlatPlan, Spot, touched
from inventory.planning.rules.editing import Edited, moved_to, renamed

Rows = dict[tuple[str, str], Assembly]


def closed_ones(build: Build | None, old: FlatPlan, edited: Edited) -> list[str]:
    """Closed assemblies that a change would touch, by name."""
    found = touched(renamed(old, edited.moved), edited.plan)
    closed = closed_spots(build)
    hit = {
        spot
        for spot in closed
        if spot in edited.moved or moved_to(edited.moved, spot) in found
    }
    return [name for _stage, name in sorted(hit)]


def refuse_closed(names: Collection[str]) -> None:
    """Errors: `planning.closed_changes`."""
    if names:
        many = len(names) > 1
        raise Refused(
            "planning.closed_changes",
            f"{', '.join(names)} {'are' if many else 'is'} closed: say that "
            f"{'they' if many else 'it'} may change all the same. Nothing was changed.",
            {"closed": list(names)},
        )


def write(build: Build, old: FlatPlan, edited: Edited) -> None:
    """Make the stored plan this one. Errors: `planning.assembly_in_use`."""
    plan, before = edited.plan, renamed(old, edited.moved)
    stages = _write_stages(build, plan, edited.moved)
    rows = _write_assemblies(build, plan, edited.moved, stages)
    _write_needs(before, plan, rows)
    _write_holes(before, plan, rows)
    _write_seams(before, plan, rows)
    _remove_the_rest(build, plan, rows)
    _recheck(build, _otherwise(before, plan))


def _otherwise(old: FlatPlan, new: FlatPlan) -> set[str]:
    """Stages that are at another time, count otherwise or have other assemblies."""
    if list(old.starts) != list(new.starts):
        return set(new.starts)
    dates = set(old.starts.items()) ^ set(new.starts.items())
    made = set(old.how_many.items()) ^ set(new.how_many.items())
    found = {name for name, _start in dates} | {key[0] for key, _many in made}
    return found | (old.skipped ^ new.skipped)


def _recheck(build: Build, stages: Collection[str]) -> None:
    needs = Need.objects.filter(assembly__stage__build=build).order_by()
    here = needs.filter(assembly__stage__name__in=stages)
    for item in sorted(set(here.values_list("item_id", flat=True))):
        want_recheck(item, wide=True)


def _write_stages(
    build: Build, plan: FlatPlan, moved: Mapping[Spot, Spot]
) -> dict[str, Stage]:
    stages = {row.name: row for row in build.stages.all()}
    for was, now in moved.items():
        if len(was) == 1:
            stages[now[0]] = stages.pop(was[0])
    for position, (name, start) in enumerate(plan.starts.items(), start=1):
        stage = stages.setdefault(name, Stage(build=build))
        _save(
            stage,
            name=name,
            position=position,
            planned_start=start,
            skipped=name in plan.skipped,
            origin=plan.made_by.get((name,), ""),
        )
    return stages


def _write_assemblies(
    build: Build,
    plan: FlatPlan,
    moved: Mapping[Spot, Spot],
    stages: Mapping[str, Stage],
) -> Rows:
    """Every assembly under its key; those that are gone from the plan come along."""
    rows: Rows = {}
    found = Assembly.objects.filter(stage__build=build).select_related("stage", "place")
    for row in found:
        spot = (row.stage.name, row.name)
        now = moved.get(spot, spot)
        rows[now[0], now[1]] = row
    for position, (key, how_many) in enumerate(plan.how_many.items(), start=1):
        row = rows.setdefault(key, Assembly())
        stage = stages[key[0]]
        _save(
            row,
            stage_id=stage.pk,
            name=key[1],
            position=position,
            how_many=how_many,
            origin=plan.made_by.get(key, ""),
        )
        row.stage = stage
        if row.place is not None and row.place.name != row.place_name:
            name_place(place=row.place, name=row.place_name)
    return rows


def _save(row: Stage | Assembly, **fields: object) -> None:
    """Write a row that is new or stands otherwise; most of a plan stays as it is."""
    if row.pk and all(getattr(row, name) == fields[name] for name in fields):
        return
    for name, value in fields.items():
        setattr(row, name, value)
    row.save()


def _write_needs(before: FlatPlan, plan: FlatPlan, rows: Rows) -> None:
    anew = _rewritten(before.needs, plan.needs, rows)
    old = {
        (
            need.assembly.stage.name,
            need.assembly.name,
            asked_as(need),
            need.origin,
        ): need
        for need in Need.objects.filter(
            assembly__in=list(anew.values())
        ).select_related("assembly__stage", "item")
    }
    items: dict[str, Item] = {}
    for key, each in plan.needs.items():
        if key[:2] not in anew:
            continue
        need = old.pop(key, None)
        if need is None:
            asks = key[2]
            item = items.get(asks) or _item(plan, asks)
            items[asks] = item
            Need.objects.create(
                assembly=rows[key[0], key[1]],
                item=item,
                callout="" if asks in plan.what else asks,
                each=each,
                origin=key[-1],
            )
            want_recheck(item.pk, wide=True)
        elif need.each != each:
            Need.objects.filter(pk=need.pk).update(each=each)
            want_recheck(need.item_id, wide=True)
    for need in old.values():
        want_recheck(need.item_id, wide=True)
        need.delete()


def _item(plan: FlatPlan, asks: str) -> Item:
    what = plan.what.get(asks)
    return item_described(what=what) if what else item_for_callout(text=asks)


def _rewritten(
    old: Mapping[Any, object], new: Mapping[Any, object], rows: Rows
) -> dict[tuple[str, str], Assembly]:
    """The assemblies of which some line differs: theirs are written anew."""
    spots = {key[:2] for key, _row in set(old.items()) ^ set(new.items())}
    return {spot: rows[spot] for spot in spots if spot in rows}


def _write_holes(before: FlatPlan, plan: FlatPlan, rows: Rows) -> None:
    anew = _rewritten(before.holes, plan.holes, rows)
    Drilling.objects.filter(assembly__in=list(anew.values())).delete()
    Drilling.objects.bulk_create(
        [
            Drilling(
                assembly=rows[key[0], key[1]],
                hole_size=key[2],
                operation=key[3],
                every_nth=key[4],
                days_held=key[5],
                origin=key[6],
                holes_each=holes,
            )
            for key, holes in plan.holes.items()
            if key[:2] in anew
        ]
    )


def _write_seams(before: FlatPlan, plan: FlatPlan, rows: Rows) -> None:
    anew = _rewritten(before.seams, plan.seams, rows)
    Seam.objects.filter(assembly__in=list(anew.values())).delete()
    Seam.objects.bulk_create(
        [
            Seam(
                assembly=rows[key[0], key[1]],
                callout=key[2],
                given=json.loads(key[3]),
                origin=key[4],
                rivets=found.rivets,
                rule=found.rule,
                days_held=found.days,
            )
            for key, found in plan.seams.items()
            if key[:2] in anew
        ]
    )


def _remove_the_rest(build: Build, plan: FlatPlan, rows: Rows) -> None:
    """Take away what the plan no longer names, unless pieces were pulled for it."""
    for key, row in rows.items():
        if key in plan.how_many:
            continue
        pulled = row.state != PLANNED
        if pulled or row.photographs.exists():
            why = "pieces were pulled for it" if pulled else "it has photographs"
            raise Refused(
                "planning.assembly_in_use",
                f"{row.name} ({key[0]}) would be gone, but {why}: keep it, or skip its "
                "stage. Nothing was changed.",
                {"assembly": row.pk},
            )
        row.delete()
    build.stages.exclude(name__in=list(plan.starts)).delete()
