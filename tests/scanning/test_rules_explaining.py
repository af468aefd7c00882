"""What a scanned string is: every kind, by the order of interpretation."""

import pytest

from inventory.errors import Refused
from inventory.scanning.rules.explaining import explained, refused


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("XB004209", "own code"),
        ("xb 0042-09", "own code"),
        ("]C0XB004209", "own code"),
        ("HTTP://SHOP.LOCAL/S/XB004209", "address"),
        ("https://an.old.host/s/XB004209?x=1", "address"),
        ("b42", "typed bin"),
        ("250", "number"),
        ("123456789012", "number"),
        ("[)>\x1e06\x1dP1\x1e\x04", "iso15434"),
        ("]C10109501101530003", "gs1"),
        ("PNR 4202435-01", "text element"),
        ("MS20470AD4-4", "part number"),
        ("K1000-3", "unknown"),
        ("6291041500213", "unknown"),
    ],
)
def test_kinds(text, kind):
    assert explained(text)["kind"] == kind


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("XB004209", {"code": "XB004209", "number": 42, "type": "bin"}),
        ("b42", {"code": "XB004209", "number": 42}),
        ("HTTP://SHOP.LOCAL/S/XB004209", {"address": "HTTP://SHOP.LOCAL/S/XB004209"}),
        ("250", {"number": 250}),
        ("0", {"number": 0}),
        ("-5", {"number": "-5"}),
        ("1,5", {"number": "1,5"}),
        ("[)>\x1e06\x1d1PA-1\x1dQ5\x1d14D270601\x1e\x04", {"whole": True}),
    ],
)
def test_fields(text, said):
    found = explained(text)
    assert {name: found[name] for name in said} == said


def test_a_bags_contents_are_only_what_it_says():
    found = explained("[)>\x1e06\x1d1PA-1\x1dQ5\x1e\x04")
    assert found["contents"] == {"parts": ["A-1"], "quantity": 5}
    assert found["fields"] == [["1P", "A-1"], ["Q", "5"]]


def test_a_part_number_with_several_readings_tells_all():
    assert len(explained("470AD4-5")["callouts"]) >= 1


@pytest.mark.parametrize(
    ("text", "code", "kind"),
    [
        ("XB004208", "code.check", "own code"),
        ("", "scan.empty", "unreadable"),
        ("7" * 513, "scan.long", "unreadable"),
        ("]C101", "bag.gs1", "gs1"),
        ("[)>", "bag.empty", "iso15434"),
    ],
)
def test_errors(text, code, kind):
    with pytest.raises(Refused) as caught:
        explained(text)
    assert refused(caught.value)["error"]["code"] == code
    assert refused(caught.value)["kind"] == kind
