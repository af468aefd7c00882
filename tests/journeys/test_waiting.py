"""What waits on a device: each scan's state, the file of last resort, what needs a person."""

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from playwright.sync_api import expect

from inventory.ledger import queries as ledger
from inventory.ledger.queries import Bin
from inventory.people.models import User
from inventory.people.rules import Role
from inventory.scanning.models import Scan
from inventory.trade import codes
from tests.browser import open_page
from tests.scanning.stories import code_of, furnish

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


@pytest.fixture
def shop(owner, ask, now):
    """Counted long ago: on a busy machine a scan comes late, and is news to no count."""
    furnish(owner, ask, now)
    Bin.objects.update(counted_at=timezone.now() - timedelta(days=30))


@pytest.fixture
def bench(live_server, owner, shop):
    with open_page(live_server, owner) as page:
        opened(page, live_server)
        yield page


def opened(page, server):
    page.goto(f"{server.url}/bench/")
    page.wait_for_selector("[data-ready]")


def scan(page, code):
    page.keyboard.type(code, delay=3)
    page.keyboard.press("Enter")
    page.wait_for_timeout(850)


def online(page):
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")


def settled(page):
    words = page.locator("#unsent-words")
    expect(words).to_have_text("All on the server")


def pulled_without_connection(page):
    """The sheet, then a bin twice: 30 of the 40 in bin 12."""
    scan(page, code_of("sheet"))
    settled(page)
    page.context.set_offline(True)
    for _again in range(2):
        scan(page, codes.make("B", 12))


def test_what_is_scanned_while_the_bench_opens_is_read_in_order(
    live_server, owner, shop
):
    held = []
    with open_page(live_server, owner) as page:
        page.route("**/api/v1/bench?*", lambda route: held.append(route))
        page.goto(f"{live_server.url}/bench/")
        page.wait_for_function("document.activeElement.id === 'scan'")
        scan(page, code_of("sheet"))
        scan(page, codes.make("B", 12))
        expect(page.locator("#flash-words")).to_contain_text("One moment")
        assert Scan.objects.count() == 0
        held.pop().continue_()
        expect(page.locator("#pending-count")).to_have_text("30")
        settled(page)
        read = Scan.objects.order_by("seq").values_list("raw", flat=True)
        assert [raw.upper() for raw in read] == [code_of("sheet"), codes.make("B", 12)]
        # A bin that was read is not said to have moved anything.
        tone = page.locator("#flash-tone")
        expect(tone).to_have_text("Read.")
        page.wait_for_timeout(850)
        scan(page, codes.make("B", 12))
        expect(tone).to_have_text("Moved.")


def test_every_scan_that_waits_says_so(bench):
    pulled_without_connection(bench)
    rows = bench.locator("#waiting-rows li")
    expect(rows).to_have_count(2)
    expect(rows.nth(1)).to_contain_text("Pulled 30")
    expect(rows.nth(1)).to_contain_text("on this device")
    online(bench)
    settled(bench)
    expect(bench.locator("#waiting")).to_be_hidden()


def signs_in(page, server, person):
    """Somebody else, on the same device."""
    client = Client()
    client.force_login(person)
    value = client.cookies["sessionid"].value
    page.context.add_cookies([{"name": "sessionid", "value": value, "url": server.url}])


def test_what_somebody_else_scanned_here_is_told_and_is_theirs_to_send(
    bench, live_server, owner
):
    ada = User.objects.create_user("ada", kept_role=Role.BUILDER)
    pulled_without_connection(bench)
    bench.on("dialog", lambda dialog: dialog.accept())
    bench.goto("about:blank")
    bench.context.set_offline(False)
    signs_in(bench, live_server, ada)
    opened(bench, live_server)
    told = bench.locator(".needy")
    expect(told).to_contain_text("Needs marlow. 2 scans of marlow on this device, not")
    settled(bench)
    scan(bench, codes.make("B", 16))
    settled(bench)
    mine = Scan.objects.filter(by=ada).values_list("raw", flat=True)
    assert [raw.upper() for raw in mine] == [codes.make("B", 16)]
    signs_in(bench, live_server, owner)
    opened(bench, live_server)
    settled(bench)
    expect(told).to_have_count(0)
    assert ledger.quantity_in(ledger.bin_numbered(12)) == 10
    assert Scan.objects.filter(by=owner).count() == 3
    assert ledger.flaws() == []


def test_a_saved_file_is_sent_by_another_device_and_booked_once(
    bench, live_server, tmp_path
):
    pulled_without_connection(bench)
    with bench.expect_download() as saving:
        bench.get_by_role("button", name="Save as a file").click()
    path = tmp_path / "unsent.json"
    saving.value.save_as(path)
    load_elsewhere(bench, live_server, path)
    assert ledger.quantity_in(ledger.bin_numbered(12)) == 10
    online(bench)
    settled(bench)
    assert ledger.quantity_in(ledger.bin_numbered(12)) == 10
    assert Scan.objects.count() == 3
    assert ledger.flaws() == []


def load_elsewhere(bench, server, path):
    """On a second device of the same person; its cookies are its own copy."""
    other = bench.context.browser.new_context()
    other.add_cookies(bench.context.cookies())
    page = other.new_page()
    opened(page, server)
    page.locator("#load-unsent").set_input_files(path)
    expect(page.locator("#flash-words")).to_contain_text("2 scans loaded")
    settled(page)
    other.close()


def test_a_file_that_is_damaged_or_somebody_elses_loads_nothing(bench, tmp_path):
    path = tmp_path / "unsent.json"
    path.write_text("[{]")
    bench.locator("#load-unsent").set_input_files(path)
    expect(bench.locator("#loud-words")).to_contain_text("nothing was loaded")
    bench.locator("#loud-close").click()
    one = "00000000-0000-7000-8000-000000000001"
    row = {"id": one, "device": one, "seq": 1, "code": "XB001299", "ms": 1, "owner": 0}
    path.write_text(json.dumps([row]))
    bench.locator("#load-unsent").set_input_files(path)
    expect(bench.locator("#loud-words")).to_contain_text("sign in as them")
    assert bench.evaluate("document.body.dataset.unsent") == "0"


def test_what_the_server_did_not_take_stays_until_it_was_seen(bench):
    said = json.dumps(
        {"code": "ledger.no_bin", "detail": "Bin 12 was retired meanwhile: count it."}
    )
    bench.route(
        "**/api/v1/scans",
        lambda route: route.fulfill(
            status=400, body=said, content_type="application/problem+json"
        ),
        times=1,
    )
    scan(bench, codes.make("B", 12))
    needy = bench.locator(".needy")
    expect(needy).to_contain_text("Needs you. Bin 12 was retired meanwhile")
    bench.locator("#loud-close").click()
    needy.get_by_role("button", name="Take it out").click()
    settled(bench)
    bench.reload()
    bench.wait_for_selector("[data-ready]")
    expect(needy).to_have_count(1)
    needy.get_by_role("button", name="Scan it again").click()
    expect(bench.locator("#pending-words")).to_be_visible()
    expect(needy).to_have_count(0)
