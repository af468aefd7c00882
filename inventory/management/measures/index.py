"""Every measure there is, in the order they are taken."""

from collections.abc import Sequence

from inventory.errors import Refused
from inventory.management.measures import (
    callouts,
    forecast,
    growth,
    labels,
    orderplan,
    photos,
    scans,
    touched,
)
from inventory.management.measures.shape import Measure

MEASURES: tuple[Measure, ...] = (
    callouts.MEASURE,
    forecast.PROJECTION,
    forecast.QUANTILES,
    touched.MEASURE,
    orderplan.MEASURE,
    labels.MEASURE,
    photos.MEASURE,
    scans.MEASURE,
    growth.MEASURE,
)


def chosen(names: Sequence[str]) -> tuple[Measure, ...]:
    """The measures of these names, each once, in the index's order; all without a name.

    Raises Refused benchmark.unknown.
    """
    known = [each.name for each in MEASURES]
    for name in names:
        if name not in known:
            expected = f"one of {', '.join(known)}"
            raise Refused(
                "benchmark.unknown",
                f"Expected {expected}; got '{name}'.",
                {"text": name, "expected": expected},
            )
    return tuple(each for each in MEASURES if not names or each.name in names)
