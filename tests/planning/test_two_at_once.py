"""Two people change one assembly at once: one is told, and nothing is lost."""

import pytest

from inventory.errors import Refused
from inventory.planning.actions import editing, importing
from inventory.planning.actions.editing import Seen
from inventory.planning.models import Need, PlanChange
from inventory.planning.queries import current_build
from inventory.planning.queries.stored import stored_plan
from inventory.planning.rules.editing import mark
from inventory.planning.rules.numbering import number_lines
from tests.parallel import in_parallel

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
SPAR = ("Fin", "Spar")
PLAN = b"stage,assembly,callout,each\nFin,Spar,MS20426AD3-4,12\n"


def test_of_eight_pages_opened_together_one_is_taken(owner, now):
    found = importing.preview(name="kit.csv", data=PLAN)
    importing.apply(found=found, by=owner, now=now)
    seen = Seen(SPAR, mark(stored_plan(current_build()), SPAR))

    def change(number):
        try:
            editing.change(
                edit=lambda plan: number_lines(plan, SPAR, {0: str(20 + number)}, []),
                said=f"{20 + number}",
                by=owner,
                now=now,
                seen=seen,
            )
        except Refused as refusal:
            return refusal.code
        return 20 + number

    said = in_parallel(change, 8)
    (taken,) = [each for each in said if isinstance(each, int)]
    assert said.count("planning.changed_meanwhile") == 7
    assert Need.objects.get().each == taken
    assert PlanChange.objects.first().said == f"{taken}"
