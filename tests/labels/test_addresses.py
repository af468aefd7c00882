"""A label outlives the shop's address: it holds one only where that lasts."""

import pytest

from inventory.labels.rules.addresses import bin_address, lasts
from inventory.scanning.rules.reading import read_code
from inventory.trade import codes

CODE = codes.make("B", 42)


@pytest.mark.parametrize(
    "url",
    [
        "http://hangar.local:8040",
        "https://shop.example.org",
        "http://bench",
        "http://a.b/c/",
    ],
)
def test_a_name_of_its_own_lasts(url):
    assert lasts(url)
    assert bin_address(url, CODE) == f"{url.rstrip('/')}/S/{CODE}".upper()


@pytest.mark.parametrize(
    "url",
    [
        "http://localhost:8040",
        "http://shop.localhost",
        "http://localhost.:8040",
        "http://127.0.0.1:8040",
        "http://192.168.178.201:8040",
        "http://[::1]:8040",
        "http://[fe80::1]:8040",
        "http://[half",
        "hangar.local",
        "",
    ],
)
def test_this_machine_or_a_lent_number_does_not(url):
    assert not lasts(url)
    assert bin_address(url, CODE) == CODE


@pytest.mark.parametrize("host", ["OLD.HOST", "192.168.178.201:8040", "127.0.0.1:8040"])
def test_a_label_with_an_older_address_is_still_read(host):
    read = read_code(f"HTTP://{host}/S/{CODE}")
    assert (read.type, read.number) == ("B", 42)
