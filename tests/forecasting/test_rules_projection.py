"""The projection as arrays is the same as every item worked out by itself."""

from math import ceil

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.forecasting.rules.projection import Lines, needs, project
from inventory.forecasting.rules.use import Belief, Use


@given(st.integers(0, 10_000), st.integers(1, 8), st.integers(1, 6))
@settings(max_examples=40)
def test_every_cell_is_what_the_item_says_alone(seed, items, stages):
    rng = np.random.default_rng(seed)
    lines = Lines(
        rng.integers(0, items, 60), rng.integers(0, stages, 60), rng.integers(1, 90, 60)
    )
    here, goods = rng.integers(0, 900, items), rng.uniform(50, 4000, items)
    bads = rng.uniform(0.5, 60, items)
    receipts = np.cumsum(rng.integers(0, 50, (items, stages)), axis=1)
    through = needs(lines, items, stages)
    found = project(through, here, receipts, goods, bads)
    for item in range(items):
        belief = Belief(float(goods[item]), float(bads[item]), None)
        empty = stages
        for stage in reversed(range(stages)):
            mine = (lines.item == item) & (lines.stage <= stage)
            need = int(lines.need[mine].sum())
            use = Use(need, belief)
            assert through[item, stage] == need
            assert np.isclose(found.use[item, stage], need + use.expected)
            assert np.isclose(found.sd[item, stage], use.sd)
            left = here[item] + receipts[item, stage] - need - use.expected
            assert np.isclose(found.left[item, stage], left)
            empty = stage if left < 0 else empty
        assert found.runs_out[item] == empty
        last = found.left[item, -1]
        assert found.net_need[item] == (ceil(-last) if last < 0 else 0)
