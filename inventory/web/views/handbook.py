"""Look up: one page for every question the trade answers; nothing is written."""

from collections.abc import Mapping
from functools import cache
from itertools import chain, combinations
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.errors import Refused
from inventory.trade.drawing import painted
from inventory.trade.questions import index as handbook
from inventory.trade.questions.shape import Question
from inventory.web.asking import Lookup
from inventory.web.parts import keep


@require_safe
def index(request: HttpRequest) -> HttpResponse:
    """Every question there is."""
    return render(request, "lookup_index.html", {"questions": handbook.QUESTIONS})


@require_safe
def lookup(request: HttpRequest, name: str) -> HttpResponse:
    """One question: its form, or its answer when the address gives what is asked."""
    question = _question(name)
    asked = any(each.name in request.GET for each in question.fields)
    form = Lookup(_sent(request, question) if asked else None, question=question)
    page: dict[str, Any] = {"question": question, "form": form}
    page["example"] = _example(question)
    keep(request, "lookup.html", page)
    if asked:
        answer = question.answer(form.given())
        painting = painted(answer.drawing) if answer.drawing else None
        page |= {"answer": answer, "painting": painting, "said": _said(form)}
    return render(request, "lookup.html", page)


def _question(name: str) -> Question:
    found = handbook.named(name)
    if found is None:
        names = ", ".join(each.name for each in handbook.QUESTIONS)
        raise Refused(
            "lookup.no_question",
            f"Expected a question to look up, one of {names}; got '{name}'.",
            {"text": name, "expected": names},
        )
    return found


def _sent(request: HttpRequest, question: Question) -> dict[str, str]:
    """What the address gives; a field it leaves out has its default, a flag is off."""
    today = timezone.localdate()
    return {
        each.name: each.given_on(
            today, request.GET.get(each.name, "" if each.flag else each.default)
        )
        for each in question.fields
    }


def _said(form: Lookup) -> list[tuple[str, str]]:
    """What was asked, as label and text; what was left empty is left out."""
    given = form.given().items()
    return [(str(form.fields[name].label), text) for name, text in given if text]


@cache
def _example(question: Question) -> str:
    """The query of an address that asks by examples: what must be given, and of the
    rest as little as gets an answer; none where two more never suffice."""
    needed = [each for each in question.fields if each.required]
    rest = [each for each in question.fields if each.example and not each.required]
    fewest = 0 if needed else 1
    for more in chain.from_iterable(
        combinations(rest, many) for many in range(fewest, 3)
    ):
        given = {each.name: each.example for each in (*needed, *more)}
        if _is_answered(question, given):
            return urlencode(given)
    return ""


def _is_answered(question: Question, given: Mapping[str, str]) -> bool:
    defaults = {each.name: each.default for each in question.fields}
    try:
        question.answer({**defaults, **given})
    except Refused:
        return False
    return True
