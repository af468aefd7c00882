"""The source as the walls' tests read it: each file parsed and gone through once."""

import ast
from functools import cache
from pathlib import Path


@cache
def tree_of(path: Path) -> ast.Module:
    """A file, parsed once for all that asks it."""
    return ast.parse(path.read_text())


@cache
def nodes_of(tree: ast.AST) -> tuple[ast.AST, ...]:
    """All that stands in a file, gone through once."""
    return tuple(ast.walk(tree))
