"""How fast a large plan is projected, and its exact 95 % quantiles found.

10,000 items, 200,000 plan lines, 60 stages; each against a reference of the same run.
numpy and scipy load when the measure is taken, not with the command.
"""

import time
from collections.abc import Callable
from statistics import median

from inventory.management.measures.shape import PASSES, AtMost, Measure, MeasuredRow

ITEMS, LINES, STAGES, SEED = 10_000, 200_000, 60, 7
MOST_TIMES, LEAST_TIMES = 10.0, 30.0
CELLS, SAMPLE = 600_000, 600


def take_projection() -> tuple[MeasuredRow, ...]:
    """Projecting everything, as times numpy's own need table."""
    import numpy as np

    from inventory.forecasting.rules.projection import (
        Lines,
        needs,
        project,
    )

    rng = np.random.default_rng(SEED)
    lines = Lines(
        rng.integers(0, ITEMS, LINES),
        rng.integers(0, STAGES, LINES),
        rng.integers(1, 120, LINES),
    )
    here = rng.integers(0, 4000, ITEMS)
    goods, bads = rng.uniform(90, 5000, ITEMS), rng.uniform(1, 60, ITEMS)
    receipts = np.cumsum(rng.integers(0, 40, (ITEMS, STAGES)), axis=1)

    def table() -> object:
        flat = np.bincount(
            lines.item * STAGES + lines.stage,
            weights=lines.need,
            minlength=ITEMS * STAGES,
        )
        return np.cumsum(flat.reshape(ITEMS, STAGES), axis=1)

    def whole() -> object:
        return project(needs(lines, ITEMS, STAGES), here, receipts, goods, bads)

    theirs, ours = _seconds(table), _seconds(whole)
    return (
        AtMost(
            name="projection",
            figure=ours / theirs,
            unit="times the reference",
            ratio=ours / theirs,
            against=f"numpy's bincount and cumsum of the same needs ({theirs:.3f} s)",
            target=MOST_TIMES,
            how=f"{ITEMS:,} items, {LINES:,} lines, {STAGES} stages in {ours:.3f} s; one "
            f"warm-up pass, then the median of {PASSES}",
        ),
    )


def take_quantiles() -> tuple[MeasuredRow, ...]:
    """Exact 95 % quantiles of 600,000 cells against scipy's, extrapolated from 600."""
    import numpy as np
    from scipy.stats import betanbinom

    from inventory.forecasting.rules.use import quantiles

    rng = np.random.default_rng(SEED)
    # A record of some hundreds of fasteners: with longer ones scipy ends in an error.
    needs = rng.integers(1, 1000, CELLS)
    goods, bads = rng.uniform(90, 900, CELLS), rng.uniform(1, 12, CELLS)
    some = rng.choice(CELLS, SAMPLE, replace=False)

    def ours() -> object:
        return quantiles(needs, goods, bads, 0.95)

    def theirs() -> object:
        return betanbinom.ppf(0.95 - 1e-12, needs[some], goods[some], bads[some])

    own = quantiles(needs[some], goods[some], bads[some], 0.95)
    same = bool((own == np.asarray(theirs())).all())
    mine, reference = _seconds(ours, passes=3), _seconds(theirs, passes=3)
    times = reference * CELLS / SAMPLE / mine
    return (
        MeasuredRow(
            name="quantiles",
            figure=times,
            unit="times as fast",
            ratio=times,
            against=f"scipy's betanbinom.ppf, {SAMPLE} cells times {CELLS // SAMPLE}",
            target=LEAST_TIMES,
            how=f"{CELLS:,} cells in {mine:.2f} s, the {SAMPLE} compared "
            f"{'all equal' if same else 'NOT ALL EQUAL'}; median of 3 after a warm-up",
        ),
    )


def _seconds(work: Callable[[], object], passes: int = PASSES) -> float:
    work()
    taken = []
    for _ in range(passes):
        started = time.perf_counter()
        work()
        taken.append(time.perf_counter() - started)
    return median(taken)


PROJECTION = Measure(
    name="projection",
    tells="how fast a plan of 10,000 items and 60 stages is projected",
    take=take_projection,
)
QUANTILES = Measure(
    name="quantiles",
    tells="how fast 600,000 exact 95 % quantiles are found",
    take=take_quantiles,
)
