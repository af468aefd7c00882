"""Reads for the order plan: what the stages want, what is sold, what may be cut."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet

from inventory.buying.rules import orderplan as pure
from inventory.buying.rules.market import Market, SoldPack, Thing, spare, wanted
from inventory.catalog.models import Item
from inventory.catalog.rules import UPSET
from inventory.errors import Refused
from inventory.forecasting.queries.readiness import readiness
from inventory.ledger.queries import in_bins
from inventory.ordering.models import Offer, Supplier
from inventory.ordering.rules.packs import sure_pieces
from inventory.people.queries import shop

UNPRICED = (
    "Nothing that is wanted has an offer with a price and a pack: import a price list, "
    "or key an offer on a supplier's page."
)


@dataclass
class Sold:
    """Offers the plan can use, how they look, and what it cannot use and why."""

    offers: list[pure.PackOffer] = field(default_factory=list)
    packs: dict[int, SoldPack] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    guessed: set[int] = field(default_factory=set)


def market_of(today: date, days_ahead: int) -> Market:
    """The order plan's problem as of today. Errors: `supply.unpriced`."""
    found = readiness(today)
    names = {row.stage.pk: row.stage.name for row in found.stages}
    asked = wanted(found.decided, today, days_ahead, names)
    now, later = asked.now, asked.later
    named = {wish.item for wish in found.decided.wishes}
    longer = _longer(named)
    items = Item.objects.in_bulk(list(named | {row.pk for row in longer}))
    sold = _sold(items.values())
    if now and not sold.offers:
        raise Refused("supply.unpriced", " ".join([UNPRICED, *sold.left_out[:3]]))
    settings = shop()
    problem = pure.Problem(
        suppliers=[_supplier(row) for row in Supplier.objects.all()],
        offers=[row for row in sold.offers if row.item in items],
        wants=[pure.Want(row.item, row.day, row.pieces) for row in now],
        cuts=_cuts(items.values(), {row.item for row in now}, settings.cut_cost),
        spare=spare(found.decided, in_bins(), items),
    )
    return Market(
        today=today,
        problem=problem,
        asked=now,
        later=later,
        things={pk: Thing(i.words, i.callout, i.unit) for pk, i in items.items()},
        packs=sold.packs,
        left_out=sold.left_out,
        guessed_days=frozenset(sold.guessed),
        currency=settings.currency,
    )


def _longer(named: Iterable[int]) -> QuerySet[Item]:
    """Rivets that can be cut down, of the diameters, heads and alloys that are wanted."""
    rows = Item.objects.filter(pk__in=list(named), kind__in=UPSET)
    return Item.objects.filter(
        kind__in=UPSET,
        length_in__isnull=False,
        diameter_in__in=rows.values("diameter_in"),
        head__in=rows.values("head"),
        alloy__in=rows.values("alloy"),
    )


def _cuts(items: Iterable[Item], wanted: set[int], cost: Decimal) -> list[pure.Cut]:
    """From longer to shorter, within one family, one kind of head and alloy."""
    rivets = [row for row in items if row.sort.upset and row.length_in]
    return [
        pure.Cut(longer.pk, shorter.pk, cost)
        for shorter in rivets
        if shorter.pk in wanted
        for longer in rivets
        if longer.family == shorter.family
        and (longer.length_in or 0) > (shorter.length_in or 0)
    ]


def _supplier(row: Supplier) -> pure.SellerTerms:
    return pure.SellerTerms(
        row.pk, row.name, row.shipping, row.hazard_fee, row.free_from, row.minimum
    )


def _sold(items: Iterable[Item]) -> Sold:
    found, guess = Sold(), shop().lead_days
    rows = list(
        Offer.objects.filter(item__in=list(items))
        .select_related("item", "supplier")
        .prefetch_related("breaks")
        .order_by("pk")
    )
    days = {
        (row.item_id, row.supplier_id): row.lead_days
        for row in rows
        if row.lead_days is not None
    }
    for row in rows:
        if row.price is None:
            continue
        pieces = _pieces(row)
        if not pieces:
            found.left_out.append(_why_left_out(row))
            continue
        known = row.lead_days
        if known is None:
            known = days.get((row.item_id, row.supplier_id), row.supplier.lead_days)
        if known is None:
            found.guessed.add(row.pk)
        found.packs[row.pk] = SoldPack(row.pack, row.pack_grams)
        found.offers.append(_offer(row, pieces, guess if known is None else known))
    return found


def _offer(row: Offer, pieces: int, days: int) -> pure.PackOffer:
    return pure.PackOffer(
        key=row.pk,
        item=row.item_id,
        supplier=row.supplier_id,
        pieces=pieces,
        tiers=_tiers(row),
        lead_days=days,
        most=row.most_packs,
        life_days=row.life_days,
        hazardous=row.item.sort.hazardous,
    )


def _tiers(row: Offer) -> tuple[pure.Tier, ...]:
    steps = [(1, row.price or Decimal(0))]
    steps += [(each.from_packs, each.price) for each in row.breaks.all()]
    ends = [least - 1 for least, _ in steps[1:]]
    return tuple(
        pure.Tier(least, price, most)
        for (least, price), most in zip(steps, [*ends, None], strict=True)
    )


def _pieces(row: Offer) -> int | None:
    if row.pack_grams is None:
        return row.pack
    return sure_pieces(
        row.pack_grams,
        callout=row.item.callout,
        mg=row.item.piece_mass_mg,
        weighed=row.item.mass_is_weighed,
        unit=row.item.unit,
    )


def _why_left_out(row: Offer) -> str:
    title = row.item.callout or row.item.words
    if row.pack_grams is None:
        return f"{row.supplier.name}'s {title} is left out: nobody said what a pack is."
    return (
        f"{row.supplier.name}'s {row.pack_words} pack of {title} is left out: nobody "
        "knows what one piece weighs. Count a sample of 100, weigh it, and key both on "
        "its page."
    )
