"""Drill bits: equivalent holes planned, against the life left in the tube.

First version: every bit lasts the stated life; that figure is a guess until the shop's
own record of dull bits speaks, and it is shown as one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from statistics import median

# Below this many worn-out bits the record is too thin to speak: common practice.
ENOUGH_RECORD = 5


@dataclass(frozen=True)
class Life:
    """Equivalent holes a bit lasts, and whether that is a guess."""

    holes: float
    is_guess: bool


def life(worn_out_at: Sequence[float], default: int) -> Life:
    """The median of the bits worn out here, once there are enough of them."""
    worn = [holes for holes in worn_out_at if holes > 0]
    if len(worn) < ENOUGH_RECORD:
        return Life(float(default), True)
    return Life(float(median(worn)), False)


def bits_needed(holes: float, used: float, life_holes: float) -> int:
    """Fresh bits wanted for so many equivalent holes; `used` on the bit now fitted.

    With no bit fitted pass `used` equal to the life.
    """
    left = max(0.0, life_holes - used)
    return max(0, ceil((holes - left) / life_holes - 1e-9))
