"""A browser at the shop's pages, signed in: Debian's Chromium, driven."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.test import Client
from playwright.sync_api import Page, expect, sync_playwright

FLAGS = [
    "--autoplay-policy=no-user-gesture-required",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 360, "height": 740}
# Long enough for any machine; nothing is timed.
PATIENCE_MS = 120_000
expect.set_options(timeout=PATIENCE_MS)


@contextmanager
def open_page(
    server: Any,
    user: Any,
    *,
    size: dict[str, int] | None = None,
    flags: Sequence[str] = (),
    **more: Any,
) -> Iterator[Page]:
    """A page of a fresh browser in which this person is signed in."""
    client = Client()
    client.force_login(user)
    cookie = client.cookies["sessionid"].value
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path="/usr/bin/chromium", args=[*FLAGS, *flags]
        )
        context = browser.new_context(viewport=size or PHONE, **more)
        context.set_default_timeout(PATIENCE_MS)
        context.add_cookies([{"name": "sessionid", "value": cookie, "url": server.url}])
        try:
            yield context.new_page()
        finally:
            browser.close()
