"""Receiving by the bag's own codes, as a page."""

from urllib.parse import quote

import pytest
from django.urls import reverse

from inventory.ordering.queries import bag_found

ENVELOPE = "[)>\x1e06\x1d1PMS20426AD3-3.5\x1dQ500\x1d1TR-7\x1e\x04"


@pytest.mark.slow
def test_a_scanned_bag_fills_the_form(page, rivets, order):
    address = reverse("receive-bag")
    assert page.get(address).status_code == 200
    answer = page.post(address, {"code": quote(ENVELOPE)})
    assert b"500" in answer.content
    assert b"Put it into" in answer.content
    assert b"bin=12" in answer.content
    line = order.lines.get()
    form = page.get(
        reverse("receive-line", args=[line.pk]), {"pieces": 500, "lot": "R-7"}
    )
    assert b'value="500"' in form.content
    assert b'value="R-7"' in form.content


@pytest.mark.slow
def test_an_unknown_code_is_kept_and_taught(page, rivets):
    address = reverse("receive-bag")
    answer = page.post(address, {"code": "HS-77812"})
    assert b"Nobody here knows" in answer.content
    assert b"HS-77812" in answer.content
    refused = page.post(address, {"codes": "HS-77812", "teach": "HS-77812"})
    assert refused.status_code == 400
    taught = {"codes": "HS-77812", "teach": "HS-77812", "callout": "MS20426AD3-3.5"}
    assert b"Put it into" in page.post(address, taught).content
    assert bag_found(["HS-77812"]).item == rivets.item
