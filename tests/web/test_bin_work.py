"""A bin's page counts, pulls, returns and scraps, without a scanner and once."""

import uuid

import pytest

from inventory.ledger.queries import bin_numbered, quantities_at, quantity_in
from inventory.planning.models import Assembly

pytestmark = pytest.mark.django_db


def test_pieces_go_out_for_an_assembly_and_come_back(work, rivets, spar):
    assert work("pull", 9, assembly=spar.pk)[0] == 200
    spar.refresh_from_db()
    at = (spar.place_id, rivets.item_id)
    assert (quantity_in(rivets), quantities_at([spar.place_id])[at]) == (31, 9)
    assert Assembly.objects.get(pk=spar.pk).state == "in_work"
    work("scrap", 2, assembly=spar.pk)
    work("return", 3, assembly=spar.pk)
    assert (quantity_in(rivets), quantities_at([spar.place_id])[at]) == (34, 4)
    work("scrap", 4, reason="on the floor")
    assert quantity_in(rivets) == 30


def test_a_count_is_taken_and_a_pull_beyond_the_record_is_news(work, rivets):
    assert "Counted 12 in bin 12." in work("count", 12)[1]
    assert quantity_in(rivets) == 12
    said = work("pull", 20)[1]
    assert "The record held 8 fewer: count the bin." in said
    assert "8 more came out than the record held" in said


def test_the_same_form_twice_is_booked_once(work, rivets):
    same = str(uuid.uuid4())
    for _ in range(2):
        assert work("pull", 5, scan_id=same)[0] == 200
    assert quantity_in(rivets) == 35
    status, said = work("pull", 6, scan_id=same)
    assert (status, quantity_in(rivets)) == (422, 35)
    assert 'value="6"' in said


def test_what_is_wrong_is_said_and_kept(work, rivets, spar):
    assert work("pull", 0)[0] == 400
    assert work("pull", "seven")[0] == 400
    assert work("pull", 3, assembly=999)[0] == 400
    status, said = work("count", 99_999)
    assert status == 409
    assert "It is right" in said
    assert work("count", 99_999, sure="yes")[0] == 200
    assert quantity_in(rivets) == 99_999


def test_a_new_bin_takes_how_many_are_in_it(page):
    form = {"callout": "MS20470AD4-4", "counted": "130"}
    page.post("/bins/new/", form)
    assert quantity_in(bin_numbered(1)) == 130
    page.post("/bins/new/", {**form, "counted": "0"})
    made = bin_numbered(2)
    assert (quantity_in(made), made.counted_at is None) == (0, False)
    page.post("/bins/new/", {**form, "counted": ""})
    assert bin_numbered(3).counted_at is None
    refused = page.post("/bins/new/", {**form, "counted": "99999"})
    assert refused.status_code == 409
