"""Looking up: any question has a page, an address that keeps, and an honest answer."""

import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from inventory.errors import Refused
from inventory.trade.callouts import parse
from inventory.trade.cautions import AIRWORTHINESS, about
from inventory.trade.outlines import outline_of
from inventory.trade.questions import index
from inventory.trade.questions.shape import (
    Answer,
    Field,
    Figure,
    Given,
    Question,
    Warned,
    missing,
    text_of,
)
from tests.web.conftest import Said


def _answer(given: Given) -> Answer:
    callout = text_of(given, "callout")
    if not callout:
        raise missing("callout", "a callout such as AN470AD4-5")
    if callout == "bad":
        raise Refused(
            "callout.unknown", "Expected a callout; got 'bad'.", {"expected": "x"}
        )
    wet = "wet" if text_of(given, "wet") else "dry"
    return Answer(
        headline=f"{callout} {text_of(given, 'source')} {wet}",
        data={},
        figures=(
            Figure("first", ".2515 in", "TM 9-2320-303-24-2 table 5", "published"),
            Figure("second", ".054 in", "MS20470 standard sheet", "from memory"),
            Figure("third", "12 in", "common practice, no source", "common practice"),
        ),
        warnings=(Warned("Too short <by half>.", "AC 43.13-1B", "published"),),
        cautions=about("driving"),
        drawing=outline_of(parse("AN470AD4-5")),
    )


NOTHING = missing("callout", "a callout such as AN470AD4-5").sentence
MADE = Question(
    name="made",
    title="Made for a test",
    asks="Which is it?",
    fields=(
        Field(name="callout", label="Callout", example="AN470AD4-5", required=True),
        Field(name="count", label="Count", help="how many", example="12"),
        Field(
            name="source", label="Source", choices=("common", "other"), default="common"
        ),
        Field(name="side", label="Side", choices=("left", "right")),
        Field(name="edge", label="Edge", default="2D"),
        Field(name="wet", label="Wet", flag=True),
    ),
    answer=_answer,
)


@pytest.fixture
def made(page: Client, monkeypatch: pytest.MonkeyPatch) -> str:
    """A question of the test's own, with every sort of field; its address."""
    monkeypatch.setattr(index, "QUESTIONS", (*index.QUESTIONS, MADE))
    return reverse("lookup", args=["made"])


@pytest.mark.slow
def test_the_index_lists_every_question_and_each_page_opens(page: Client) -> None:
    listed = page.get(reverse("lookup-index")).content.decode()

    for question in index.QUESTIONS:
        found = reverse("lookup", args=[question.name])
        assert f'href="{found}"' in listed
        assert escape(question.asks) in listed
        assert page.get(found).status_code == 200


@pytest.mark.slow
def test_every_questions_own_example_is_answered(page: Client) -> None:
    for question in index.QUESTIONS:
        found = reverse("lookup", args=[question.name])
        query = page.get(found).context["example"]
        assert query
        response = page.get(f"{found}?{query}")
        assert response.status_code == 200, question.name
        headline = escape(response.context["answer"].headline)
        assert f'<h1 class="big">{headline}</h1>' in response.content.decode()


def test_a_form_has_a_label_an_example_and_the_right_keys(
    page: Client, made: str
) -> None:
    text = page.get(made).content.decode().partition("<main")[2]

    names = re.findall(r'<(?:input|select)[^>]*\sid="(\w+)"', text)
    assert len(names) == len(MADE.fields)
    for name in names:
        assert f'<label for="{name}"' in text
    assert 'placeholder="AN470AD4-5"' in text
    assert re.search(r'name="callout"[^>]*inputmode="text"', text)
    assert "needed; such as AN470AD4-5" in text
    assert '<option value="common" selected>' in text
    assert '<option value="" selected>not given' in text
    assert "empty: 2D" in text
    assert 'method="get"' in text
    assert "style=" not in text


def test_an_answer_stands_at_an_address_that_keeps(page: Client, made: str) -> None:
    address = f"{made}?callout=AN470AD4-5&side=left&wet=on"

    one, other = page.get(address), page.get(address)

    assert '<h1 class="big">AN470AD4-5 common wet</h1>' in one.content.decode()
    text, again = (each.content.decode().split("<main")[1] for each in (one, other))
    assert text == again
    assert 'value="AN470AD4-5"' in text
    assert '<option value="left" selected>' in text
    assert re.search(r'name="wet"[^>]*checked', text)
    dry = page.get(made, {"callout": "AN470AD4-5"}).content.decode()
    assert "AN470AD4-5 common dry" in dry


def test_a_figure_says_how_sure_it_is_and_a_guess_looks_like_one(
    page: Client, made: str
) -> None:
    text = page.get(made, {"callout": "AN470AD4-5"}).content.decode()

    assert '<span class="tag">published</span>' in text
    assert '<span class="tag unsure">from memory</span>' in text
    assert '<span class="tag unsure">common practice</span>' in text
    assert '<span class="guess">.054 in</span>' in text
    assert '<span class="guess">12 in</span>' in text
    assert '<span class="guess">.2515' not in text
    assert "TM 9-2320-303-24-2 table 5" in text


def test_an_answer_warns_in_words_and_says_who_decides_once(
    page: Client, made: str
) -> None:
    text = page.get(made, {"callout": "AN470AD4-5"}).content.decode()

    assert "<b>Mind:</b> Too short &lt;by half&gt;." in text
    for each in about("driving"):
        assert escape(each.sentence) in text
    assert text.count(escape(AIRWORTHINESS)) == 1


def test_a_drawing_has_words_and_a_scale(page: Client, made: str) -> None:
    text = page.get(made, {"callout": "AN470AD4-5"}).content.decode()

    drawn = outline_of(parse("AN470AD4-5"))
    assert drawn is not None
    assert f'<title id="drawing-words">{drawn.words}</title>' in text
    scale = '<span class="scale">about 6 times size</span>'
    assert f"The bar is 1/8 in; {scale}." in text
    assert text.count("<polygon") == 1


@pytest.mark.parametrize(
    ("query", "said", "kept"),
    [
        ({"callout": ""}, NOTHING, ""),
        ({"callout": "bad"}, "Expected a callout; got 'bad'.", 'value="bad"'),
        (
            {"callout": "x", "source": "tale"},
            "Source: expected one of common, other; got 'tale'.",
            'value="x"',
        ),
        ({"callout": "x" * 121}, "Callout: ", f'value="{"x" * 121}"'),
        ({"edge": "3D"}, NOTHING, 'value="3D"'),
    ],
)
def test_a_refusal_keeps_what_was_typed(
    page: Client,
    made: str,
    sentence: Said,
    query: dict[str, Any],
    said: str,
    kept: str,
) -> None:
    response = page.get(made, query)

    assert response.status_code == 400
    assert sentence(response).startswith(said)
    assert kept in response.content.decode()
    assert "answer" not in response.context


def test_a_question_nobody_asks_is_not_there(page: Client, sentence: Said) -> None:
    response = page.get("/lookup/weather/")

    assert response.status_code == 404
    assert sentence(response).startswith("Expected a question to look up, one of ")
    assert "drill" in sentence(response)
    assert page.post(reverse("lookup", args=["drill"])).status_code == 405
