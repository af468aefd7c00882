"""A whole plan projected at once: every item through every stage, as arrays.

For plans far beyond one shop's, and to screen: what is plainly enough needs no
distribution. Counts of pieces; the expected use is that of ordinary spoilage.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.forecasting.rules.counts import Floats

Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Lines:
    """Plan lines: the item's and the stage's index, and the pieces needed."""

    item: Whole
    stage: Whole
    need: Whole


@dataclass(frozen=True, eq=False)
class Projection:
    """By item (rows) and stage (columns), each through the stage.

    `through` is needed, `use` expected, `sd` its standard deviation, `left` what is
    expected to remain of stock and receipts. `runs_out` is the first stage in which
    nothing is expected to be left, or the number of stages; `net_need` what is lacking
    by the end, spoilage included, rounded up.
    """

    through: Whole
    use: Floats
    sd: Floats
    left: Floats
    runs_out: Whole
    net_need: Whole


def needs(lines: Lines, items: int, stages: int) -> Whole:
    """Pieces needed through each stage: the plan's lines, summed and run up."""
    cells = np.bincount(
        lines.item * stages + lines.stage, weights=lines.need, minlength=items * stages
    )
    table = cells.reshape(items, stages)
    return np.asarray(np.cumsum(table, axis=1, out=table).astype(np.int64))


def project(
    through: Whole, here: Whole, receipts: Whole, goods: Floats, bads: Floats
) -> Projection:
    """Every item through every stage.

    `here` is on hand by item, `receipts` what has come through each stage, `goods` and
    `bads` the beta of the chance to set one well (more than two good pieces each).
    """
    rate, over = (bads / (goods - 1))[:, None], (goods + bads - 1)[:, None]
    a, wanted = goods[:, None], through.astype(float)
    use = wanted * (1 + rate)
    # Var K = n b (n + a - 1)(a + b - 1) / ((a - 2)(a - 1)^2)
    variance = wanted * rate * (wanted + a - 1) * (over / ((a - 2) * (a - 1)))
    left = (here[:, None] + receipts) - use
    short = left < 0
    first = np.where(short.any(axis=1), short.argmax(axis=1), through.shape[1])
    lacking = np.ceil(np.maximum(0.0, -left[:, -1])).astype(np.int64)
    return Projection(through, use, np.sqrt(variance), left, first, lacking)
