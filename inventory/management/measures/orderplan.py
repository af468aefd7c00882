"""How long a combined order of 50 items from 5 suppliers takes to prove to 0.1 %."""

import time
from decimal import Decimal
from random import Random

from inventory.buying.rules.orderplan import (
    Cut,
    PackOffer,
    Problem,
    SellerTerms,
    Solution,
    Tier,
    Want,
    gap,
    total,
)
from inventory.buying.solver.solving import GAP, SECONDS, solve
from inventory.management.measures.shape import AtMost, Measure, MeasuredRow

ITEMS, SUPPLIERS, SEEDS = 50, 5, (1, 2, 3)
TARGET_SECONDS, TARGET_PER_CENT = 10, 0.1
CENT = Decimal("0.01")
# Lengths that may be cut down to the one before come in families of this size.
FAMILY = 5


def made(seed: int, items: int = ITEMS, suppliers: int = SUPPLIERS) -> Problem:
    """An invented workshop's wants and market; the same seed gives the same one."""
    dice = Random(seed)
    markets = [_supplier(dice, key) for key in range(suppliers)]
    offers: list[PackOffer] = []
    for item in range(items):
        for supplier in markets:
            if dice.random() < 0.8:
                packs = _bags if item % FAMILY == 0 else _by_weight
                offers += packs(dice, (item, supplier.key), len(offers))
    cuts = [
        Cut(item, item - 1, Decimal("0.05"))
        for item in range(items)
        if item % FAMILY > 1
    ]
    wants = [want for item in range(items) for want in _wants(dice, item)]
    return Problem(markets, offers, wants, cuts)


def _supplier(dice: Random, key: int) -> SellerTerms:
    return SellerTerms(
        key,
        f"supplier {key + 1}",
        shipping=_money(dice.uniform(5, 16)),
        hazard_fee=_money(dice.uniform(0, 30)),
        free_from=_money(dice.uniform(80, 300)),
        minimum=_money(dice.choice((0, 10, 25))),
    )


def _by_weight(dice: Random, who: tuple[int, int], first: int) -> list[PackOffer]:
    """A quarter, a half and a whole pound of rivets, the larger the cheaper."""
    item, supplier = who
    piece = 0.008 + 0.002 * (item % FAMILY) + 0.01 * (item % 2)
    market = dice.uniform(0.85, 1.2)
    return [
        PackOffer(
            key=first + step,
            item=item,
            supplier=supplier,
            pieces=size,
            tiers=(Tier(1, _money(size * piece * market * dearer)),),
            lead_days=3 + 2 * supplier,
            most=20,
        )
        for step, (size, dearer) in enumerate(((350, 1.25), (700, 1.12), (1400, 1.0)))
    ]


def _bags(dice: Random, who: tuple[int, int], first: int) -> list[PackOffer]:
    """Bags of 25, dearer by the bag under four and under ten; some are dangerous."""
    item, supplier = who
    price = dice.uniform(3, 12)
    tiers = (
        Tier(1, _money(price), 3),
        Tier(4, _money(price * 0.92), 9),
        Tier(10, _money(price * 0.85)),
    )
    risky = item % (5 * FAMILY) == 0
    days = 3 + 2 * supplier
    return [PackOffer(first, item, supplier, 25, tiers, days, 40, None, risky)]


def _wants(dice: Random, item: int) -> list[Want]:
    most = 100 if item % FAMILY == 0 else 900
    first, second = dice.randint(10, most), dice.randint(0, most)
    return [Want(item, 14, first), Want(item, 45, first + second)]


def _money(value: float) -> Decimal:
    return Decimal(value).quantize(CENT)


def take() -> tuple[MeasuredRow, ...]:
    """The longest of three seeds, and the widest gap left."""
    seconds, gaps = [], []
    for seed in SEEDS:
        problem = made(seed)
        started = time.perf_counter()
        plan: Solution = solve(problem)
        seconds.append(time.perf_counter() - started)
        gaps.append(100 * float(gap(total(problem, plan), plan.bound)))
    how = (
        f"{ITEMS} items, {SUPPLIERS} suppliers, three packs by weight or price breaks, "
        f"cutting down; the worst of {len(SEEDS)} seeds, each in a process of its own, "
        "starting it included"
    )
    return (
        AtMost(
            name="order plan",
            figure=max(seconds),
            unit="s",
            ratio=max(seconds) / SECONDS,
            against="the time it is allowed",
            target=TARGET_SECONDS,
            how=how,
        ),
        AtMost(
            name="order plan gap",
            figure=max(gaps),
            unit="%",
            ratio=max(gaps) / (100 * GAP),
            against="the gap asked for",
            target=TARGET_PER_CENT,
            how=how,
        ),
    )


MEASURE = Measure(
    name="orderplan",
    tells="seconds and gap of an order plan of 50 items from 5 suppliers",
    take=take,
)
