"""How long an order takes: what the supplier states, until its own record speaks."""

from collections.abc import Sequence
from statistics import median

# So many parcels must have come before they outweigh what is stated; older ones than
# the last few say little of today: both a choice.
ENOUGH, LATEST = 3, 8


def lead_days(stated: int | None, taken: Sequence[int]) -> int | None:
    """Days from order to first parcel, None where nothing is known.

    `taken` are the days of past orders, the latest last. Their middle is used, so that
    one parcel that was forgotten somewhere does not decide; the chance that a parcel is
    late is reckoned apart.
    """
    latest = taken[-LATEST:]
    return round(median(latest)) if len(latest) >= ENOUGH else stated
