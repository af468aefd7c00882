"""How little is reckoned again after one scan: the lines of what moved, and no others.

200 rivets in 60 stages. A scan touches an item and the one its tin is mistaken for; the
reference is the whole forecast of the same run.
"""

import time
from datetime import date, timedelta

from inventory.management.measures.shape import AtMost, Measure, MeasuredRow

ITEMS, STAGES, SEED = 200, 60, 7
MOST_SHARE = 0.05


def take() -> tuple[MeasuredRow, ...]:
    """Lines and seconds after one scan, over those of the whole forecast."""
    import numpy as np

    from inventory.forecasting.rules.readiness import (
        OnHand,
        StageAsk,
        Supplies,
        lines_of_items,
    )
    from inventory.forecasting.rules.stock import deficit
    from inventory.forecasting.rules.use import Belief
    from inventory.ordering.rules.leads import Lead

    rng = np.random.default_rng(SEED)
    first = date(2027, 3, 1)
    stages = [
        StageAsk(
            pk=at,
            start=first + timedelta(days=30 * at),
            end=first + timedelta(days=30 * at + 30),
            needs={item: int(rng.integers(1, 120)) for item in range(ITEMS)},
        )
        for at in range(STAGES)
    ]
    supplies = Supplies(
        {item: OnHand(int(rng.integers(0, 4000)), 3.0) for item in range(ITEMS)},
        (),
        {item: Belief(500.0 + item, 5.0) for item in range(ITEMS)},
        {item: Lead(5, True) for item in range(ITEMS)},
    )

    def reckoned(only: set[int] | None) -> tuple[int, float]:
        # Nothing kept from before: every line is reckoned anew.
        deficit.cache_clear()
        started = time.perf_counter()
        found = lines_of_items(stages, supplies, 0.95, only)
        seconds = time.perf_counter() - started
        return sum(len(rows) for rows in found.values()), seconds

    every, whole = reckoned(None)
    some, narrow = reckoned({3, 4})
    return (
        AtMost(
            name="touched",
            figure=some / every,
            unit="of the lines",
            ratio=narrow / whole,
            against="the whole forecast, by the clock",
            target=MOST_SHARE,
            how=f"{some} of {every:,} lines after one scan, {narrow:.3f} s against "
            f"{whole:.1f} s; each once, nothing kept from before",
        ),
    )


MEASURE = Measure(
    name="touched",
    tells="how many lines of the forecast are reckoned again after one scan",
    take=take,
)
