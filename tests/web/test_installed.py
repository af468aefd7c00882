"""The shop on a phone's home screen: what a browser asks for (W3C, Web Application Manifest)."""

import json
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.urls import reverse
from PIL import Image

from tests.browser import open_page

SAFE, PLAIN = "Add to home screen", "This address is plain http"


def test_the_icons_are_of_the_sizes_that_they_are_said_to_be():
    manifest = Path(finders.find("manifest.json"))
    said = json.loads(manifest.read_text())["icons"]
    pictures = [each for each in said if each["type"] == "image/png"]
    assert {each["sizes"] for each in pictures} == {"192x192", "512x512"}
    for each in said:
        assert (manifest.parent / each["src"]).exists()
    for each in pictures:
        with Image.open(manifest.parent / each["src"]) as picture:
            assert f"{picture.width}x{picture.height}" == each["sizes"]


@pytest.mark.parametrize(
    ("asked", "said", "not_said"),
    [
        ({"secure": True}, SAFE, PLAIN),
        ({"headers": {"host": "127.0.0.1:8040"}}, SAFE, PLAIN),
        ({"headers": {"host": "192.168.1.9:8040"}}, PLAIN, SAFE),
    ],
)
def test_a_phone_is_told_what_its_address_allows(
    client, owner, settings, asked, said, not_said
):
    settings.ALLOWED_HOSTS = ["*"]
    client.force_login(owner)
    text = client.get(reverse("me"), **asked).content.decode()
    assert said in text
    assert not_said not in text


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_a_browser_takes_the_manifest_without_an_error(live_server, owner):
    with open_page(live_server, owner) as page:
        page.goto(f"{live_server.url}/bench/")
        found = page.context.new_cdp_session(page).send("Page.getAppManifest")
        assert found["errors"] == []
        assert found["url"].endswith("/static/manifest.json")
        said = json.loads(found["data"])
        page.goto(f"{live_server.url}{said['start_url']}")
        page.wait_for_selector("[data-ready]")
