"""Using one item for another's need: the right bin, the right need, the reason."""

from dataclasses import replace

import pytest
from django.urls import reverse

from inventory.catalog.actions import item_for_callout
from inventory.errors import Refused
from inventory.ledger.actions import undoing, verbs
from inventory.ledger.actions.bins import open_bin
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import flaws, quantity_in
from inventory.planning.actions import importing
from inventory.planning.actions.substituting import substitute
from inventory.planning.actions.working import close
from inventory.planning.models import Assembly, Substitution
from inventory.planning.queries import remaining_by_stage
from inventory.planning.queries.asking import asked_by
from inventory.planning.queries.spoilage import spoilage_record

pytestmark = pytest.mark.django_db
PLAN = "stage,assembly,callout,each\nFin,Skin,AN426AD3-3.5,30\nFin,Skin,AN426AD3-4,10\n"


@pytest.fixture
def skin(owner, now, rivets):
    found = importing.preview(name="plan.csv", data=PLAN.encode())
    importing.apply(found=found, by=owner, now=now)
    return Assembly.objects.get()


@pytest.fixture
def longer(owner, now):
    """A bin of the next half length, 50 in it."""
    item = item_for_callout(text="MS20426AD3-4")
    bin = open_bin(item=item, by=owner, number=13)
    verbs.count(bin=bin, counted=50, ask=Ask(owner, now))
    return bin


def use(skin, rivets, bin, owner, now, quantity=12, approval=""):
    return substitute(
        assembly=skin,
        needed=rivets.item,
        bin=bin,
        quantity=quantity,
        approval=approval,
        ask=Ask(owner, now),
    )


def left(skin):
    return {each.item.callout: each.remaining for each in asked_by(skin)}


def test_it_leaves_its_own_bin_and_meets_the_other_need(
    skin, rivets, longer, owner, now
):
    use(skin, rivets, longer, owner, now)
    assert (quantity_in(longer), quantity_in(rivets)) == (38, 40)
    assert left(skin) == {rivets.item.callout: 18, longer.item.callout: 10}
    needs = remaining_by_stage(skin.stage.build)[skin.stage_id]
    assert needs == {rivets.item_id: 18, longer.item_id: 10}
    assert Substitution.objects.get().why == "half_up"
    assert flaws() == []


def test_an_undone_pull_takes_its_substitution_back(skin, rivets, longer, owner, now):
    done = use(skin, rivets, longer, owner, now)
    undoing.undo(act=done.act, ask=Ask(owner, now))
    assert left(skin) == {rivets.item.callout: 30, longer.item.callout: 10}


def test_the_record_sees_no_spoilage_in_a_substitution(
    skin, rivets, longer, owner, now
):
    use(skin, rivets, longer, owner, now, quantity=30)
    place = Assembly.objects.get().place
    verbs.pull(bin=longer, quantity=11, to=place, ask=Ask(owner, now))
    assert set(left(skin).values()) == {0}
    needs = remaining_by_stage(skin.stage.build)[skin.stage_id]
    assert set(needs.values()) == {0}
    close(assembly=Assembly.objects.get(), by=owner, now=now)
    rows = {row.item_id: (row.good, row.bad) for row in spoilage_record()}
    assert rows == {rivets.item_id: (30, 0), longer.item_id: (10, 1)}


def test_a_blind_rivet_needs_a_named_approval(skin, rivets, owner, now):
    item = item_for_callout(text="MS20601AD3W2")
    bin = open_bin(item=item, by=owner, number=14)
    verbs.count(bin=bin, counted=20, ask=Ask(owner, now))
    with pytest.raises(Refused, match="name who allowed"):
        use(skin, rivets, bin, owner, now, quantity=5)
    assert quantity_in(bin) == 20
    use(skin, rivets, bin, owner, now, quantity=5, approval="R. Fennel, sheet 12")
    assert Substitution.objects.get().approval == "R. Fennel, sheet 12"


def test_a_soft_rivet_never_stands_in(skin, rivets, owner, now):
    soft = open_bin(item=item_for_callout(text="MS20426A3-4"), by=owner, number=15)
    with pytest.raises(Refused, match="by no rule here"):
        use(skin, rivets, soft, owner, now)
    assert not Substitution.objects.exists()


def test_the_same_scan_substitutes_once(skin, rivets, longer, owner, now):
    scan = "5f1c2a8e-0d3b-4c6f-9a71-2b8e4d5c6a70"
    ask = replace(Ask(owner, now), scan_id=scan)
    for _ in range(2):
        substitute(
            assembly=skin,
            needed=rivets.item,
            bin=longer,
            quantity=4,
            approval="",
            ask=ask,
        )
    assert Substitution.objects.get().quantity == 4
    assert quantity_in(longer) == 46


def test_from_the_page(skin, rivets, longer, owner, client):
    client.force_login(owner)
    address = reverse("assembly-instead", args=[skin.pk, rivets.item_id])
    answer = client.post(address, {"bin": 13, "quantity": 6}, follow=True)
    page = answer.content.decode()
    assert "Used instead" in page
    assert "half a length longer" in page
    refused = client.post(address, {"bin": 99, "quantity": 6})
    assert refused.status_code in (400, 404)
    assert "no bin 99" in refused.content.decode()
