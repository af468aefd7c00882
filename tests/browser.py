"""A browser at the shop's pages, signed in: Debian's Chromium, driven."""

import atexit
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Any

from django.test import Client
from playwright.sync_api import Browser, Page, Playwright, expect, sync_playwright

from inventory.config import services

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


@cache
def driver() -> Playwright:
    """What drives the browsers, from the first one to the end of all tests."""
    started = sync_playwright().start()
    atexit.register(started.stop)
    return started


@cache
def started(*flags: str) -> Browser:
    """A browser that stays; what a page keeps is its context's and goes with that."""
    return driver().chromium.launch(
        executable_path=shutil.which(services.BROWSER), args=[*FLAGS, *flags]
    )


@contextmanager
def open_page(
    server: Any,
    user: Any,
    *,
    size: dict[str, int] | None = None,
    flags: Sequence[str] = (),
    **more: Any,
) -> Iterator[Page]:
    """A page that knows nothing of earlier ones, in which this person, if any, is signed in."""
    client = Client()
    if user:
        client.force_login(user)
    known = client.cookies.get("sessionid")
    browser = started(*flags)
    context = browser.new_context(viewport=size or PHONE, **more)
    context.set_default_timeout(PATIENCE_MS)
    if known:
        cookie = {"name": "sessionid", "value": known.value, "url": server.url}
        context.add_cookies([cookie])
    try:
        yield context.new_page()
    finally:
        for each in browser.contexts:
            each.close()
