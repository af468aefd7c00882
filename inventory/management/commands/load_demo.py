"""Fill an empty demo shop: `load_demo`, with all that lies in fixtures/.

Every day in the files counts from a stated reference day, which becomes today. The
history goes through the same actions as a person's, each at the moment it happened.
"""

import json
import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime, time, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.db import transaction
from django.utils import timezone

from inventory.alerts.actions import settle
from inventory.buying.actions import ask_plan
from inventory.catalog.queries import item_called
from inventory.config.demo import DEMO_NAME, DEMO_PASSWORD
from inventory.forecasting.actions import fit_from_bin, happen
from inventory.forecasting.queries.tools import bit_numbered
from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import open_place
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import Bin, Place, bin_numbered, bins, quantity_in
from inventory.ledger.rules import Verb
from inventory.management.plain import PlainCommand, owner, refusals
from inventory.ordering.actions import offering, opening, placing, receiving
from inventory.ordering.queries import order_numbered, still_owed
from inventory.people.actions import create_owner, settle_shop
from inventory.people.models import User
from inventory.planning.actions import importing, working
from inventory.planning.models import Assembly, Build
from inventory.planning.queries.asking import asked_by

FIXTURES = Path(settings.ROOT) / "fixtures"
ISO_DAY = re.compile(rb"\b[0-9]{4}-[0-9]{2}-[0-9]{2}\b")
EVENING = time(19, 10)
# Above so many, a builder tips out a round handful and returns what is left.
HANDFUL = 20


class Command(PlainCommand):
    """Only in the demo, and only where nobody is known yet."""

    help = "Fill an empty demo shop with an invented aircraft half built."

    def handle(self, *args: Any, **options: Any) -> None:
        """Refuse, or load everything in one transaction."""
        if not settings.DEMO:
            raise CommandError(
                "This is not the demo, so nothing was loaded. The demo starts with "
                "manage.py serve --demo."
            )
        if User.objects.exists():
            raise CommandError("Somebody works in this shop already: nothing loaded.")
        now = timezone.now()
        with refusals(), transaction.atomic():
            load(timezone.localdate(now))
            settle(now=now)
            # The worker finds it waiting and works it out.
            ask_plan(by=owner(), now=now)
        if options["verbosity"]:
            self.stdout.write(
                f"The demo shop is filled. Sign in as {DEMO_NAME} with {DEMO_PASSWORD}"
            )


def load(today: date) -> None:
    """The whole demo as of a day: owner, shop, stock, plan, history."""
    story = json.loads((FIXTURES / "story.json").read_text())
    by = create_owner(
        name=DEMO_NAME, password=DEMO_PASSWORD, email="builder@example.org"
    )
    settle_shop(changes={"name": story["shop"], "steps_over": True}, by=by)
    reference = date.fromisoformat(story["reference_day"])
    opened = Clock(today).at(story["opened"])
    stock = opening.preview(name="stock.csv", data=_shifted("stock", reference, today))
    opening.apply(found=stock, by=by, now=opened)
    prices = offering.preview(name="offers.csv", data=_fixture("offers"))
    offering.apply(found=prices, by=by)
    Build.objects.create(name=story["aircraft"])
    plan = importing.preview(name="plan.csv", data=_shifted("plan", reference, today))
    importing.apply(found=plan, by=by, now=opened)
    History(story, by, Clock(today)).play()


def _shifted(name: str, reference: date, today: date) -> bytes:
    """A fixture with every ISO day moved as far as the reference day is from today."""
    moved = today - reference

    def shift(found: re.Match[bytes]) -> bytes:
        day = date.fromisoformat(found[0].decode()) + moved
        return day.isoformat().encode()

    return ISO_DAY.sub(shift, _fixture(name))


def _fixture(name: str) -> bytes:
    return (FIXTURES / f"{name}.csv").read_bytes()


class Clock:
    """Evenings counted from today; within one evening every moment is later."""

    def __init__(self, today: date) -> None:
        self.today = today
        self.asked: dict[int, int] = defaultdict(int)

    def at(self, day: int) -> datetime:
        """The next moment of the evening so many days from today."""
        self.asked[day] += 1
        start = datetime.combine(
            self.today + timedelta(days=day), EVENING, timezone.get_current_timezone()
        )
        return start + timedelta(seconds=40 * self.asked[day])


Step = tuple[int, Callable[[], None]]


class History:
    """What happened until today, replayed in the order of its days."""

    def __init__(self, story: Mapping[str, Any], by: User, clock: Clock) -> None:
        self.story, self.by, self.clock = story, by, clock
        self.bins: dict[int, Bin] = {}
        for bin in reversed(bins()):
            self.bins[bin.item_id] = bin
        self.assemblies = {
            (row.stage.name, row.name): row
            for row in Assembly.objects.select_related("stage", "place")
        }
        self.spoiled = {
            (stage, name, self._item(callout)): (bad, why)
            for stage, name, callout, bad, why in story["spoiled"]
        }
        self.orders = 0

    def play(self) -> None:
        """Every step, the earliest day first; steps of one day in the story's order."""
        for _day, step in sorted(self._steps(), key=lambda step: step[0]):
            step()

    def _steps(self) -> Iterator[Step]:
        for event in self.story["events"]:
            yield event["day"], partial(self._event, event)
        for stage, name, start, stop in self.story["work"]:
            key = (stage, name)
            yield start, partial(self._pulls, key, start)
            if stop is not None:
                yield stop, partial(self._closes, key, stop)

    def _event(self, event: Mapping[str, Any]) -> None:
        getattr(self, f"_do_{event['do']}")(event)

    def _item(self, callout: str) -> int:
        item = item_called(callout)
        if item is None:
            raise CommandError(f"story.json names {callout}, which no file has.")
        return item.pk

    def _ask(self, day: int, reason: str = "") -> Ask:
        return Ask(by=self.by, now=self.clock.at(day), reason=reason)

    def _place(self, key: tuple[str, str], day: int) -> Place:
        return working.place_to_pull_for(
            assembly=self.assemblies[key], by=self.by, now=self.clock.at(day)
        )

    def _pulls(self, key: tuple[str, str], day: int) -> None:
        """The evening an assembly is begun: everything it asks comes out."""
        place = self._place(key, day)
        by_story = {
            self._item(event["callout"])
            for event in self.story["events"]
            if event["do"] == Verb.PULL
            and "callout" in event
            and (event["stage"], event["assembly"]) == key
        }
        for asked in asked_by(self.assemblies[key]):
            if asked.item.pk in by_story:
                continue
            bad = self.spoiled.get((*key, asked.item.pk), (0, ""))[0]
            out = asked.need + bad
            if asked.need > HANDFUL:
                out = -(-out // 10) * 10
            verbs.pull(
                bin=self.bins[asked.item.pk],
                quantity=out,
                to=place,
                ask=self._ask(day),
            )

    def _closes(self, key: tuple[str, str], day: int) -> None:
        """The evening it is finished: spoiled ones scrapped, the rest returned."""
        place = self._place(key, day)
        for asked in asked_by(self.assemblies[key]):
            bin = self.bins[asked.item.pk]
            bad, why = self.spoiled.get((*key, asked.item.pk), (0, ""))
            if bad:
                verbs.scrap(bin=bin, quantity=bad, from_=place, ask=self._ask(day, why))
            left = asked.pulled - asked.need - bad
            if left > 0:
                verbs.give_back(bin=bin, quantity=left, from_=place, ask=self._ask(day))
        working.close(assembly=self.assemblies[key], by=self.by, now=self.clock.at(day))

    def _do_pull(self, event: Mapping[str, Any]) -> None:
        key = (event["stage"], event["assembly"])
        verbs.pull(
            bin=bin_numbered(event["bin"]),
            quantity=event["quantity"],
            to=self._place(key, event["day"]),
            ask=self._ask(event["day"]),
        )

    def _do_count(self, event: Mapping[str, Any]) -> None:
        bin = bin_numbered(event["bin"])
        counted = quantity_in(bin) + event["off_by"]
        verbs.count(bin=bin, counted=counted, ask=self._ask(event["day"]))

    def _do_lend(self, event: Mapping[str, Any]) -> None:
        verbs.lend(
            bin=bin_numbered(event["bin"]),
            quantity=event["quantity"],
            to=open_place(kind="borrower", name=event["to"]),
            ask=self._ask(event["day"]),
        )

    def _do_fit(self, event: Mapping[str, Any]) -> None:
        fit_from_bin(bin=bin_numbered(event["bin"]), ask=self._ask(event["day"]))

    def _do_dull(self, event: Mapping[str, Any]) -> None:
        happen(
            bit=bit_numbered(event["bit"]),
            event="dull",
            by=self.by,
            now=self.clock.at(event["day"]),
        )

    def _do_order(self, event: Mapping[str, Any]) -> None:
        asks = [
            placing.AskLine(self.bins[self._item(callout)].item, packs, pieces)
            for callout, packs, pieces in event["lines"]
        ]
        self.orders = placing.place_order(
            supplier=placing.supplier_called(name=event["supplier"]),
            asks=asks,
            placed_on=self._on(event["day"]),
            expected_on=self._on(event["expected"]),
            by=self.by,
            reference=event["reference"],
        ).number

    def _do_receive(self, event: Mapping[str, Any]) -> None:
        item = self._item(event["callout"])
        order = order_numbered(self.orders)
        line = next(row.line for row in still_owed(order) if row.line.item_id == item)
        receiving.receive(
            bin=self.bins[item],
            supplier=order.supplier,
            ask=self._ask(event["day"]),
            pieces=event["pieces"],
            line=line,
            papers=receiving.Papers(lot=event["lot"]),
        )

    def _do_expect(self, event: Mapping[str, Any]) -> None:
        order = order_numbered(self.orders)
        placing.expect(order=order, on=self._on(event["expected"]), by=self.by)

    def _on(self, day: int) -> date:
        return self.clock.today + timedelta(days=day)
