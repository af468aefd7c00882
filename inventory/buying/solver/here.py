"""An order plan solved in this very process, for who asks for thousands of them."""

from inventory.buying.rules.orderplan import Problem, Solution
from inventory.buying.rules.reach import reachable
from inventory.buying.solver.model import solved
from inventory.buying.solver.solving import GAP, SECONDS, checked


def solve_here(
    problem: Problem, *, gap: float = GAP, limit: float = SECONDS
) -> Solution:
    """The cheapest plan found, as `solving.solve` finds and checks it.

    Errors: `supply.solver_time`, `.solver_died`, `.solver_unsound`.
    """
    within = reachable(problem)
    return checked(within, solved(within.problem, gap, limit))
