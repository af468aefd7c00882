"""The first page: what to order, what to do tonight, what is doubtful, the road ahead."""

import uuid
from datetime import date, timedelta
from itertools import pairwise

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.ledger.actions import verbs
from inventory.ledger.models import CountFound
from inventory.ledger.queries import quantity_in
from inventory.people.models import Shop
from inventory.planning.models import Stage
from inventory.web.road import axis_of

TODAY = date(2027, 3, 1)


def said(page):
    """The page, and its headline in plain words."""
    answer = page.get(reverse("home"))
    text = answer.content.decode()
    head = text[text.index("<h1>") : text.index("</h1>")]
    return answer, " ".join(head.partition("</svg>")[2].split())


def starts_in(days):
    start = timezone.localdate() + timedelta(days=days)
    Stage.objects.filter(name="Fin").update(planned_start=start)
    Stage.objects.filter(name="Rudder").update(planned_start=start + timedelta(60))
    return start


@pytest.mark.django_db
def test_what_must_leave_soon_is_on_top_with_its_day(page, planned, rivets):
    start = starts_in(12)
    answer, head = said(page)
    orders = answer.context["orders"]
    # The drill and the skin's rivets are in no bin; five days to the bench are a guess.
    by = start - timedelta(days=5)
    assert head == f"Order {len(orders.soon)} things by {by:%-d %b %Y}"
    assert {each.stage for each in orders.soon} == {"Fin"}
    assert "3/32 flush, 1/4 long" in {each.shown.words for each in orders.soon}
    assert b"Work out the cheapest order" in answer.content


@pytest.mark.django_db
def test_a_day_that_went_by_is_said_to_have(page, planned, rivets):
    start = starts_in(2)
    _answer, head = said(page)
    by = start - timedelta(days=5)
    assert head.endswith(f"things now: the first day was {by:%-d %b %Y}")


@pytest.mark.django_db
def test_what_can_wait_is_said_by_its_day_only(page, planned, rivets):
    start = starts_in(90)
    answer, head = said(page)
    assert head == f"Nothing to order before {start - timedelta(days=5):%-d %b %Y}"
    assert answer.context["orders"].soon == []
    assert b"Work out the cheapest order" not in answer.content


@pytest.mark.django_db
def test_tonight_says_what_is_missing_and_which_bins(page, planned, rivets, owner, ask):
    text = page.get(reverse("home")).content.decode()
    assert "Spar" in text
    assert "all is here" in text
    assert reverse("bin", args=[12]) in text
    verbs.count(bin=rivets, counted=10, ask=ask())
    text = page.get(reverse("home")).content.decode()
    assert "not all is here" in text
    assert "<b>20</b> missing of" in text


@pytest.mark.django_db
def test_after_an_absence_it_says_where_one_was(page, planned, rivets):
    assert b"Where you were" not in page.get(reverse("home")).content
    away = timezone.now() - timedelta(days=30)
    Shop.objects.update(seen_at=away)
    text = page.get(reverse("home")).content.decode()
    assert "Nobody was here for 30 days" in text
    where = text[text.index("Where you were") :]
    assert "3/32 flush, 7/32 long" in where[: where.index("</section>")]
    assert b"Where you were" not in page.get(reverse("home")).content


@pytest.mark.django_db
def test_a_bin_is_counted_in_place(page, planned, rivets):
    sent = {"scan_id": uuid.uuid4(), "verb": "count", "quantity": 31, "then": "home"}
    answer = page.post(reverse("bin-book", args=[12]), sent)
    assert answer["Location"] == reverse("home")
    assert quantity_in(rivets) == 31
    again = page.post(reverse("bin-book", args=[12]), sent)
    assert (again["Location"], CountFound.objects.count()) == (reverse("home"), 1)
    odd = page.post(
        reverse("bin-book", args=[12]),
        {**sent, "scan_id": uuid.uuid4(), "quantity": "x"},
    )
    assert odd.status_code == 400
    assert quantity_in(rivets) == 31


@pytest.mark.django_db
def test_an_overdue_parcel_is_asked_after_and_stands_on_the_road(page, planned, order):
    order.expected_on = timezone.localdate() - timedelta(days=3)
    order.save()
    answer, _head = said(page)
    text = answer.content.decode()
    assert f'<a href="{reverse("order", args=[order.number])}">' in text
    assert "was due" in text
    (parcel,) = answer.context["parcels"]
    assert "overdue since" in parcel.words
    assert parcel.at == answer.context["axis"].now


def test_the_axis_is_true_to_scale():
    start, end = TODAY - timedelta(days=10), TODAY + timedelta(days=90)
    axis = axis_of([(start, TODAY), (TODAY, end)], TODAY)
    assert (axis.at(start), axis.now, axis.at(end)) == ("0.00%", "10.00%", "100.00%")
    assert axis.wide(TODAY, TODAY + timedelta(days=25)) == "25.00%"
    # What lies outside is drawn at the end, and what is short can still be seen.
    assert axis.at(end + timedelta(days=400)) == "100.00%"
    assert axis.wide(TODAY, TODAY) == "0.80%"


def test_what_is_long_past_takes_no_room():
    axis = axis_of([(TODAY - timedelta(days=700), TODAY + timedelta(days=30))], TODAY)
    assert axis.first == TODAY - timedelta(days=30)
    assert axis.now == "50.00%"


@pytest.mark.parametrize("length", [1, 40, 200, 400, 1500, 5000])
def test_a_phone_can_show_every_month_that_is_named(length):
    axis = axis_of([(TODAY, TODAY + timedelta(days=length))], TODAY)
    places = [float(month.at[:-1]) for month in axis.months]
    assert len(places) <= 5
    assert all(after - before > 15 for before, after in pairwise(places))
    assert all(place <= 87.5 for place in places)
