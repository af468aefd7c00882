"""The process that solves an order plan: `python -m inventory.buying.solver.child FOLDER GAP SECONDS`.

It reads problem.json in the folder and leaves answer.json there. It answers through a
file because the solver prints stray lines; it runs apart so that it can be stopped.
"""

import json
import resource
import sys
from math import ceil
from pathlib import Path

from inventory.buying.rules.passing import problem_of
from inventory.buying.solver.model import solved

MEMORY = 2 * 1024 * 1024 * 1024
SPARE_SECONDS = 60


def main() -> int:
    """Limits first, then the problem, then the answer in one move."""
    folder, gap, limit = Path(sys.argv[1]), float(sys.argv[2]), float(sys.argv[3])
    seconds = ceil(limit * 4) + SPARE_SECONDS
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    problem = problem_of(json.loads((folder / "problem.json").read_text()))
    answer = json.dumps(solved(problem, gap, limit))
    (folder / "answer.part").write_text(answer)
    (folder / "answer.part").rename(folder / "answer.json")
    return 0


if __name__ == "__main__":
    sys.exit(main())
