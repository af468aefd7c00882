"""Pictures in a real browser: no letters over letters, none cut off, and in the dark."""

from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.catalog.models import Item
from inventory.forecasting.queries.pictures import (
    HeldBy,
    LeftAfter,
    LengthStock,
    Parcel,
    PoolDays,
    RunOut,
    SpoilageDays,
    SpoiltAt,
)
from inventory.forecasting.rules.bitlife import BitLife
from inventory.planning.actions import importing
from inventory.planning.models import Assembly
from inventory.web.pictures import charts
from tests.browser import open_page

pytestmark = [pytest.mark.browser, pytest.mark.slow]

TODAY = date(2027, 1, 4)
LOOK = Path(charts.__file__).parents[1] / "static" / "look.css"


def day(number):
    return TODAY + timedelta(days=number)


def fan(ends, most):
    """Stages that end on these days, and a parcel just before each."""
    left = [most - most * number // len(ends) for number in range(1, len(ends) + 1)]
    rows = [
        LeftAfter(
            "Empennage", day(end), tuple(here - gap for gap in (90, 30, 0, -9, -12)), 0
        )
        for end, here in zip(ends, left, strict=True)
    ]
    return charts.fan("3/32 flush", RunOut(TODAY, most, [Parcel(day(1), most)], rows))


def pool(count, length, owned):
    """So many assemblies with long names, one after another and at once."""
    by = [
        HeldBy(
            Assembly(name=f"Horizontal stabilizer, right skin {number}"),
            900 + number,
            day(number * length // 3),
            day(number * length // 3 + length),
        )
        for number in range(count)
    ]
    held = [(each.start, each.quantity) for each in by] + [(by[-1].end, 0)]
    return charts.pool(PoolDays("3/32", owned, held, by))


def lengths():
    return charts.neighbours(
        [
            LengthStock(
                Item(pk=number, words="1/8 universal reduced head 2117, 17/32 long"),
                *(12_345, 99_000, 2_500, -1_200),
            )
            for number in range(5)
        ],
        here=2,
    )


def bits():
    return [
        (SimpleNamespace(number=number, item=SimpleNamespace(size="#40")), holes)
        for number, holes in ((1, 0.0), (2, 240.0), (3, 4_000.0))
    ]


PICTURES = {
    "a fan": lambda: fan([30, 60, 90, 200], 400),
    "a fan of many stages at once": lambda: fan([2, 3, 4, 5, 6, 7, 300], 999_999),
    "a fan of one day": lambda: fan([0], 3),
    "a fan below nothing": lambda: fan([400, 1500], -50),
    "a pool": lambda: pool(5, 20, 200),
    "a pool of thirty assemblies": lambda: pool(30, 9, 12_000),
    "a pool of one day": lambda: pool(1, 1, 0),
    "wear": lambda: charts.wear(bits(), BitLife()),
    "lengths": lengths,
    "spoilage": lambda: charts.spoilage(
        SpoilageDays(
            "3/32 flush", 0.012, [SpoiltAt(day(n), 300, n) for n in (1, 2, 90)]
        ),
        day(95),
    ),
    "spoilage of one day": lambda: charts.spoilage(
        SpoilageDays("nut", 0.0004, [SpoiltAt(TODAY, 30_000, 1)]), TODAY
    ),
    "parcels": lambda: charts.parcels(
        [
            {
                "name": "Fernhollow Fasteners and Sheet Metal Supply",
                "goods": "12345.67",
                "shipping": "1234.50",
                "hazard_fee": "40.00",
                "total": "13620.17",
            }
        ]
        * 3,
        "EUR",
    ),
}

# What stands where: of the pictures that show, every word's box, and its own picture's.
BOXES = """() => [...document.querySelectorAll("svg")].filter((one) => one.clientWidth)
  .map((one) => [one, ...one.querySelectorAll("text")].map((each) => {
    const { left, right, top, bottom } = each.getBoundingClientRect();
    return { left, right, top, bottom, words: each.textContent };
  }))"""


def over(one, other):
    """Whether two words lie over each other by more than a hair."""
    across = min(one["right"], other["right"]) - max(one["left"], other["left"])
    down = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
    return across > 1 and down > 2


@pytest.fixture
def sheet(live_server, owner):
    """Puts a picture on an empty page of a width, and gives the boxes of its words."""
    with open_page(live_server, owner) as page:

        def show(picture, width):
            page.set_viewport_size({"width": width, "height": 900})
            inside = "".join(picture.sizes)
            page.set_content(
                f"<style>{LOOK.read_text()}</style><main><section class='card'>"
                f"<figure class='picture'>{inside}</figure></section></main>"
            )
            (found,) = page.evaluate(BOXES)
            return found

        yield show, page


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("width", [360, 768, 1280])
def test_no_letter_lies_over_another_or_is_cut_off(sheet, width):
    show, _page = sheet
    wrong = []
    for name, drawn in PICTURES.items():
        whole, *words = show(drawn(), width)
        assert len(words) > 2, name
        if name == "lengths":
            assert "counts found 1,200 missing" in {one["words"] for one in words}
        for at, one in enumerate(words):
            inside = (
                one["left"] >= whole["left"] - 1 and one["right"] <= whole["right"] + 1
            )
            high = (
                one["top"] >= whole["top"] - 1 and one["bottom"] <= whole["bottom"] + 1
            )
            if not (inside and high):
                wrong.append((name, "cut off", one["words"]))
            wrong += [
                (name, one["words"], other["words"])
                for other in words[at + 1 :]
                if over(one, other)
            ]
    assert not wrong, "\n".join(map(str, wrong))


INK = """() => [...document.querySelectorAll("svg.narrow text, svg.narrow path")]
  .map((each) => [getComputedStyle(each).fill, getComputedStyle(each).stroke])"""


@pytest.mark.django_db(transaction=True)
def test_in_the_dark_and_on_paper_it_has_the_pages_own_colours(sheet):
    show, page = sheet
    drawn, seen = fan([30, 60], 400), {}
    for light in ("light", "dark"):
        page.emulate_media(color_scheme=light)
        show(drawn, 360)
        seen[light] = page.evaluate(INK)
    page.emulate_media(color_scheme="dark", media="print")
    show(drawn, 360)
    assert page.evaluate(INK) == seen["light"]
    changed = [a != b for a, b in zip(seen["light"], seen["dark"], strict=True)]
    assert sum(changed) > len(changed) / 2
    assert {"rgb(11, 74, 117)", "rgb(140, 200, 242)"} <= {
        colour for rows in seen.values() for row in rows for colour in row
    }


@pytest.mark.django_db(transaction=True)
def test_a_mark_says_what_it_is_by_key_by_touch_and_by_mouse(
    live_server, owner, now, rivets
):
    today = timezone.localdate()
    text = "stage,start,assembly,callout,each\n" + "".join(
        f"{stage},{today + timedelta(days=days)},Skin,AN426AD3-3.5,10\n"
        for stage, days in (("Fin", 20), ("Rudder", 60))
    )
    found = importing.preview(name="plan.csv", data=text.encode())
    importing.apply(found=found, by=owner, now=now)
    with open_page(live_server, owner, has_touch=True) as page:
        where = reverse("item-run-out", args=[rivets.item_id])
        page.goto(live_server.url + where)
        said, marks = page.locator(".says"), page.locator("svg.narrow .mark")
        assert said.inner_text() == "Point at a mark, or press it."
        marks.nth(0).focus()
        assert said.inner_text().startswith("1: Fin ends")
        page.keyboard.press("Tab")
        assert said.inner_text().startswith("2: Rudder ends")
        marks.nth(0).tap()
        assert said.inner_text().startswith("1: Fin ends")
        marks.nth(1).hover()
        assert said.inner_text().startswith("2: Rudder ends")
        box = marks.nth(0).bounding_box()
        assert min(box["width"], box["height"]) >= 24
