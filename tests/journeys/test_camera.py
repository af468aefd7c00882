"""A live camera and a photo at the bench: the label is read by the shop's own reader."""

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import expect

from inventory.labels.rules import layout, pages
from inventory.labels.rules.addresses import bin_address
from inventory.labels.rules.layout import Content, Frame
from inventory.labels.rules.sheets import SHEETS
from inventory.labels.rules.symbols import Dots
from inventory.ledger import queries
from tests.browser import open_page

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
WIDE, HIGH = 640, 480


def label_picture(bin):
    """A bench with the bin's label on it, as a camera sees it."""
    sheet = SHEETS["single"]
    place = next(iter(sheet.places(1)))
    address = bin_address("http://shop.local", bin.code)
    content = Content(bin.item.words, bin.code, bin.item.callout, bin.spot, address)
    drawn = layout.label(content, place, Frame.of(place[1], 25.0, Dots(300)))
    label = next(pages.rendered(pages.pdf_of([drawn], sheet.page), 300))
    bench = Image.new("L", (WIDE, HIGH), 110)
    label = label.resize((500, 250)).rotate(7, expand=True, fillcolor=110)
    bench.paste(label, (40, 60))
    return bench


def film(picture, path):
    """The picture as a short film in the raw format that a fake camera plays (YUV4MPEG2)."""
    luma = np.asarray(picture, np.uint8).tobytes()
    chroma = bytes([128]) * (WIDE * HIGH // 2)
    head = f"YUV4MPEG2 W{WIDE} H{HIGH} F10:1 Ip A1:1 C420jpeg\n".encode()
    path.write_bytes(head + (b"FRAME\n" + luma + chroma) * 10)


def test_the_live_camera_opens_the_bin_once(live_server, owner, rivets, tmp_path):
    film(label_picture(rivets), tmp_path / "label.y4m")
    flags = [
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={tmp_path / 'label.y4m'}",
    ]
    with open_page(live_server, owner, flags=flags, permissions=["camera"]) as page:
        page.goto(f"{live_server.url}/bench/")
        page.wait_for_selector("[data-ready]")
        page.get_by_role("button", name="Camera").click()
        said = page.locator("#flash-words")
        expect(said).to_contain_text("bin 12 holds 40")
        # The label stays in the picture: it is not scanned a second time.
        page.wait_for_timeout(2500)
        expect(page.locator("#pending-verb")).to_have_text("pull from bin 12")
        expect(said).to_contain_text("bin 12 holds 40")
        page.get_by_role("button", name="Camera off").click()
    assert queries.quantity_in(rivets) == 40


def test_a_photo_of_a_label_is_a_scan(live_server, owner, rivets, tmp_path):
    label_picture(rivets).save(tmp_path / "label.jpg", quality=80)
    with open_page(live_server, owner) as page:
        page.goto(f"{live_server.url}/bench/")
        page.wait_for_selector("[data-ready]")
        page.set_input_files("#photo", tmp_path / "label.jpg")
        said = page.locator("#flash-words")
        expect(said).to_contain_text("bin 12 holds 40")
