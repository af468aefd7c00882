"""The README's pictures, made anew from the demo: `python -m tests.pictures`.

A demo shop of its own is served, looked at as on a phone, and put away.
"""

import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from inventory.config import services
from inventory.config.demo import DEMO_NAME, DEMO_PASSWORD
from inventory.trade import codes

ROOT = Path(__file__).parent.parent
PICTURES = ROOT / "fixtures" / "pictures"
PHONE = {"width": 360, "height": 640}
# So many colours are enough for a page, and keep a picture small.
COLOURS = 48
# The demo's own numbers: an assembly in work, a bin it asks for, and a look-alike.
ASSEMBLY, RIGHT, WRONG = "Main ribs, right", 59, 12


@contextmanager
def demo() -> Iterator[str]:
    """The address of a demo shop of its own."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, str(ROOT / "manage.py"), "serve", "--demo"]
        served = subprocess.Popen(
            [*command, "--port", str(port)],
            env={**os.environ, "GRIPCOUNT_DATA": folder},
            stdout=subprocess.DEVNULL,
        )
        address = f"http://127.0.0.1:{port}"
        try:
            wait_for(address)
            yield address
        finally:
            served.send_signal(signal.SIGTERM)
            served.wait()


def wait_for(address: str) -> None:
    """Until the shop answers."""
    while True:
        try:
            urllib.request.urlopen(address).close()
            return
        except OSError:
            time.sleep(0.5)


def keep(page: Page, name: str) -> None:
    """What is on the screen, as a small picture."""
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB")
    small = picture.quantize(COLOURS, dither=Image.Dither.NONE)
    small.save(PICTURES / f"{name}.png", optimize=True)


def hear(page: Page, text: str) -> None:
    """What a scanner types; a second scan is none while the first one's tone sounds."""
    page.wait_for_timeout(1200)
    page.keyboard.type(text, delay=3)
    page.keyboard.press("Enter")
    page.wait_for_timeout(1200)


def take(page: Page, address: str) -> None:
    """Every picture, in the order of an evening."""
    page.goto(address)
    page.fill("input[name=username]", DEMO_NAME)
    page.fill("input[name=password]", DEMO_PASSWORD)
    page.press("input[name=password]", "Enter")
    page.wait_for_selector(".road")
    keep(page, "first-page")
    page.goto(f"{address}/first/steps/")
    keep(page, "first-steps")
    page.goto(f"{address}/tray/")
    keep(page, "tray")
    page.goto(f"{address}/bench/")
    page.wait_for_selector("[data-ready]")
    page.locator("#chooser summary").click()
    page.locator("#assemblies button", has_text=ASSEMBLY).click()
    hear(page, codes.make("B", RIGHT))
    keep(page, "bench")
    page.get_by_role("button", name="Cancel").click()
    hear(page, codes.make("B", WRONG))
    keep(page, "wrong-bin")


def main() -> None:
    """Make them all."""
    PICTURES.mkdir(exist_ok=True)
    with demo() as address, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which(services.BROWSER))
        take(browser.new_page(viewport=PHONE), address)
        browser.close()


if __name__ == "__main__":
    main()
