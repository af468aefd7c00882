"""Several codes of one bag, taken together: which item, how many, which lot."""

from collections.abc import Callable, Sequence
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

    `part` is the number that names an item of the shop, '' where none does; `unread` are
    the texts nobody understands, to be taught once. `whole` is False when a code may be
    cut short: its quantity is then not to be trusted.
    """

    contents: Contents
    part: str = ""
    unread: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    whole: bool = True


def bag_of(texts: Sequence[str], is_known: Callable[[str], bool]) -> Bag:
    """Each text read in the order own numbers, markings, one-field codes.

    A code of one field ('Q500') is split only beside one whose part number the shop
    knows: many a bare part number would split too.
    """
    bag = Bag(Contents())
    loose: list[str] = []
    for text in texts:
        plain = without_identifier(text.strip())[1]
        if is_known(plain):
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
            bag = replace(bag, faults=faults, whole=bag.whole and marking.whole)
            bag = _joined(bag, marking.contents)
    bag = _with_loose(bag, loose, is_known)
    part = next((each for each in bag.contents.parts if is_known(each)), "")
    return replace(bag, part=part)


def _with_loose(bag: Bag, loose: list[str], is_known: Callable[[str], bool]) -> Bag:
    split = [(text, split_field(text)) for text in loose]
    found = marking_of_fields([field for _text, field in split if field]).contents
    if not any(is_known(part) for part in (*bag.contents.parts, *found.parts)):
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
    fault = f"one code says {bag.contents.quantity}, another {more.quantity}"
    faults = (*bag.faults, fault) if differs else bag.faults
    return replace(bag, contents=Contents(**values), faults=faults)
