"""Words on screen are a person's, never the name of something in the code."""

import re

import pytest
from django import forms as django_forms

from inventory.trade.questions.index import QUESTIONS
from inventory.web import closingforms, forms, labelforms, orderforms

JOINED = re.compile(r"[a-z][A-Z]|_")
FORMS = [
    each
    for room in (forms, labelforms, orderforms, closingforms)
    for each in vars(room).values()
    if isinstance(each, type)
    and issubclass(each, django_forms.Form)
    and each.__module__ == room.__name__
]


@pytest.mark.parametrize("form", FORMS, ids=lambda each: each.__name__)
def test_no_label_is_a_name_of_the_code(form):
    said = [str(field.label or "") for field in form.base_fields.values()]
    assert [words for words in said if JOINED.search(words)] == []


def test_no_question_is_titled_by_a_name_of_the_code():
    assert len(FORMS) > 20
    said = [each.title for each in QUESTIONS]
    assert [words for words in said if JOINED.search(words)] == []
