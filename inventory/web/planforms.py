"""The shapes of changing the plan by hand; the rules read them as a file's row."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from inventory.catalog.rules import KINDS, UNITS
from inventory.planning.models import Assembly, Stage
from inventory.planning.rules.lines import OPERATIONS
from inventory.planning.rules.numbering import Line
from inventory.planning.rules.unfolding import given_as_cells
from inventory.trade.questions.seam import QUESTION as SEAM
from inventory.web.asking import Lookup
from inventory.web.forms import PLAIN_KINDS, Day, ShopForm

# A plan asks for what is used up; tools come with the holes.
USED_UP = [each for each in PLAIN_KINDS if not each[0] or KINDS[each[0]].consumed]
NAME = 200  # what is too long is said by the rule, in words


def text(label: str, **options: Any) -> forms.CharField:
    """A short text that may be left empty."""
    return forms.CharField(label=label, max_length=NAME, required=False, **options)


class Names(ShopForm):
    """A name for a stage or an assembly."""

    name = text("Name")


class NewStage(Names):
    """A stage at the end of the plan."""

    start = Day(label="Starts on (empty: by the shop's pace)", required=False)


class NewAssembly(Names):
    """An assembly that asks for nothing yet."""

    how_many = text("Made how many times", initial="1")


class SplitOff(Names):
    """A new stage or assembly, and what goes to it."""

    chosen = forms.MultipleChoiceField(
        label="What goes to it", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(
        self, *args: Any, choices: Iterable[tuple[str, str]], **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self.fields["chosen"].choices = list(choices)  # type: ignore[attr-defined]


class ChangeAssembly(NewAssembly):
    """Its name, its number and its stage."""

    stage = forms.ChoiceField(label="In stage")

    def __init__(
        self, *args: Any, row: Assembly, stages: Iterable[Stage], **options: Any
    ) -> None:
        options.setdefault("initial", {}).update(
            name=row.name, how_many=row.how_many, stage=row.stage.name
        )
        super().__init__(*args, **options)
        names = [(each.name, each.name) for each in stages]
        self.fields["stage"].choices = names  # type: ignore[attr-defined]


class InPlace(forms.Form):
    """A line of an assembly: one more, or in place of one that it has."""

    instead = forms.ChoiceField(label="In place of", required=False)

    def offer(self, kind: str, lines: Iterable[tuple[int, Line]]) -> None:
        """The lines of its kind that it may stand in place of."""
        mine = [(str(at), line.words[:90]) for at, line in lines if line.kind == kind]
        self.order_fields([name for name in self.fields if name != "instead"])
        field = self.fields["instead"]
        field.choices = [("", "none: it is one more"), *mine]  # type: ignore[attr-defined]
        if not mine:
            field.widget = forms.HiddenInput()


class AskFor(ShopForm, InPlace):
    """One thing more that it asks for: by callout, or by kind and name."""

    callout = text("Callout, as the drawing writes it")
    each = text("How many each", widget=forms.TextInput(attrs={"inputmode": "numeric"}))
    kind = forms.ChoiceField(label="Or its kind", choices=USED_UP, required=False)
    name = text("Name, such as cable tie")
    unit = forms.ChoiceField(
        label="Counted in",
        choices=[("", "the usual"), *((u, u) for u in UNITS)],
        required=False,
    )


class Drill(ShopForm, InPlace):
    """Holes it drills, and how they are held until riveted."""

    hole_size = text("Drill size, such as #40")
    holes = text("Holes each", widget=forms.TextInput(attrs={"inputmode": "numeric"}))
    operation = forms.ChoiceField(label="Work", choices=list(OPERATIONS.items()))
    fasten_every = text("A temporary fastener in every so many holes (0: none)")
    days_held = text("Held for days")


class SeamOf(Lookup, InPlace):
    """A seam, as the handbook asks for it."""

    days_held = text("Held for days")

    def __init__(self, data: Mapping[str, str] | None = None, **options: Any) -> None:
        super().__init__(data, question=SEAM, **options)
        self.order_fields([each.name for each in SEAM.fields])

    def cells(self) -> dict[str, str]:
        """What was said, without what is usual anyhow."""
        usual = {
            each.name: each.default for each in SEAM.fields if each.name != "hold_every"
        }
        found = {
            name: said
            for name, said in self.given().items()
            if said and name != "instead" and said != usual.get(name)
        }
        return given_as_cells({"hold_every": "2", **found})
