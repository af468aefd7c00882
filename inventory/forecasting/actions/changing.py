"""What an item really is: read anew, or merged into the one that is there already.

Here, because this is the lowest floor that sees all that names an item: the record, the
plan, orders and bits.
"""

from typing import Any

from django.db import transaction

from inventory.catalog.actions import as_called, facts_described, facts_read, wording
from inventory.catalog.actions import changing as catalog
from inventory.catalog.models import Item, ItemChange
from inventory.catalog.queries import item_called, item_with_key, items_with_words
from inventory.catalog.rules import KINDS, Description, described_by
from inventory.errors import Refused
from inventory.forecasting.models import Bit
from inventory.ledger.actions import merging
from inventory.ledger.actions.bins import want_labels
from inventory.ledger.actions.posting import Ask, want_all, want_recheck
from inventory.ledger.queries import bins_of, has_a_record
from inventory.ordering.actions.repointing import buy_as_before, buy_as_other
from inventory.planning.actions.repointing import ask_as_before, ask_of_other
from inventory.trade import callouts
from inventory.trade.sizes import Lengths

# What an item does not have where its reading does not say it.
BLANK: dict[str, Any] = {
    **dict.fromkeys(("size", "form", "head", "alloy", "spoilage_class"), ""),
    **dict.fromkeys(("diameter_in", "length_in"), None),
    "unit": "pcs",
    "traits": {},
}


def say_lengths(how: Lengths) -> int:
    """Call what a callout names in inches or millimetres, in alerts and letters too."""
    with transaction.atomic():
        found = wording.say_lengths(how)
        want_all()
        return found


def rename(*, item: Item, words: str, ask: Ask) -> ItemChange:
    """Call an item otherwise. Errors: as `catalog.rename_item`."""
    with transaction.atomic():
        change = catalog.rename_item(item=item, words=words, by=ask.by.pk, now=ask.now)
        _is_new(item)
        return change


def be_really(
    *, item: Item, means: str | Description, ask: Ask, sure: bool = False
) -> ItemChange:
    """An item was read wrongly: it is what a callout or a description says.

    Where the shop has that item already, the two are merged, when somebody is `sure`.
    Errors: `catalog.exists`, `catalog.unlike`, and as `callouts.parse`.
    """
    facts, known = _meant(means)
    if known is not None and known.pk == item.pk:
        raise Refused(
            "catalog.merged", f"It is {item.title} already. Nothing was changed."
        )
    if known is not None:
        if not sure:
            raise _exists(item, known)
        return merge(old=item, new=known, ask=ask)
    kind = KINDS[facts["kind"]]
    _checked_alike(item, kind.one_at_a_time, facts.get("unit", "pcs"))
    if item.mass_is_weighed:
        facts.pop("piece_mass_mg", None)
    said = f"Read as '{facts['words']}', no longer as '{item.title}'"
    with transaction.atomic():
        change = catalog.be_now(
            item=item,
            facts={**BLANK, **facts, "recognised": True},
            said=said,
            by=ask.by.pk,
            now=ask.now,
        )
        _is_new(item)
        return change


def _meant(means: str | Description) -> tuple[dict[str, Any], Item | None]:
    if isinstance(means, Description):
        facts = facts_described(means)
        return facts, item_with_key(facts["key"])
    known = item_called(means)
    named = [known] if known and known.recognised else items_with_words(means)
    if len(named) == 1:
        return {"kind": named[0].kind}, named[0]
    words = described_by(means)
    if words is not None:
        return _meant(words)
    facts = as_called(facts_read(callouts.parse(means)))
    return facts, item_with_key(facts["key"])


def _exists(item: Item, known: Item) -> Refused:
    bins = ", ".join(str(bin.number) for bin in bins_of([known.pk]))
    where = f" (bin {bins})" if bins else ""
    return Refused(
        "catalog.exists",
        f"{known.title} is here already{where}. Say that it is right, and the two are "
        f"merged: all that is in bins, asked for, ordered and pulled as '{item.words}' "
        "counts as that from now on. It can be taken back.",
        {"item": known.pk},
    )


def merge(*, old: Item, new: Item, ask: Ask) -> ItemChange:
    """Two items are one: all of the old one's is the new one's from now on.

    Errors: `catalog.merged`, `catalog.unlike`.
    """
    if old.pk == new.pk or old.became_id or new.became_id:
        raise Refused(
            "catalog.merged",
            "They are one item already. Nothing was changed.",
            {"item": new.pk},
        )
    _checked_alike(old, new.sort.one_at_a_time, new.unit)
    with transaction.atomic():
        bits = Bit.objects.filter(item=old)
        moved = {
            "bits": list(bits.values_list("pk", flat=True)),
            "plan": ask_of_other(old=old, new=new),
            "bought": buy_as_other(old=old, new=new),
            "pieces": merging.merge_pieces(old=old, new=new, ask=ask),
        }
        bits.update(item=new)
        change = catalog.be_merged(
            old=old, new=new, moved=moved, by=ask.by.pk, now=ask.now
        )
        _is_new(old, new)
        return change


def _checked_alike(item: Item, one_at_a_time: bool, unit: str) -> None:
    if item.unit != unit:
        why = f"it is kept in {item.unit}, the other in {unit}"
    elif item.sort.one_at_a_time != one_at_a_time:
        why = "pieces of the one are numbered singly, of the other not"
    else:
        return
    if not has_a_record(item.pk):
        return
    raise Refused(
        "catalog.unlike",
        f"{item.words} cannot become that: {why}. Make a new bin for it, and retire "
        "the old one. Nothing was changed.",
        {"item": item.pk},
    )


def take_back(*, change: ItemChange, ask: Ask) -> None:
    """An item is again what it was before its last change, or two items are two again.

    What came to the merged item since then stays with it. Errors: `catalog.is_back`,
    `catalog.changed_since`, `catalog.exists`.
    """
    new, old = change.item, change.other
    with transaction.atomic():
        catalog.mark_back(change=change)
        if old is None:
            catalog.be_as_before(change=change)
            _is_new(new)
            return
        moved = change.moved
        pieces = moved["pieces"]
        catalog.be_parted(change=change)
        ask_as_before(old=old, new=new, **moved["plan"])
        buy_as_before(old=old, new=new, **moved["bought"])
        Bit.objects.filter(pk__in=moved["bits"], item=new).update(item=old)
        merging.part_pieces(
            old=new,
            new=old,
            bins=[int(pk) for pk in pieces["bins"]],
            places={int(pk): units for pk, units in pieces["places"].items()},
            ask=ask,
        )
        _is_new(old, new)


def _is_new(*items: Item) -> None:
    for item in items:
        want_labels(item.pk)
        want_recheck(item.pk, wide=True)
