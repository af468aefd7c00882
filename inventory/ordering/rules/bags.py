"""Several codes of one bag, taken together: which item, how many, which lot."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, fields, replace

from inventory.errors import Refused
from inventory.trade.bags.reading import (
    marking_of,
    marking_of_fields,
    split_field,
    without_identifier,
)
from inventory.trade.bags.shape import Contents

# Missing pieces are made good when told within so many days: common practice, no
# source. The supplier's own terms decide.
CLAIM_DAYS = 30


@dataclass(frozen=True)
class Bag:
    """What the codes of a bag say.

    `part` is the number that names an item of the shop, '' where none does or where two
    codes name different ones; `unread` are the texts nobody understands, to be taught
    once. `sure` is False when a code may be cut short or two quantities differ: none is
    then to be trusted.
    """

    contents: Contents
    part: str = ""
    unread: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    sure: bool = True


# The item a text names in this shop, None where it names none.
Named = Callable[[str], Hashable | None]


def bag_of(texts: Sequence[str], named: Named) -> Bag:
    """Each text read in the order own numbers, markings, one-field codes.

    A code of one field ('Q500') is split only beside one whose part number the shop
    knows: many a bare part number would split too.
    """
    bag = Bag(Contents())
    loose: list[str] = []
    for text in texts:
        plain = without_identifier(text.strip())[1]
        if named(plain) is not None:
            bag = _joined(bag, Contents(parts=(plain,)))
            continue
        try:
            marking = marking_of(text)
        except Refused as error:
            bag = replace(bag, faults=(*bag.faults, error.sentence))
            continue
        if marking is None:
            loose.append(plain)
        else:
            faults = (*bag.faults, *marking.faults)
            bag = replace(bag, faults=faults, sure=bag.sure and marking.whole)
            bag = _joined(bag, marking.contents)
    return _one_part(_with_loose(bag, loose, named), named)


def _one_part(bag: Bag, named: Named) -> Bag:
    """The part number that names an item; two that name different ones are a fault."""
    parts = {named(part): part for part in reversed(bag.contents.parts)}
    parts.pop(None, None)
    if len(parts) > 1:
        several = " and ".join(reversed(parts.values()))
        fault = f"its codes name different items: {several}; sort that out first"
        return replace(bag, faults=(*bag.faults, fault))
    return replace(bag, part=next(iter(parts.values()), ""))


def _with_loose(bag: Bag, loose: list[str], named: Named) -> Bag:
    split = [(text, split_field(text)) for text in loose]
    found = marking_of_fields([field for _text, field in split if field]).contents
    parts = (*bag.contents.parts, *found.parts)
    if all(named(part) is None for part in parts):
        return replace(bag, unread=tuple(loose))
    left = tuple(text for text, field in split if field is None)
    return replace(_joined(bag, found), unread=left)


def _joined(bag: Bag, more: Contents) -> Bag:
    """What was said first stands; what differs is a fault."""
    values = {
        each.name: getattr(bag.contents, each.name) or getattr(more, each.name)
        for each in fields(Contents)
    }
    values["parts"] = tuple(dict.fromkeys((*bag.contents.parts, *more.parts)))
    differs = bag.contents.quantity and more.quantity not in (
        None,
        bag.contents.quantity,
    )
    bag = replace(bag, contents=Contents(**values))
    if not differs:
        return bag
    fault = f"one code says {bag.contents.quantity}, another {more.quantity}"
    return replace(bag, faults=(*bag.faults, fault), sure=False)
