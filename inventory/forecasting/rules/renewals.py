"""How many parts wear out one after the other over so much use: discrete renewal.

If f is the chance of each life and g that of the first part's rest, the chance that at
least j wear out by n is the sum up to n of g * f * ... * f (j factors, convolved). The
products are taken of Fourier transforms; the chances are damped by a power first, so
that what wraps around the transform's end is below 1e-14.

Source: standard renewal theory (from memory); checked against published tables.
"""

from collections.abc import Callable

import numpy as np

from inventory.forecasting.rules.counts import Count, Floats

LEAK = 1e-14
# Parts counted at most, and how small a chance ends the count before.
MOST_PARTS, SMALL = 2000, 1e-8


def life_by_steps(
    survival: Callable[[Floats], Floats], steps: int, width: float
) -> Floats:
    """P(life is k steps), k = 0 ... steps, from P(life > t) of whole units of use.

    Steps wider than one unit round to the nearest step: the mean stays true. The
    survival of several parts comes as rows, times along the last axis.
    """
    middle = (width - 1) / 2
    edges = np.arange(-1, steps + 1) * width + middle
    alive = survival(np.maximum(edges, 0.0))
    before = np.where(edges < 0, 1.0, alive)
    return np.asarray(before[..., :-1] - before[..., 1:])


def worn_out(
    first: Floats, later: Floats, weights: Floats, width: float = 1.0
) -> Count:
    """How many wear out by the last step, mixed over rows that weigh so much.

    `first` and `later` are rows of P(life is k steps), each row one belief of the life.
    Of the last step only the part up to its middle is used: all of it at a width of 1.
    """
    steps = later.shape[-1]
    size = 1 << int(np.ceil(np.log2(8 * steps)))
    damp = LEAK ** (np.arange(steps) / size)
    now = np.fft.rfft(first * damp, size)
    each = np.fft.rfft(later * damp, size)
    ends = np.full(size // 2 + 1, 2.0)
    ends[0] = ends[-1] = 1.0
    within = 1 / damp
    within[-1] *= (1 + 1 / width) / 2
    by_end = np.conj(np.fft.rfft(within, size)) * ends / size
    at_least = [1.0]
    while at_least[-1] > SMALL and len(at_least) < MOST_PARTS:
        at_least.append(float((weights @ (now @ by_end)).real))
        now *= each
    reached = np.clip(np.array([*at_least, 0.0]), 0.0, 1.0)
    return Count(np.maximum(0.0, reached[:-1] - reached[1:]))
