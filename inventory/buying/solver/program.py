"""A mixed-integer program, column by column and row by row, and who solves it.

Only who solves imports this: it loads numpy and scipy.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

OPTIMAL, LIMIT = 0, 1
Terms = Mapping[int, float]


@dataclass(frozen=True)
class Solved:
    """A solution, the bound below which none costs, whether the gap was met."""

    values: "np.ndarray[tuple[int], np.dtype[np.float64]]"
    cost: float
    bound: float
    proven: bool


class Unsolved(Exception):
    """No solution was found; the text says 'time' or what the solver says."""


@dataclass
class Program:
    """Minimise the sum of cost times value, under rows."""

    cost: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def column(self, cost: float, upper: float = inf, whole: bool = False) -> int:
        """A new unknown from 0 to `upper`; its index."""
        self.cost.append(cost)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, terms: Terms, least: float = -inf, most: float = inf) -> None:
        """The terms together lie from `least` to `most`."""
        self.rows.append((terms, least, most))

    def solve(
        self, gap: float = 1e-3, limit: float = 30.0, fixed: Terms | None = None
    ) -> Solved:
        """The best found within `limit` seconds or once within the relative gap.

        `fixed` holds columns at values. Raises Unsolved.
        """
        low, high = np.zeros(len(self.cost)), np.array(self.upper)
        for column, value in (fixed or {}).items():
            low[column] = high[column] = value
        found = milp(
            np.array(self.cost),
            integrality=np.array(self.whole, dtype=int),
            bounds=Bounds(low, high),
            constraints=self._constraints(),
            options={"mip_rel_gap": gap, "time_limit": limit},
        )
        if found.x is None or found.status not in (OPTIMAL, LIMIT):
            raise Unsolved("time" if found.status == LIMIT else str(found.message))
        bound = getattr(found, "mip_dual_bound", None)
        bound = found.fun if bound is None or not any(self.whole) else bound
        return Solved(found.x, found.fun, float(bound), found.status == OPTIMAL)

    def _constraints(self) -> LinearConstraint | tuple[()]:
        if not self.rows:
            return ()
        at = [(n, k) for n, (terms, _, _) in enumerate(self.rows) for k in terms]
        values = [value for terms, _, _ in self.rows for value in terms.values()]
        places = tuple(zip(*at, strict=True))
        shape = (len(self.rows), len(self.cost))
        matrix = csr_array((values, places), shape=shape)
        return LinearConstraint(
            matrix, [row[1] for row in self.rows], [row[2] for row in self.rows]
        )
