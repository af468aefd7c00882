"""Order plans solved here: what the child process is for is tried by itself."""

import json

import pytest

from inventory.buying.rules.passing import problem_data, problem_of
from inventory.buying.solver import child, solving


@pytest.fixture
def solved_here(monkeypatch):
    """The child's work without its process, passed to and fro as it is."""

    def asked(_folder, problem, terms, _tick):
        passed = problem_of(json.loads(json.dumps(problem_data(problem))))
        return json.loads(json.dumps(child.solved(passed, *terms)))

    monkeypatch.setattr(solving, "_asked", asked)
