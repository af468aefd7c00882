"""A server that fails in every way: no scan is lost, none comes out of order."""

import re
from contextlib import contextmanager, suppress
from datetime import timedelta

import pytest
from django.db import connection
from django.db.backends.signals import connection_created
from django.utils import timezone
from playwright.sync_api import Error, expect

from inventory.ledger import queries as ledger
from inventory.ledger.queries import Bin
from inventory.scanning.models import Scan
from inventory.trade import codes
from tests.browser import open_page
from tests.scanning.failing import ANSWERS, problem
from tests.scanning.stories import code_of, furnish

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]
SENDING = "**/api/v1/scans"
# A longer pause than any between two tries, and than the page's patience.
PAUSE_MS = 75_000
TRIES = 5
ENTER = codes.make("C", 9)


def bin_code(number):
    return codes.make("B", number)


@pytest.fixture
def shop(owner, ask, now):
    """Counted long ago, so that what comes late is news to no count."""
    furnish(owner, ask, now)
    Bin.objects.update(counted_at=timezone.now() - timedelta(days=30))


@pytest.fixture
def bench(live_server, owner, shop):
    with open_page(live_server, owner) as page:
        page.clock.install()
        page.goto(f"{live_server.url}/bench/")
        page.wait_for_selector("[data-ready]")
        # What a page sends while its service worker takes over may pass a route by.
        while not page.evaluate("Boolean(navigator.serviceWorker.controller)"):
            page.wait_for_timeout(20)
        yield page


def scan(page, *said):
    for code in said:
        page.keyboard.type(code)
        page.keyboard.press("Enter")
        page.clock.fast_forward(900)


def settled(page):
    expect(page.locator("#unsent-words")).to_have_text("All on the server")


@contextmanager
def answering(page, how):
    """Every scan that is sent meets this instead of the server."""
    page.route(SENDING, how)
    yield
    page.unroute(SENDING)


def fulfilled(name):
    return lambda route: route.fulfill(**ANSWERS[name])


def swallowed(route):
    """The server takes it, and the answer is lost on its way."""
    route.fetch()
    with suppress(Error):  # the page may have lost its patience
        route.abort("connectionreset")


WAYS = {
    **{
        name: fulfilled(name)
        for name in ("error with its number", "gateway", "page", "half an answer")
    },
    **{name: fulfilled(name) for name in ("signed out", "too many")},
    "reset": lambda route: route.abort("connectionreset"),
    "hang": lambda _route: None,
    "lost answers": swallowed,
}


def tried_often(page):
    """Until the page has tried again and again, however long it pauses between."""
    tries = []
    page.on("request", lambda request: tries.append(request.url))
    for _pause in range(40 * TRIES):
        if sum(url.endswith("/scans") for url in tries) >= TRIES:
            return
        page.clock.fast_forward(PAUSE_MS)
        page.wait_for_timeout(20)
    raise AssertionError(f"Tried {len(tries)} times only")


def healed(page):
    """The server is well again, and the page finds out by itself.

    Its pauses are skipped, but not the time in which the server works.
    """
    words, under_way = page.locator("#unsent-words"), set()
    page.on("request", lambda each: under_way.add(each))
    for ended in ("requestfinished", "requestfailed"):
        page.on(ended, lambda each: under_way.discard(each))
    for _pause in range(1000):
        if words.inner_text() == "All on the server":
            return
        if not under_way:
            page.clock.fast_forward(PAUSE_MS)
        page.wait_for_timeout(50)
    settled(page)


def seven_of_bin_twelve(page):
    """The sheet, bin 16 (it asks 12) before the failure; then bin 12, 7, Enter."""
    scan(page, code_of("sheet"), bin_code(16))
    settled(page)
    yield
    scan(page, bin_code(12), "7", ENTER)
    expect(page.locator("#unsent-words")).to_contain_text("3 not sent")


def in_order(scans):
    """As many as were scanned, each once, in the order of their numbers."""
    numbers = list(Scan.objects.order_by("at").values_list("seq", flat=True))
    assert numbers == list(range(1, scans + 1))
    assert ledger.flaws() == []


def all_is_right():
    """In order, and out of the right bins."""
    came = list(Scan.objects.order_by("at").values_list("raw", flat=True))
    assert [raw.upper() for raw in came[2:]] == [bin_code(12), "7", ENTER]
    assert ledger.quantity_in(ledger.bin_numbered(16)) == 80 - 12
    assert ledger.quantity_in(ledger.bin_numbered(12)) == 40 - 7
    assert ledger.flaws() == []


def test_nothing_is_lost_and_all_comes_in_order(bench):
    """Each way in turn: 3 of bin 16 are keyed, it fails, 1 of bin 12 is pulled."""
    words = bench.locator("#unsent-words")
    for number, way in enumerate(WAYS, start=1):
        scan(bench, code_of("sheet"), bin_code(16), "3")
        settled(bench)
        with answering(bench, WAYS[way]):
            scan(bench, bin_code(12), "1", ENTER)
            tried_often(bench)
            expect(words, way).to_contain_text("3 not sent")
            expect(words, way).to_contain_text("kept here, in order")
        healed(bench)
        assert ledger.quantity_in(ledger.bin_numbered(16)) == 80 - 3 * number, way
        assert ledger.quantity_in(ledger.bin_numbered(12)) == 40 - number, way
    in_order(6 * len(WAYS))


SAYS = {
    "error with its number": "The server fails (500, fault 3f9a01bc)",
    "gateway": "The server fails (502)",
    "page": "Something else than the shop answers",
    "too many": "The server does not take scans now (429)",
    "signed out": "You are signed out",
    "reset": "No connection",
}


def test_the_page_says_how_many_wait_and_why(bench):
    words = bench.locator("#unsent-words")
    scanned = 0
    for way, said in SAYS.items():
        with answering(bench, WAYS[way]):
            scan(bench, "7")
            scanned += 1
            bench.locator("#send-now").evaluate("(button) => button.click()")
            expect(words).to_contain_text(f"{scanned} not sent")
            expect(words).to_contain_text(said)


def test_a_server_that_hangs_is_not_waited_for_for_ever(bench):
    with answering(bench, WAYS["hang"]):
        with bench.expect_request(SENDING):
            scan(bench, bin_code(12))
        bench.clock.fast_forward(PAUSE_MS)
        words = bench.locator("#unsent-words")
        expect(words).to_contain_text("The server does not answer")


# Nothing the program asks fits into what is left; of the tests' own database only.
FILL = """CREATE TRIGGER disk_is_full BEFORE INSERT ON inventory_scan
BEGIN INSERT INTO ballast VALUES (zeroblob(64000000)); END"""


@pytest.fixture
def disk():
    """A disk with room for 16 MB more, which every connection of the server meets."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA page_count")
        most = cursor.fetchone()[0] + 4096
        cursor.execute("CREATE TABLE ballast (bytes)")

    def limit(connection, **_more):
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA max_page_count = {most}")

    connection_created.connect(limit)
    yield connection
    connection_created.disconnect(limit)
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER IF EXISTS disk_is_full")
        cursor.execute("DROP TABLE ballast")


def test_a_full_disk_loses_nothing(disk, bench):
    story = seven_of_bin_twelve(bench)
    next(story)
    with disk.cursor() as cursor:
        cursor.execute(FILL)
    next(story, None)
    tried_often(bench)
    fault = re.compile(r"The server fails \(500, fault [0-9a-f]{8}\)")
    expect(bench.locator("#unsent-words")).to_contain_text(fault)
    assert Scan.objects.count() == 2
    with disk.cursor() as cursor:
        cursor.execute("DROP TRIGGER disk_is_full")
    healed(bench)
    in_order(5)
    all_is_right()


def test_the_page_is_opened_anew_while_the_server_fails(bench):
    story = seven_of_bin_twelve(bench)
    next(story)
    with answering(bench, WAYS["gateway"]):
        next(story, None)
        bench.reload()
        bench.wait_for_selector("[data-ready]")
        expect(bench.locator("#unsent-words")).to_contain_text("3 not sent")
        expect(bench.locator("#pending-words")).to_be_hidden()
    healed(bench)
    in_order(5)
    all_is_right()


REFUSED = problem(409, "ledger.bin_retired", detail="Bin 12 was retired: count it.")


def test_a_refused_scan_holds_what_follows_until_it_is_sent_again(bench):
    story = seven_of_bin_twelve(bench)
    next(story)
    with answering(bench, lambda route: route.fulfill(**REFUSED)):
        next(story, None)
        needy = bench.locator(".needy")
        expect(needy).to_contain_text("Needs you. Bin 12 was retired")
        expect(needy).to_contain_text("2 more wait behind it, in order")
        bench.clock.fast_forward(PAUSE_MS)
    words = bench.locator("#unsent-words")
    expect(words).to_contain_text("3 not sent")
    expect(words).to_contain_text("The server refused the first one")
    assert Scan.objects.count() == 2
    needy.get_by_role("button", name="Send it again").click()
    settled(bench)
    expect(needy).to_have_count(0)
    all_is_right()


def test_a_refused_scan_is_taken_out_with_all_that_follows(bench):
    story = seven_of_bin_twelve(bench)
    next(story)
    with answering(bench, lambda route: route.fulfill(**REFUSED)):
        next(story, None)
        bench.get_by_role("button", name="Take all 3 out").click()
        settled(bench)
    assert Scan.objects.count() == 2
    assert ledger.quantity_in(ledger.bin_numbered(16)) == 80
    bench.reload()
    bench.wait_for_selector("[data-ready]")
    needy = bench.locator(".needy")
    expect(needy).to_have_count(3)
    for _code in range(3):
        needy.first.get_by_role("button", name="Scan it again").click()
        bench.clock.fast_forward(900)
    settled(bench)
    expect(needy).to_have_count(0)
    all_is_right()


def test_no_list_is_cut(bench):
    """Sixty scans wait, are refused together, and each is still there to be seen."""
    with answering(bench, lambda route: route.fulfill(**REFUSED)):
        scan(bench, *["7"] * 60)
        words = bench.locator("#unsent-words")
        expect(words).to_contain_text("60 not sent")
        bench.get_by_role("button", name="Take all 60 out").click()
        expect(bench.locator(".needy")).to_have_count(60)


def breaks(page, method):
    """This device's disk is full: nothing is added to it, or taken from it, any more."""
    page.evaluate(
        "(name) => { IDBObjectStore.prototype[name] = () => { throw Error('full'); }; }",
        method,
    )


def opened_anew(page):
    page.reload()
    page.wait_for_selector("[data-ready]")


def test_scans_wait_or_are_taken_out_but_never_both(bench):
    story = seven_of_bin_twelve(bench)
    next(story)
    out = bench.get_by_role("button", name="Take all 3 out")
    with answering(bench, lambda route: route.fulfill(**REFUSED)):
        next(story, None)
        breaks(bench, "delete")
        out.click()
        expect(bench.locator("#loud-words")).to_contain_text("nothing was taken out")
        opened_anew(bench)
        expect(bench.locator("#unsent-words")).to_contain_text("3 not sent")
        out.click()
        settled(bench)
    opened_anew(bench)
    expect(bench.locator(".needy")).to_have_count(3)
    settled(bench)
    assert Scan.objects.count() == 2


def test_what_is_scanned_again_goes_only_when_it_is_kept(bench):
    story = seven_of_bin_twelve(bench)
    next(story)
    needy = bench.locator(".needy")
    with answering(bench, lambda route: route.fulfill(**REFUSED)):
        next(story, None)
        bench.get_by_role("button", name="Take all 3 out").click()
        settled(bench)
    breaks(bench, "add")
    needy.first.get_by_role("button", name="Scan it again").click()
    expect(bench.locator("#loud-words")).to_contain_text("cannot keep scans")
    expect(needy).to_have_count(3)
    opened_anew(bench)
    expect(needy).to_have_count(3)
