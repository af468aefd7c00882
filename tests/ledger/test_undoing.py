"""What was taken back is as if it had never been: balances, beliefs, lots, flags."""

import random
from datetime import timedelta

import pytest
from django.db import transaction

from inventory.catalog.actions import item_for_callout
from inventory.ledger import queries, rules
from inventory.ledger.actions import bins, undoing, verbs
from inventory.ledger.actions.posting import Ask
from inventory.ledger.actions.summing import keep_sums
from inventory.ledger.models import CountFound
from inventory.ledger.queries.lots import lots_in, recall
from inventory.ledger.queries.sums import summed
from inventory.ledger.rules import Figure

RIVETS = ("MS20426AD3-3.5", "MS20426AD3-4")
DEEDS = ("pull", "pull", "receive", "count", "move", "return", "scrap", "lend")


class Workshop:
    """A shop of its own items, worked by a script of deeds."""

    def __init__(self, name, owner, now):
        self.by, self.now, self.name = owner, now, name
        items = [item_for_callout(text=f"{text}") for text in RIVETS]
        self.bins = [bins.open_bin(item=each, by=owner) for each in (items[0], *items)]
        self.places = {
            kind: bins.open_place(kind=kind, name=f"{kind} {name}")
            for kind in ("assembly", "supplier", "borrower")
        }
        self.lots = [bins.lot_of(item=items[0], name=f"{name} {at}") for at in range(2)]
        for bin in self.bins:
            verbs.count(bin=bin, counted=60, ask=self.ask(0, reason=rules.OPENING))

    def ask(self, minute, **other):
        return Ask(self.by, self.now + timedelta(minutes=minute), **other)

    def do(self, minute, deed, at, n):
        """One deed, at one of the bins, of so many pieces."""
        bin, ask, place = self.bins[at], self.ask(minute), self.places
        what = {"bin": bin, "quantity": n, "ask": ask}
        if deed == "count":
            return verbs.count(bin=bin, counted=n, ask=ask)
        if deed == "move":
            other = self.bins[1 - at] if at < 2 else None
            return other and verbs.move(**what, to=other)
        if deed == "receive":
            lot = self.lots[n % 2] if at < 2 else None
            return verbs.receive(**what, supplier=place["supplier"], lot=lot)
        if deed == "lend":
            return verbs.lend(**what, to=place["borrower"])
        if deed == "pull":
            return verbs.pull(**what, to=place["assembly"])
        act = verbs.give_back if deed == "return" else verbs.scrap
        return act(**what, from_=place["assembly"])

    def state(self):
        """All that the record says and believes, in names that two shops share."""
        found = {}
        for at, bin in enumerate(self.bins):
            bin.refresh_from_db()
            kept = CountFound.objects.filter(bin=bin).order_by("pk")
            rows = list(kept.values_list("difference", "moved"))
            found[at] = {
                "held": queries.quantity_in(bin),
                "counted": bin.counted_at,
                "asks": (bin.count_it, bin.count_reason),
                "moved": bin.moved_since,
                "found": rows,
                "lots": sorted(stay.lot.name[-1] for stay in lots_in(bin)),
            }
        places = [each.pk for each in self.places.values() if each.kind != "supplier"]
        items = {bin.item_id: at for at, bin in enumerate(self.bins)}
        there = queries.quantities_at(places)
        kinds = {each.pk: each.kind for each in self.places.values()}
        found["places"] = {
            (kinds[place], items[item]): n for (place, item), n in there.items() if n
        }
        for figure in (Figure.TO_WORK, Figure.SCRAPPED):
            sums = summed(figure, what=list(items))
            found[figure] = sorted((items[key[2]], n) for key, n in sums.items() if n)
        found["recall"] = [
            sorted((each.place.kind, each.share) for each in recall(lot))
            for lot in self.lots
        ]
        return found


@pytest.fixture
def shops(owner, now):
    """Two shops, told apart by nothing but what is done in them."""
    return lambda name: Workshop(name, owner, now)


def plays(seed):
    """Deeds of an evening; some of them are slips."""
    dice = random.Random(seed)
    script = [
        (at, dice.choice(DEEDS), dice.randrange(3), dice.choice((1, 5, 9, 30, 80, 0)))
        for at in range(1, 16)
    ]
    script = [(a, d, b, n or (0 if d == "count" else 3)) for a, d, b, n in script]
    return script, set(dice.sample(range(len(script)), 4)), dice


@pytest.mark.slow
@pytest.mark.django_db(transaction=False)
@pytest.mark.parametrize(
    "seed",
    [*range(6), *(pytest.param(n, marks=pytest.mark.unmeasured) for n in range(6, 24))],
)
def test_slips_taken_back_leave_the_shop_as_if_they_had_never_been(shops, seed):
    """Taken back at any later time, in any order, some put in force and taken back."""
    script, slips, dice = plays(seed)
    mark = transaction.savepoint()
    never = shops("never")
    for at, row in enumerate(script):
        if at not in slips:
            never.do(*row)
    expected = never.state()
    transaction.savepoint_rollback(mark)
    slipped = shops("slipped")
    done = {}
    waiting = sorted(slips)
    for at, row in enumerate(script):
        made = slipped.do(*row)
        if at in slips:
            done[at] = made
        if dice.random() < 0.2:
            keep_sums()
        if waiting and waiting[0] < at and dice.random() < 0.3:
            take_back(done[waiting.pop(0)], slipped, dice)
    dice.shuffle(waiting)
    for at in waiting:
        take_back(done[at], slipped, dice)
    found = slipped.state()
    wrong = {
        key: (found[key], expected[key]) for key in found if found[key] != expected[key]
    }
    assert not wrong, wrong
    assert queries.flaws() == []


def take_back(made, shop, dice):
    """Once, or back and forth."""
    if made is None:
        return
    for _ in range(dice.choice((1, 1, 3))):
        made = undoing.undo(act=made.act, ask=shop.ask(60))
