"""Why a forecast says what it says: opened to plan, bins, orders and the record."""

from collections.abc import Callable
from datetime import date

from inventory import days
from inventory.catalog.models import Item
from inventory.catalog.rules import Kind
from inventory.forecasting.queries.doubts import doubtful_bins
from inventory.forecasting.queries.readiness import (
    Readiness,
    beliefs,
    readiness,
    shop_learned,
)
from inventory.forecasting.queries.why_tools import (
    drill_reasons,
    hand_tool_reasons,
    pool_reasons,
)
from inventory.forecasting.rules.bursts import Bursts
from inventory.forecasting.rules.doubts import DoubtfulBin
from inventory.forecasting.rules.learning import Learned
from inventory.forecasting.rules.lines import ItemLine
from inventory.forecasting.rules.spoilage import PRIOR_BAD, PRIOR_GOOD, Beta
from inventory.ledger.queries import Bin, bins_of
from inventory.ledger.rules import Verb
from inventory.ordering.queries import owed_of
from inventory.people.models import User
from inventory.planning.queries import why_needed
from inventory.planning.rules.reasons import Reason


def why(item: Item, today: date) -> Reason:
    """Everything said of an item, stage by stage, with what it was reckoned from.

    Temporary fasteners and drills go by their size: they are held and worn, not used.
    """
    found = readiness(today)
    tooling = _tooling(item.sort)
    if tooling is not None:
        parts = (*tooling(item, found), _here(item, found), _due(item))
        asking = sum(part.words.startswith("chance that") for part in parts)
        return _whole(item, found, asking, parts)
    known = shop_learned()
    stages = [
        _stage(row.stage.name, line)
        for row in found.stages
        for line in row.lines
        if isinstance(line, ItemLine) and line.item_id == item.pk
    ]
    record = (
        why_needed(item.pk),
        _here(item, found),
        _due(item),
        _spoilage(item, known),
    )
    return _whole(item, found, len(stages), (*stages, *record))


def _tooling(sort: Kind) -> Callable[[Item, Readiness], list[Reason]] | None:
    """The reasons of the lines that a kind of tool is asked by, None for the rest."""
    if sort.holding:
        return pool_reasons
    if sort.one_at_a_time:
        return drill_reasons
    return hand_tool_reasons if sort.for_heads else None


def _whole(
    item: Item, found: Readiness, asking: int, parts: tuple[Reason, ...]
) -> Reason:
    return Reason(
        asking,
        f"stages ask for {item.words}",
        f"as of {days.said(found.today)}; a stage is ready at {found.confidence:.0%}",
        parts,
    )


def _stage(name: str, line: ItemLine) -> Reason:
    """A stage's own figures, in the words of the page."""
    parts = [
        Reason(line.need, "still to pull for it: needed less pulled"),
        Reason(line.through, "still to pull up to and with it: earlier stages first"),
        Reason(round(line.expected_use, 1), "expected use: with spoilage and bursts"),
        Reason(line.use_95, "use that 19 builders in 20 stay within"),
        Reason(round(line.doubt, 1), "standard deviation of what is on hand"),
        Reason(line.due, "due before it starts"),
        Reason(
            line.to_order,
            f"to order by {days.said(line.order_by)}, {line.lead.days} days before",
        ),
    ]
    run_out = f", expected to run out on {line.run_out}" if line.run_out else ""
    return Reason(
        round(line.chance_short, 4),
        f"chance that it runs short by the end of {name}{run_out}",
        "need and spoilage less stock, each as a distribution",
        tuple(parts),
    )


def _here(item: Item, found: Readiness) -> Reason:
    bins = {bin.pk: bin for bin in bins_of([item.pk])}
    rows = doubtful_bins([item.pk], found.counts)
    parts = tuple(_held(bins[row.known.bin_id], row) for row in rows)
    total = sum(row.known.balance for row in rows)
    return Reason(total, "on hand by the record", "ledger", parts)


def _held(bin: Bin, row: DoubtfulBin) -> Reason:
    """What one bin holds, and what makes it doubtful."""
    known, (moved, beside) = row.known, row.moved
    parts = [Reason(moved, "moved since")]
    if beside:
        said = "half of what was pulled of its look-alikes, which may have come from it"
        parts.append(Reason(beside, said))
    if row.jobs_gone:
        gone = "whole jobs of a look-alike that came out of it by mistake, on average"
        parts.append(Reason(round(row.jobs_gone, 3), gone, "a guess, and the counts"))
    parts.append(
        Reason(
            round(row.per_moved, 2),
            "variance that each of these adds",
            "the guess of one, and what this bin's counts and all others found",
        )
    )
    return Reason(
        known.balance,
        f"bin {bin.number}: {_stated(bin, row)}, give or take {row.doubt:.0f}",
        "",
        tuple(parts),
    )


def _stated(bin: Bin, row: DoubtfulBin) -> str:
    """How what a bin holds is known: 'counted 2027-03-01', 'seen 2027-03-01: plenty'."""
    last = bin.last_look if row.is_seen else bin.last_count
    if last is None:
        return "never counted"
    if last.verb == Verb.LOOK:
        return f"seen {last.at:%Y-%m-%d}: {last.reason}"
    how = "" if row.known.counted_by_hand else ", from an opening list"
    return f"counted {last.at:%Y-%m-%d}{how}"


def _due(item: Item) -> Reason:
    rows = owed_of(item.pk)
    parts = tuple(
        Reason(
            row.pieces,
            f"order {row.line.order.number} from {row.line.order.supplier.name}, "
            f"expected {days.said(row.line.order.expected_on)}",
        )
        for row in rows
    )
    return Reason(sum(row.pieces for row in rows), "on order", "orders", parts)


def _spoilage(item: Item, known: Learned) -> Reason:
    """The class's record, what it leans on, and the shop's bursts."""
    belief = beliefs([item], known)[item.pk]
    record = known.record.get(item.spoilage_class, Beta(0.0, 0.0))
    rate = belief.bad / (belief.good + belief.bad)
    parts = [
        Reason(round(record.good), "set well in closed assemblies of its class"),
        Reason(round(record.bad), "spoiled there in ordinary work"),
        Reason(
            round(100 * PRIOR_BAD / (PRIOR_GOOD + PRIOR_BAD), 1),
            "per cent before any record",
            "a guess worth a hundred fasteners; classes lean on one another",
        ),
    ]
    parts += _hands(item.spoilage_class or f"item {item.pk}", known)
    if belief.bursts:
        parts.append(_bursts(belief.bursts))
    name = item.spoilage_class or item.words
    return Reason(
        round(100 * rate, 2),
        f"per cent spoiled, as believed of {name}",
        "",
        tuple(parts),
    )


def _hands(name: str, known: Learned) -> list[Reason]:
    """What is believed of each person with enough record, and whose hand is reckoned."""
    names = {each.pk: str(each) for each in User.objects.filter(is_active=True)}
    found = []
    for person, belief in known.hands.get(name, {}).items():
        own = known.people[name][person]
        reckoned = ", whose hand did most of the last work" * (person == known.hand)
        found.append(
            Reason(
                round(100 * belief.rate, 2),
                f"per cent by {names.get(person, 'somebody gone')}{reckoned}",
                f"{own.bad:.0f} spoiled of {own.good + own.bad:.0f} in this class",
            )
        )
    return found


def _bursts(bursts: Bursts) -> Reason:
    guess = Bursts()
    return Reason(
        round(1 / bursts.rate),
        f"pieces to a burst of rework, of {bursts.size:.0f} pieces on average",
        f"the guess of one in {1 / guess.rate:.0f}, and "
        f"{bursts.seen - guess.seen:.0f} bursts of the record",
    )
