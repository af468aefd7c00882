"""A fault leaves its trace: the number in the answer is the number in the log."""

import logging
import re
import subprocess
import sys

import pytest
from django.conf import settings as shop_settings
from django.test import Client

from inventory.web.views import bins as bin_pages

PAGE = re.compile(r"fault <code>([0-9a-f]{8})</code>")


class Broken(Exception):
    """What nobody meant."""


def breaks(*_args, **_named):
    """Stands in for what a view calls."""
    raise Broken("the saw stands still")


@pytest.fixture
def browser(owner):
    """The owner's browser; a fault is answered, as the server does."""
    client = Client(raise_request_exception=False)
    client.force_login(owner)
    return client


def trace(caplog):
    """The one record of a fault."""
    (row,) = (row for row in caplog.records if row.name == "inventory.config.faults")
    assert row.levelno == logging.ERROR
    assert row.exc_info[0] is Broken
    return row.getMessage()


@pytest.mark.django_db
def test_a_page_that_fails_carries_the_number_of_its_trace(
    browser, monkeypatch, caplog
):
    monkeypatch.setattr(bin_pages.ledger, "bins_listed", breaks)

    answer = browser.get("/bins/?q=12")

    assert answer.status_code == 500
    (number,) = PAGE.findall(answer.content.decode())
    assert answer["Fault"] == number
    said = trace(caplog)
    assert f"Fault {number}: GET '/bins/'" in said
    assert "'marlow'" in said


@pytest.mark.django_db
def test_a_page_around_a_fault_has_its_rules(browser, monkeypatch):
    monkeypatch.setattr(bin_pages.ledger, "bins_listed", breaks)

    answer = browser.get("/bins/")

    assert "default-src 'none'" in answer["Content-Security-Policy"]
    assert answer["Cache-Control"] == "no-store"


@pytest.mark.django_db
def test_what_every_page_shows_may_fail_too(browser, monkeypatch, caplog):
    monkeypatch.setattr("inventory.web.context.shown_alerts", breaks)

    answer = browser.get("/nowhere/")

    assert answer.status_code == 500
    (number,) = PAGE.findall(answer.content.decode())
    assert f"Fault {number}: GET '/nowhere/'" in trace(caplog)


def test_the_page_of_a_fault_needs_no_database(caplog):
    """Here no database may be asked: whoever comes with a session meets a fault."""
    client = Client(raise_request_exception=False)
    client.cookies["sessionid"] = "of an earlier day"

    answer = client.get("/bins/")

    assert answer.status_code == 500
    (number,) = PAGE.findall(answer.content.decode())
    (row,) = (row for row in caplog.records if row.name == "inventory.config.faults")
    assert number in row.getMessage()
    assert "asked by nobody known" in row.getMessage()


@pytest.mark.slow
def test_the_server_writes_the_trace_where_its_errors_go(tmp_path):
    """A shop without tables, asked as the web server asks it, by its own settings."""
    code = (
        "from inventory.config.wsgi import application\n"
        "from django.test import Client\n"
        "client = Client(raise_request_exception=False, SERVER_NAME='localhost')\n"
        "client.cookies['sessionid'] = 'of an earlier day'\n"
        "print(client.get('/bins/')['Fault'])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=shop_settings.ROOT,
        env={"GRIPCOUNT_DATA": str(tmp_path), "PATH": ""},
        capture_output=True,
        text=True,
        check=True,
    )
    number = done.stdout.strip()
    assert re.fullmatch("[0-9a-f]{8}", number)
    assert f"ERROR Fault {number}: GET '/bins/'" in done.stderr
    assert "no such table" in done.stderr
    assert done.stderr.count(number) == 1
