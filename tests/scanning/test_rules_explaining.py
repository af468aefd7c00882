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


def test_a_part_number_with_several_readings_tells_all():
    assert len(explained("470AD4-5")["callouts"]) >= 1


@pytest.mark.parametrize(
    ("text", "code", "kind"),
    [
        ("XB004208", "code.check", "own code"),
        ("", "scan.empty", "unreadable"),
        ("]C101", "bag.gs1", "gs1"),
        ("[)>", "bag.empty", "iso15434"),
    ],
)
def test_errors(text, code, kind):
    with pytest.raises(Refused) as caught:
        explained(text)
    assert refused(caught.value)["error"]["code"] == code
    assert refused(caught.value)["kind"] == kind
