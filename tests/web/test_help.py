"""A help page for every page that a person looks at, on one screen of a phone."""

import pytest
from django.template.loader import get_template
from django.urls import reverse

from inventory.web.helping import HELP, MOST_WORDS
from tests.web.test_doors import NAMES

# What is no page of its own: files, pictures, answers to a press, ways in.
NO_PAGE = """first health health-worker sign-in sign-out bench-pair bench-offline help label label-small plan-example
plan-csv plan-xlsx list-csv list-xlsx archive lot-print stock-example offers-example shopping-csv supplier-csv photograph cards tray-sheet
assembly-sheet log-print log-read log-read-print log-read-photograph"""
# What only takes a form that stands on another page.
PRESSED = """steps-letter steps-over plan-apply change-back list-drop list-name stage-new stage-name
stage-copy stage-split stage-drop assembly-new assembly-change assembly-lines assembly-ask
assembly-drill assembly-seam assembly-copy assembly-split assembly-drop assembly-move
stage-date stage-skip stage-move photograph-in assembly-instead assembly-reopen act-undo
bin-book bin-look bin-move lent-until bin-retire bin-use bin-change stock-apply item-name item-really
item-names item-unname item-change-back item-weigh teach bit-event bit-event-back
order-plan-cancel order-plan-orders offer-new offer-drop offers-apply order-expect order-back
line-new line-drop line-wait line-change alert-seen alert-snooze backup-now wording-set own-password own-sign-in-end letter-test
record-mend device-new device-revoke person-new person-role person-password person-leave
sign-in-end log-link-new log-link-end"""


def test_every_page_has_help_and_no_help_is_without_its_page():
    pages = set(NAMES) - set(NO_PAGE.split()) - set(PRESSED.split())
    assert pages == HELP.keys()


@pytest.mark.parametrize("name", HELP)
def test_a_page_of_help_is_one_screen(name):
    text = " ".join((HELP[name].title, HELP[name].purpose, *HELP[name].steps))
    assert 5 < len(text.split()) <= MOST_WORDS
    assert all(
        each.endswith((".", "!")) for each in (HELP[name].purpose, *HELP[name].steps)
    )


def test_each_page_leads_to_its_help(page, db):
    for name in ("home", "bins", "orders", "settings"):
        text = page.get(reverse(name)).content.decode()
        assert reverse("help", args=[name]) in text
    shown = page.get(reverse("help", args=["bins"])).content.decode()
    assert HELP["bins"].purpose in shown
    assert page.get("/help/nothing/").status_code == 404
    assert get_template("help.html")
