"""Every code that is raised has its status, and no status stands for nothing."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from django.conf import settings as shop_settings
from django.contrib.auth.models import AnonymousUser
from django.http import HttpResponse
from django.test import RequestFactory

from api.problems import handle
from inventory.errors import STATUS, Refused, status_of
from inventory.web.middleware import RefusedPages
from tests.house.trees import nodes_of, tree_of

FILES = [
    path
    for room in ("inventory", "api")
    for path in sorted((Path(shop_settings.ROOT) / room).rglob("*.py"))
    if "migrations" not in path.parts
]


def calls(tree: ast.AST, name: str) -> Iterator[ast.Call]:
    """Calls of a function by its name, also through a module's."""
    for node in nodes_of(tree):
        if isinstance(node, ast.Call):
            called = node.func
            if name == getattr(called, "id", getattr(called, "attr", "")):
                yield node


def texts(node: ast.expr, tree: ast.AST) -> set[str]:
    """What a first argument may be: a text, one of two, a name's, a row of SENTENCES."""
    if isinstance(node, ast.Constant):
        return {str(node.value)}
    if isinstance(node, ast.IfExp):
        return texts(node.body, tree) | texts(node.orelse, tree)
    sought = node.id if isinstance(node, ast.Name) else "SENTENCES"
    found: set[str] = set()
    for each in nodes_of(tree):
        if isinstance(each, ast.Assign) and sought == getattr(
            each.targets[0], "id", ""
        ):
            value = each.value
            rows = value.keys if isinstance(value, ast.Dict) else [value]
            found |= {text for row in rows if row for text in texts(row, tree)}
    assert found, f"nobody sees which codes {ast.unparse(node)} may be"
    return found


def wholes(tree: ast.AST) -> Iterator[tuple[ast.FunctionDef, str]]:
    """Functions that put a code together, with the part that stands."""
    for function in nodes_of(tree):
        if isinstance(function, ast.FunctionDef):
            for call in calls(function, "Refused"):
                if isinstance(call.args[0], ast.JoinedStr):
                    first = call.args[0].values[0]
                    assert isinstance(first, ast.Constant)
                    yield function, str(first.value)


@cache
def raised() -> set[str]:
    """Every code the house raises."""
    found: set[str] = set()
    trees = [tree_of(path) for path in FILES]
    for tree in trees:
        for call in calls(tree, "Refused"):
            if not isinstance(call.args[0], ast.JoinedStr):
                found |= texts(call.args[0], tree)
        for function, begin in wholes(tree):
            # A function with a line before its name is its module's own.
            near = [tree] if function.name.startswith("_") else trees
            for other in near:
                for call in calls(other, function.name):
                    found |= {begin + text for text in texts(call.args[0], other)}
    return found


@pytest.mark.slow
def test_every_code_that_is_raised_has_a_status_and_the_other_way_round() -> None:
    assert raised() - set(STATUS) == set()
    assert set(STATUS) - raised() == set()


@pytest.mark.slow
def test_the_walk_sees_codes_that_are_put_together() -> None:
    assert {
        "ledger.no_bin",
        "callout.unknown_dash",
        "photo.too_large",
        "supply.solver_died",
        "sealant.temperature",
    } <= raised()


def test_a_status_is_one_that_a_refusal_can_have() -> None:
    assert set(STATUS.values()) == {400, 403, 404, 409, 422, 429}
    with pytest.raises(KeyError):
        status_of("nobody.raises_this")


def test_both_doors_answer_a_refusal_with_its_status(rf: RequestFactory) -> None:
    door = RefusedPages(lambda _request: HttpResponse())
    request = rf.get("/bins/")
    request.user = AnonymousUser()
    for code, status in STATUS.items():
        refusal = Refused(code, "It cannot be done: do another thing.")
        page, problem = door.process_exception(request, refusal), handle(refusal, {})
        assert page is not None
        assert problem is not None
        assert (page.status_code, problem.status_code) == (status, status)
    assert STATUS["ledger.scan_id_reused"] == 422
