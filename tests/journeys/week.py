"""A week at a shop's pages, pressed by one person: what is done, and what goes wrong.

Every slip is mended where a builder mends it: by the button that the page has for it.
"""

import re
from datetime import timedelta

from playwright.sync_api import expect

from inventory.ledger.models import Act
from inventory.ordering.models import Order
from tests.journeys.pressing import card, opened, says, send

WORK = {
    "count": "count: it holds",
    "pull": "pull: so many come out",
    "return": "return: so many go back in",
    "scrap": "scrap: so many are spoiled",
}
SPAR, SKIN = "Fin / Spar", "Fin / Skin"
RIVET = "MS20426AD3-3.5"


class Week:
    """One person, one page, one shop."""

    def __init__(self, page, url, today):
        self.page, self.url, self.today = page, url, today
        self.later = today + timedelta(days=30)

    def go(self, address):
        self.page.goto(f"{self.url}{address}")

    def sure(self, button, **fields):
        """Send a form; what the shop doubts is right, says whoever made the slip."""
        send(self.page, button, **fields)
        self.page.wait_for_load_state()
        sure = self.page.get_by_label("It is right")
        if sure.count():
            sure.first.check()
            form = card(self.page, button).filter(has=sure)
            form.get_by_role("button", name=button, exact=True).click()
        expect(self.page.locator(".band.stop")).to_have_count(0)
        expect(self.page.locator(".band.taken").first).to_be_visible()

    def work(self, number, what, quantity, at=None):
        """At a bin's page; the act that it became."""
        self.go(f"/bins/{number}/")
        told = {"What": WORK[what], "How_many": str(quantity)}
        where = {"For_which_assembly": at} if at else {}
        self.sure("Book it", **told, **where)
        return number, Act.objects.latest("pk")

    def receive(self, number, pieces, lot="", order=None):
        """At a bin's page, of no order; or at an order's, for its only line."""
        if order:
            self.go(f"/orders/{order}/")
            self.page.locator("section").get_by_role("link", name="Receive").click()
            self.sure("Receive", Pieces_counted=str(pieces), Lot=lot)
        else:
            self.go(f"/bins/{number}/")
            self.page.get_by_role("link", name="Receive into it").click()
            whose = {"Of_which_order": "no order", "Without_an_order": "Hangar supply"}
            self.sure("Receive", Pieces_counted=str(pieces), Lot=lot, **whose)
        return number, Act.objects.latest("pk")

    def order(self, expected_on):
        """Two packs of 250, noted by hand."""
        self.go("/orders/new/")
        line = self.page.locator("fieldset", has_text="Line 1")
        line.get_by_label("Callout, or name").fill(RIVET)
        line.get_by_label("Packs").fill("2")
        line.get_by_label("Pieces a pack").fill("250")
        days = {"Placed_on": self.today, "Expected_on": expected_on}
        iso = {label: day.isoformat() for label, day in days.items()}
        self.sure("Note the order", Supplier="Hangar supply", **iso)
        return Order.objects.latest("pk").number

    def back(self, done, *, where="/bins/{}/", button="Take it back"):
        """The button beside an act, on the page of its bin."""
        number, act = done
        self.go(where.format(number))
        beside = self.page.locator(f"form[action='/acts/{act.pk}/undo/']")
        beside.get_by_role("button", name=button).click()
        expect(self.page.locator(".band.taken").first).to_be_visible()

    def press(self, address, button, **fields):
        """A form of a page."""
        self.go(address)
        self.sure(button, **fields)


def honest(week, slips):
    """What is really done; between it, `slips` may happen."""
    pull_at_the_bench(week)
    next(slips)
    leave_the_bench(week)
    week.order(week.later)
    next(slips)
    week.work(13, "pull", 40, SKIN)
    week.work(13, "scrap", 2, SKIN)
    next(slips)
    week.work(12, "count", 268)
    next(slips)
    week.receive(13, 100, lot="K-1")
    week.work(12, "pull", 20, SPAR)
    next(slips)


def none_at_all():
    while True:
        yield


def twenty_four(week):
    """The slips, some mended at once, some at the end of the week."""
    late = []
    for part in (at_the_bench, of_orders, of_counts, of_the_plan):
        part(week, late)
        yield
    of_tins_and_lots(week, late)
    for done in late:
        week.back(done)
    yield


def typed(page, text):
    """At the bench, as a scanner sends it."""
    page.keyboard.type(text, delay=3)
    page.keyboard.press("Enter")


def confirm(page):
    """As slowly as a hand: the bench takes two presses at once for a glove that bounced."""
    page.wait_for_timeout(600)
    page.get_by_role("button", name="Confirm").click()


def kept(page):
    expect(page.locator("#unsent-words")).to_have_text("All on the server")


def pull_at_the_bench(week):
    """The evening's first rivets."""
    page = week.page
    week.go("/bench/")
    page.wait_for_selector("[data-ready]")
    opened(page, "Choose an assembly")
    page.get_by_role("button", name=SPAR).click()
    expect(page.locator("#flash-words")).to_contain_text(f"Working on {SPAR}")
    typed(page, "bin 12")
    typed(page, "30")
    confirm(page)
    expect(page.locator("#flash-words")).to_contain_text("Pulled 30")
    kept(page)


def leave_the_bench(week):
    week.page.get_by_role("button", name="Leave").click()
    expect(week.page.locator("#where")).to_contain_text("no assembly is open")
    kept(week.page)


def at_the_bench(week, late):
    """Ten times too many; the tin beside."""
    page = week.page
    words = page.locator("#flash-words")
    typed(page, "bin 12")
    typed(page, "3000")  # 1: for 30, asked about, and confirmed all the same
    confirm(page)
    expect(words).to_contain_text("is that right?")
    page.get_by_role("button", name="Seen").click()
    confirm(page)
    expect(words).to_contain_text("Pulled 3,000")
    page.get_by_role("button", name="Seen").click()
    page.get_by_role("button", name="Undo last").click()
    expect(words).to_contain_text("It was: pull of bin 12")
    typed(page, "bin 13")  # 2: the tin beside, and the loud stop is closed
    expect(page.locator("#loud")).to_be_visible()
    page.get_by_role("button", name="Seen").click()
    page.get_by_role("button", name="spare").click()
    typed(page, "30")
    confirm(page)
    expect(words).to_contain_text("Pulled 30")
    kept(page)
    late.append((13, Act.objects.latest("pk")))


def of_orders(week, late):
    """99,999 came, the wrong assembly, noted twice, the wrong line, another's parcel."""
    late.append(week.receive(12, 99_999))  # 3: a code read as a number
    pulled = week.work(12, "pull", 60, SKIN)  # 4: for the wrong assembly
    week.back(pulled, where="/acts/")
    page, twice = week.page, week.order(week.today)
    week.press(f"/orders/{twice}/", "It was never placed")  # 5
    week.press("/orders/1/", "Stop waiting for the rest")  # 6: of the wrong line
    week.press("/orders/1/", "Wait for it again")
    for packs in ("20", "2"):  # 7
        week.go("/orders/1/")
        opened(page, "Change this line")
        week.sure("Keep the line", Packs=packs)
    late.append(week.receive(12, 500, order=1))  # 8
    week.press("/orders/1/", "Keep the day", Expected_on=week.today.isoformat())  # 9
    week.press("/orders/1/", "Keep the day", Expected_on=week.later.isoformat())


def of_counts(week, late):
    """An empty tin with its number, ten times too much, what never came back."""
    late.append(week.work(12, "count", 0))  # 10
    week.back(week.work(13, "scrap", 40, SKIN), where="/acts/")  # 11: for 4
    late.append(week.work(13, "return", 12, SKIN))  # 12
    late.append(week.work(14, "count", 4))  # 13: for 40
    late.append(week.work(14, "pull", 3))  # 14: the neighbour's
    week.go("/bins/13/weigh/")  # 15: the sample was counted wrongly
    scale = {"Pieces_in_the_sample": "100", "They_weigh": "8"}
    tins = {"The_full_tin_weighs": "60", "The_empty_tin_weighs": "30"}
    send(week.page, "Weigh", **scale, **tins)
    book = week.page.get_by_role("button", name=re.compile(r"Book .* as counted"))
    week.page.wait_for_load_state()
    book.click()
    week.page.wait_for_load_state()
    sure = week.page.get_by_label("It is right")
    if sure.count():
        sure.check()
        book.click()
    expect(week.page.locator(".balance")).to_be_visible()
    late.append((13, Act.objects.latest("pk")))


def of_the_plan(week, late):
    """The wrong stage, another's date, closed too early, a line too much."""
    page = week.page
    week.go("/plan/")
    page.get_by_role("link", name="Wing").first.click()
    stage = page.url.removeprefix(week.url)
    start = page.get_by_label("New start").input_value()
    week.press(stage, "Skip this stage")  # 16
    week.press(stage, "Put back in the plan")
    week.press(stage, "Keep the date", New_start=week.today.isoformat())  # 17
    week.press(stage, "Keep the date", New_start=start)
    week.go("/plan/")
    page.get_by_role("link", name="Fin").first.click()
    page.get_by_role("link", name="Skin").first.click()
    skin = page.url.removeprefix(week.url)
    page.get_by_role("link", name="Close it").click()  # 18
    send(page, "Close it")
    page.wait_for_load_state()
    week.press(skin, "Reopen", Why="the neighbour's")
    week.go(skin)
    page.get_by_role("link", name="Change what it asks").click()
    send(page, "Add it", Callout="AN3-5A", How_many_each="40")  # 19
    says(page, "AN3-5A, 40 each")
    week.go("/plan/history/")
    page.get_by_role("button", name=re.compile("Take it back")).first.click()
    page.get_by_role("button", name="Change the plan").click()
    says(page, "Taken back")


def of_tins_and_lots(week, late):
    """Another friend's tin, another lot, a nought, a tin retired, taken back too soon."""
    page = week.page
    lent = {"What": "lend out of this bin", "Whom": "Juniper", "How_many": "40"}
    week.press("/bins/13/lend/", "Note it", **lent)  # 20
    late.append((13, Act.objects.latest("pk")))
    late.append(week.receive(13, 50, lot="K-9"))  # 21
    week.press("/bins/13/", "Keep", Spot="rack 9", Keep_level="5000")  # 22
    week.press("/bins/13/", "Keep", Spot="", Keep_level="")
    week.go("/bins/14/")
    opened(page, "Retire this bin")
    page.get_by_label("What is left by the record is gone").check()
    send(page, "Retire it")  # 23
    says(page, "Bin 14 is retired")
    late.append((14, Act.objects.latest("pk")))
    page.get_by_role("link", name="Retired").click()
    page.locator("main").get_by_role("link", name=re.compile("^14")).click()
    send(page, "Use it again")
    says(page, "Bin 14")
    gone = week.work(12, "pull", 500, SPAR)  # 24: beyond all
    week.back(gone)
    week.back(gone, button="Put in force again")  # and mended too soon
    late.append((12, Act.objects.filter(verb="pull").latest("pk")))
