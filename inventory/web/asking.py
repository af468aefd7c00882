"""A form made of the fields of a question that the trade answers."""

from collections.abc import Mapping
from typing import Any

from django import forms

from inventory.errors import Refused
from inventory.trade.questions.shape import Field, Question
from inventory.web.forms import ShopForm


class Lookup(ShopForm):
    """A question's fields, each as text: what it means the trade decides."""

    def __init__(
        self, data: Mapping[str, str] | None, *, question: Question, **options: Any
    ) -> None:
        super().__init__(data, **options)
        self.fields |= {each.name: _asked(each) for each in question.fields}

    def given(self) -> dict[str, str]:
        """What is asked, as a question takes it. Errors: `question.form`, in words."""
        if self.is_valid():
            return {
                name: value if isinstance(value, str) else "yes" * value
                for name, value in self.cleaned_data.items()
            }
        name, complaints = next(iter(self.errors.items()))
        sentence = f"{self.fields[name].label}: {complaints[0]}"
        raise Refused("question.form", sentence, {"field": name})


def _asked(each: Field) -> forms.Field:
    words: dict[str, Any] = {
        "label": each.label,
        "help_text": _helps(each),
        "required": False,
    }
    if each.flag:
        return forms.BooleanField(**words)
    if each.choices:
        return _choice(each, words)
    return forms.CharField(max_length=120, widget=_typed(each), **words)


def _choice(each: Field, words: Mapping[str, Any]) -> forms.ChoiceField:
    none = [] if each.default else [("", "not given")]
    expected = ", ".join(each.choices)
    return forms.ChoiceField(
        choices=[*none, *((name, name) for name in each.choices)],
        initial=each.default,
        error_messages={
            "invalid_choice": f"expected one of {expected}; got '%(value)s'."
        },
        **words,
    )


def _helps(each: Field) -> str:
    """Its help, an example that stays when one types, and what an empty one means."""
    needed = "needed" if each.required else ""
    example = f"such as {each.example}" if each.example else ""
    empty = f"empty: {each.default}" if each.default and not each.choices else ""
    return "; ".join(filter(None, (needed, each.help, example, empty)))


def _typed(each: Field) -> forms.TextInput:
    """All the keys: a phone's digit keys lack the slash of 3/32 and the x of 2x10."""
    return forms.TextInput(
        attrs={
            "placeholder": each.example or each.default,
            "inputmode": "text",
            "autocapitalize": "characters",
            "autocomplete": "off",
            "spellcheck": "false",
        }
    )
