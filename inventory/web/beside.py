"""The list beside a page, where a desk has room for it: from one bin to the next.

A phone goes back to the list instead.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from inventory.catalog.models import Item
from inventory.catalog.queries import things_around
from inventory.ledger.queries import Bin, bins_around, quantities_at
from inventory.ordering.models import Order, Supplier
from inventory.ordering.queries import orders_around, suppliers
from inventory.planning.models import Assembly, Stage

# Rows above the one that is shown, and below it.
ABOVE, BELOW = 10, 30


@dataclass(frozen=True)
class Row:
    """One row of the list: where it leads, and whether that is the page itself."""

    where: str
    words: str
    note: str
    is_here: bool


@dataclass(frozen=True)
class Beside:
    """A part of a list, and the page that has all of it."""

    name: str
    whole: str
    rows: list[Row]


def _rows(page: str, found: Iterable[tuple[int, str, str]], here: int) -> list[Row]:
    return [
        Row(reverse(page, args=[key]), words, note, key == here)
        for key, words, note in found
    ]


def beside_bin(bin: Bin) -> Beside:
    """The bins around it."""
    found = bins_around(bin.number, ABOVE, BELOW)
    held = quantities_at(each.place_id for each in found)
    return Beside(
        "Bins",
        reverse("bins"),
        _rows(
            "bin",
            (
                (
                    each.number,
                    f"{each.number}: {each.item.words}",
                    f"{held.get((each.place_id, each.item_id), 0):,}",
                )
                for each in found
            ),
            bin.number,
        ),
    )


def beside_item(item: Item) -> Beside:
    """Items of its kind and diameter."""
    found = (
        (each.pk, each.words, each.callout)
        for each in things_around(item, ABOVE, BELOW)
    )
    return Beside("Of this kind", reverse("items"), _rows("item", found, item.pk))


def beside_order(order: Order) -> Beside:
    """The orders around it, the newest first."""
    found = (
        (
            each.number,
            f"{each.number}: {each.supplier.name}",
            f"{each.placed_on:%-d %b}",
        )
        for each in orders_around(order.number, ABOVE, BELOW)
    )
    return Beside("Orders", reverse("orders"), _rows("order", found, order.number))


def beside_supplier(supplier: Supplier) -> Beside:
    """All suppliers."""
    found = ((each.pk, each.name, "") for each in suppliers())
    return Beside(
        "Suppliers", reverse("suppliers"), _rows("supplier", found, supplier.pk)
    )


def beside_stage(stage: Stage) -> Beside:
    """The stages of its build."""
    found = ((each.pk, each.name, "") for each in stage.build.stages.all())
    return Beside("Stages", reverse("plan"), _rows("stage", found, stage.pk))


def beside_assembly(assembly: Assembly) -> Beside:
    """The assemblies of its stage."""
    found = (
        (each.pk, each.name, each.get_state_display())
        for each in assembly.stage.assemblies.all()
    )
    whole = reverse("stage", args=[assembly.stage_id])
    return Beside(assembly.stage.name, whole, _rows("assembly", found, assembly.pk))
