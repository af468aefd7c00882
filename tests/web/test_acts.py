"""What was done is listed, and taken back, on the pages where it shows."""

from datetime import timedelta

import pytest

from inventory.ledger.actions import verbs
from inventory.ledger.actions.bins import lot_of
from inventory.ledger.actions.posting import Ask
from inventory.ledger.queries import Act, quantity_in, single_place
from inventory.ordering.actions.placing import drop_line
from inventory.ordering.actions.receiving import Papers, receive
from inventory.ordering.queries import still_owed
from inventory.people.models import User
from inventory.planning.actions.working import close, place_to_pull_for, reopen
from inventory.planning.models import Assembly
from inventory.planning.queries.asking import asked_by

pytestmark = pytest.mark.django_db


@pytest.fixture
def helper(db):
    """Somebody who is not the owner."""
    return User.objects.create_user("ondine", first_name="Ondine", password="a-word")


@pytest.fixture
def pulled(rivets, ask):
    """Seven, by the owner."""
    return verbs.pull(
        bin=rivets, quantity=7, to=single_place("unplanned"), ask=ask()
    ).act


def press(browser, act, **said):
    """The button beside an act."""
    found = browser.post(f"/acts/{act.pk}/undo/", said, follow=True)
    return found.status_code, found.content.decode()


def test_a_pull_is_taken_back_on_its_bins_page_and_put_in_force_again(
    page, rivets, pulled
):
    seen = page.get("/bins/12/").content.decode()
    assert seen.count("Take it back") == 2  # the pull, and the count that began
    status, found = press(page, pulled, next="/bins/12/")
    assert (status, quantity_in(rivets)) == (200, 40)
    assert "It is taken back." in found
    assert "Put in force" in found
    status, found = press(page, pulled)
    assert (status, quantity_in(rivets)) == (409, 40)
    assert "taken back already" in found
    _, found = press(page, pulled, gone="yes", next="/bins/12/")
    assert quantity_in(rivets) == 33
    assert "put in force again" in found
    assert press(page, pulled, gone="yes")[0] == 409
    press(page, pulled)
    assert quantity_in(rivets) == 40


def test_who_did_it_and_the_owner_take_it_back_nobody_else(
    page, client, rivets, helper, now, pulled
):
    own = verbs.pull(
        bin=rivets, quantity=2, to=single_place("unplanned"), ask=Ask(helper, now)
    ).act
    client.force_login(helper)
    listed = client.get("/acts/").content.decode()
    assert listed.count("Take it back") == 1
    status, found = press(client, pulled)
    assert (status, quantity_in(rivets)) == (403, 31)
    assert "can take it back" in found
    assert press(client, own)[0] == 200
    assert quantity_in(rivets) == 33


def test_acts_are_found_by_person_bin_and_day(page, rivets, pulled, helper, now):
    def listed(query):
        return page.get(f"/acts/?{query}").content.decode().count("Take it back")

    assert listed("") == 2
    assert listed("bin=12") == 2
    assert listed(f"by={pulled.by_id}&day={now:%Y-%m-%d}") == 2
    assert listed("day=2020-01-01") == 0
    assert page.get("/acts/?bin=77").status_code == 404
    assert page.get("/acts/?by=99").status_code == 400


def test_a_pull_of_last_week_is_taken_back_on_its_assemblys_page(
    page, rivets, spar, work
):
    assert "Take it back" not in page.get(f"/assemblies/{spar.pk}/").content.decode()
    work("pull", 9, assembly=spar.pk)
    shown = page.get(f"/assemblies/{spar.pk}/").content.decode()
    assert shown.count("Take it back") == 1
    act = Act.objects.latest("pk")
    press(page, act, next=f"/assemblies/{spar.pk}/")
    (ask,) = asked_by(spar)
    assert (ask.pulled, ask.remaining) == (0, 30)


def test_a_receipt_taken_back_opens_its_order_again(page, rivets, order, ask):
    (line,) = order.lines.all()
    _, receipt = receive(
        bin=rivets,
        supplier=order.supplier,
        ask=ask(),
        pieces=100,
        line=line,
        papers=Papers(lot="K-9"),
        closes=True,
    )
    assert still_owed() == []
    seen = page.get(f"/orders/{order.number}/").content.decode()
    assert "Take it back" in seen
    lot = lot_of(item=rivets.item, name="K-9")
    assert "Take it back" in page.get(f"/lots/{lot.pk}/").content.decode()
    status, found = press(page, receipt.act, next=f"/orders/{order.number}/")
    assert (status, quantity_in(rivets)) == (200, 40)
    assert "100" in found
    assert [row.pieces for row in still_owed()] == [100]
    assert "bin 12" not in page.get(f"/lots/{lot.pk}/").content.decode().split("How")[0]
    press(page, receipt.act, gone="yes")
    assert still_owed() == []


def test_what_moved_no_piece_is_listed_with_where_it_is_mended(
    page, planned, order, pulled, owner, helper, now
):
    spar = Assembly.objects.get(name="Spar")
    place_to_pull_for(assembly=spar, by=owner, now=now)
    close(assembly=spar, by=owner, now=now)
    reopen(assembly=spar, by=owner, now=now + timedelta(minutes=5))
    line = order.lines.get()
    drop_line(line=line, by=owner, now=now + timedelta(minutes=6))
    seen = page.get("/acts/").content.decode()
    words = (
        f"order {order.number}: {line.item.words} is waited for no more",
        "Fin / Spar put back in work",
        "Fin / Spar closed",
        f"order {order.number} placed with Hangar supply",
    )
    places = [seen.index(each) for each in words]
    assert places == sorted(places)
    assert f'href="/assemblies/{spar.pk}/"' in seen
    assert f'href="/orders/{order.number}/"' in seen
    assert 'href="/plan/history/"' in seen
    day = page.get(f"/acts/?day={order.placed_on}").content.decode()
    assert words[3] in day
    assert words[0] not in day
    before = order.placed_on - timedelta(days=1)
    assert words[3] not in page.get(f"/acts/?day={before}").content.decode()
    hers = page.get(f"/acts/?by={helper.pk}").content.decode()
    assert words[1] not in hers
    assert words[1] not in page.get("/acts/?bin=12").content.decode()


def test_of_a_page_of_acts_only_what_lies_between_is_listed(
    page, planned, rivets, owner, now
):
    """A closing after the first of some acts is on the second page; one between the last
    act of a page and the first of the next is on the first, and on no other."""
    spar = Assembly.objects.get(name="Spar")
    place_to_pull_for(assembly=spar, by=owner, now=now)
    close(assembly=spar, by=owner, now=now + timedelta(minutes=30))
    for hour in range(1, 53):
        ask = Ask(by=owner, now=now + timedelta(hours=hour))
        verbs.count(bin=rivets, counted=40 + hour % 2, ask=ask)
    first = page.get("/acts/")
    assert "Fin / Spar closed" not in first.content.decode()
    earlier = page.get(f"/acts/?before={first.context['before']}").content.decode()
    assert "Fin / Spar closed" in earlier
    shown = first.context["deeds"]
    between = shown[-1].act.at - timedelta(minutes=30)
    reopen(assembly=spar, by=owner, now=between)
    first = page.get("/acts/").content.decode()
    assert "Fin / Spar put back in work" in first
    earlier = page.get(f"/acts/?before={shown[-1].act.pk}").content.decode()
    assert "Fin / Spar put back in work" not in earlier


def test_no_other_site_is_gone_on_to(page, pulled):
    found = page.post(f"/acts/{pulled.pk}/undo/", {"next": "https://elsewhere.test/"})
    assert found["Location"] == "/acts/"


def test_an_order_is_taken_back_and_placed_again(page, order, rivets, ask):
    (line,) = order.lines.all()
    at = f"/orders/{order.number}"
    found = page.post(f"{at}/back/", follow=True).content.decode()
    assert "This order is taken back" in found
    assert still_owed() == []
    page.post(f"{at}/back/", {"again": "yes"})
    assert [row.pieces for row in still_owed()] == [100]
    page.post(f"/order-lines/{line.pk}/drop/")
    assert still_owed() == []
    page.post(f"/order-lines/{line.pk}/wait/")
    assert [row.pieces for row in still_owed()] == [100]
    receive(bin=rivets, supplier=order.supplier, ask=ask(), pieces=9, line=line)
    refused = page.post(f"{at}/back/")
    assert refused.status_code == 409
    assert "take that back first" in refused.content.decode()


def test_lines_are_added_and_changed(page, order, rivets, ask):
    (line,) = order.lines.all()
    asked = {"callout": rivets.item.callout, "packs": "3", "pack_pieces": "40"}
    page.post(f"/order-lines/{line.pk}/change/", asked)
    assert [row.pieces for row in still_owed()] == [120]
    page.post(f"/orders/{order.number}/lines/", {**asked, "callout": "AN3-5A"})
    assert [row.pieces for row in still_owed()] == [120, 120]
    refused = page.post(f"/order-lines/{line.pk}/change/", {**asked, "packs": "0"})
    assert refused.status_code == 400
    assert "Order 1 to 10,000 packs" in refused.content.decode()
    # What was keyed stands in its own line, opened, and only there is it asked about.
    asked = page.post(
        f"/order-lines/{line.pk}/change/", {**asked, "packs": "9000"}
    ).content.decode()
    assert asked.count("It is right") == asked.count('value="9000"') == 1
    assert asked.count('<details class="whynumber" open>') == 1
    asked = {"callout": rivets.item.callout, "packs": "3", "pack_pieces": "40"}
    receive(bin=rivets, supplier=order.supplier, ask=ask(), pieces=9, line=line)
    refused = page.post(
        f"/order-lines/{line.pk}/change/", {**asked, "callout": "AN3-5A"}
    )
    assert refused.status_code == 409
