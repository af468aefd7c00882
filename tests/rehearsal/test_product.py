"""The rehearsed builder's facts are those of a shop in which the same was scanned.

A build is worked twice in one: by the simulator, and by the shop's own actions, each
order, parcel, pull, count and closing of it. On every day on which the rehearsal decides,
the shop's own readiness must say the same.
"""

from datetime import UTC, datetime, time

import numpy as np
import pytest
from django.db import connection

from inventory.catalog.actions import item_for_callout
from inventory.catalog.models import Item
from inventory.forecasting.actions.looking import look_into
from inventory.forecasting.queries.readiness import readiness
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import bins_of
from inventory.ordering.actions.offering import OfferTerms, price_offer
from inventory.ordering.actions.placing import AskLine, place_order, supplier_called
from inventory.ordering.actions.receiving import receive
from inventory.ordering.queries import still_owed
from inventory.planning.actions.importing import apply, preview
from inventory.planning.actions.working import close, place_to_pull_for
from inventory.planning.models import Assembly
from inventory.rehearsal.policy import product
from inventory.rehearsal.policy.record import Record, said_of
from inventory.rehearsal.seen.prices import SUPPLIERS
from inventory.rehearsal.world import builders, builds
from inventory.rehearsal.world.aircraft import at_random

pytestmark = [pytest.mark.django_db, pytest.mark.slow, pytest.mark.unmeasured]


class Booked(Record):
    """A record that is also scanned into the shop."""

    def __init__(self, shop, by):
        super().__init__(shop)
        self.by, self.orders, self.at = by, {}, {}
        self.items = [Item.objects.get(callout=part.callout) for part in self.parts]
        self.bins = [bins_of([item.pk])[0] for item in self.items]

    def ask(self):
        now = datetime.combine(self.today, time(12), UTC)
        return Ask(by=self.by, now=now)

    def ordered(self, supplier, pieces):
        super().ordered(supplier, pieces)
        place_order(
            supplier=supplier_called(name=supplier.name),
            asks=[AskLine(self.items[at], 1, n) for at, n in pieces.items()],
            placed_on=self.today,
            expected_on=self.sent[-1].expected,
            by=self.by,
            reference=str(id(self.sent[-1].parcel)),
        )

    def came(self):
        fresh = self.shop.booked - self.booked
        gone = {id(each.parcel) for each in self.sent}
        super().came()
        gone -= {id(each.parcel) for each in self.sent}
        for row in still_owed():
            at = self.items.index(row.line.item)
            if int(row.line.order.reference) in gone:
                receive(
                    bin=self.bins[at],
                    supplier=row.line.order.supplier,
                    ask=self.ask(),
                    pieces=int(fresh[at]),
                    line=row.line,
                    closes=True,
                )

    def count(self, part):
        super().count(part)
        held = int(self.shop.recorded[part])
        verbs.count(bin=self.bins[part], counted=held, ask=self.ask())

    def see(self, part, about):
        super().see(part, about)
        if about:
            seen = said_of(about)
            look_into(bin=self.bins[part], seen=seen, ask=self.ask(), sure=True)

    def worked(self, stage, entry):
        assembly = Assembly.objects.get(pk=self.at[stage].pop(0))
        pulled = max(entry.need, entry.pulled)
        where = place_to_pull_for(assembly=assembly, by=self.by, now=self.ask().now)
        verbs.pull(bin=self.bins[entry.part], quantity=pulled, to=where, ask=self.ask())
        super().worked(stage, entry)
        assembly.refresh_from_db()
        close(assembly=assembly, by=self.by, now=self.ask().now)


def of_lines(lines, words):
    """What is said of each item, by its callout."""
    return {
        words[line.item_id]: (
            line.need,
            line.through,
            line.on_hand,
            line.due,
            line.late,
            round(line.doubt, 6),
            round(line.chance_short, 9),
            line.use_95,
            line.to_order,
            line.short,
            line.order_by,
            round(line.worth_counting, 9),
            round(line.worth_looking, 9),
        )
        for line in lines
        if line.item_id in words
    }


class Compared(product.Gripcount):
    """The rehearsal's policy, whose every decision is compared with the shop's."""

    def __init__(self, owner):
        super().__init__()
        self.owner, self.days = owner, 0

    def begin(self, shop):
        self.record = Booked(shop, self.owner)
        self._plan(shop.aircraft)
        self.review(shop)

    def _plan(self, aircraft):
        rows = [
            f"S{at},,A{at}-{n},{aircraft.parts[chunk.part].callout},{chunk.need}"
            for at, stage in enumerate(aircraft.stages)
            for n, chunk in enumerate(stage)
        ]
        data = "\n".join(["stage,start,assembly,callout,each", *rows]).encode()
        found = preview(name="plan.csv", data=data)
        apply(found=found, by=self.owner, now=self.record.ask().now)
        for at in range(len(aircraft.stages)):
            made = Assembly.objects.filter(stage__name=f"S{at}").order_by("position")
            self.record.at[at] = list(made.values_list("pk", flat=True))

    def review(self, shop):
        ours = product.decide(self.record.facts())
        theirs = readiness(self.record.today)
        by_part = {n: part.callout for n, part in enumerate(self.record.parts, 1)}
        by_item = {item.pk: item.callout for item in self.record.items}
        said = {f"S{row.ask.pk}": of_lines(row.lines, by_part) for row in ours.stages}
        assert said == {
            row.stage.name: of_lines(row.lines, by_item) for row in theirs.stages
        }
        assert [(by_part[each.item], each.counts) for each in ours.looks] == [
            (by_item[each.item], each.counts) for each in theirs.decided.looks
        ]
        self.days += 1
        super().review(shop)


# The decisions are the same code on either engine: one build shows that the facts are.
BUILDS = 1 if connection.features.has_select_for_update else 2


@pytest.mark.parametrize("seed", range(BUILDS))
def test_on_every_day_the_shop_itself_would_decide_the_same(owner, seed):
    rng = np.random.default_rng([13, seed])
    flown = at_random(rng, 900)
    work = builders.draw(flown, rng)
    for number, part in enumerate(flown.parts, 1):
        item = item_for_callout(text=part.callout)
        open_bin(item=item, by=owner, number=number)
        for supplier in SUPPLIERS:
            price_offer(
                item=item,
                supplier=supplier_called(name=supplier.name, lead_days=supplier.days),
                pack=(50, None),
                terms=OfferTerms(price=4),
                by=owner,
            )
    compared = Compared(owner)
    shop = builds.build(flown, work, compared, np.random.default_rng(seed))
    assert compared.days > 20
    assert shop.counted + shop.looked > 3
    assert shop.looked > 2
    assert shop.parcels >= 2
    assert any(job.unrecorded for stage in work.stages for job in stage)
