"""Plan and stock lists: looked at first, applied as they were looked at."""

import os
import time
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory.ledger.queries import bin_numbered, bins, quantity_in
from inventory.planning.models import Need, Stage
from tests.web.conftest import PLAN, Said


def file(data: bytes, name: str = "plan.csv") -> SimpleUploadedFile:
    """A file as a browser sends it."""
    return SimpleUploadedFile(name, data)


def fields(response: Any) -> dict[str, str]:
    """What the 'apply' form of a preview carries."""
    return dict(response.context["apply"].initial)


@pytest.mark.slow
def test_a_plan_is_looked_at_first_and_then_applied(page: Client) -> None:
    looked = page.post(reverse("plan-import"), {"file": file(PLAN)})

    assert looked.status_code == 200
    assert b"new stage: Fin" in looked.content
    assert not Stage.objects.exists()

    applied = page.post(reverse("plan-apply"), fields(looked), follow=True)

    assert b"changes made" in applied.content
    assert list(Stage.objects.values_list("name", flat=True)) == ["Fin", "Rudder"]
    assert page.post(reverse("plan-apply"), fields(looked)).status_code == 404


def test_bad_rows_are_named_and_stop_the_import(page: Client, sentence: Said) -> None:
    bad = PLAN + b"Rudder,,Frame,1,AN470AD4-5,many,,\n"
    looked = page.post(reverse("plan-import"), {"file": file(bad)})
    assert b"bad row" in looked.content
    assert b"many" in looked.content

    stopped = page.post(reverse("plan-apply"), fields(looked))

    assert stopped.status_code == 400
    assert "1 rows cannot be taken" in sentence(stopped)
    assert not Stage.objects.exists()

    rest = {**fields(looked), "good_rows_only": "on"}
    assert page.post(reverse("plan-apply"), rest).status_code == 302
    assert Need.objects.count() == 3


@pytest.mark.slow
def test_a_preview_that_is_no_longer_true_is_not_applied(
    page: Client, sentence: Said
) -> None:
    looked = page.post(reverse("plan-import"), {"file": file(PLAN)})
    other = page.post(
        reverse("plan-import"), {"file": file(b"\n".join(PLAN.splitlines()[:2]))}
    )
    page.post(reverse("plan-apply"), fields(other))
    assert Need.objects.count() == 1

    stopped = page.post(reverse("plan-apply"), fields(looked))

    assert stopped.status_code == 409
    assert "changed since you looked" in sentence(stopped)
    assert Need.objects.count() == 1


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"\x00\x01" * 50, "neither CSV nor XLSX"),
        (b"a,b\n1,2\n", "column"),
    ],
)
def test_a_file_that_is_no_plan_is_refused(
    page: Client, sentence: Said, data: bytes, said: str
) -> None:
    response = page.post(reverse("plan-import"), {"file": file(data)})

    assert response.status_code == 400
    assert said in sentence(response)


def test_no_file_at_all_is_refused(page: Client, sentence: Said) -> None:
    response = page.post(reverse("stock-import"), {})

    assert response.status_code == 400
    assert sentence(response).startswith("File (CSV or XLSX): ")


def test_an_upload_is_never_read_from_elsewhere(page: Client) -> None:
    asked = {"sha256": "../../etc/passwd", "name": "x", "seen": "y"}

    assert page.post(reverse("plan-apply"), asked).status_code == 400


@pytest.mark.slow
def test_the_stock_example_can_be_imported_as_it_is(page: Client) -> None:
    example = page.get(reverse("stock-example"))
    looked = page.post(
        reverse("stock-import"), {"file": file(example.content, "stock.csv")}
    )
    assert bins() == []

    page.post(reverse("stock-apply"), fields(looked))

    assert quantity_in(bin_numbered(1)) == 1400


def test_old_uploads_are_forgotten(page: Client, settings: Any) -> None:
    page.post(reverse("plan-import"), {"file": file(PLAN)})
    (kept,) = (settings.DATA / "uploads").iterdir()
    old = time.time() - 2 * 86400
    os.utime(kept, (old, old))

    page.post(reverse("plan-import"), {"file": file(PLAN + b"\n")})

    assert not kept.exists()


@pytest.mark.parametrize("what", ["plan", "stock", "offers"])
def test_an_import_page_complains_of_nothing_before_a_file_was_sent(page, what):
    opened = page.get(f"/{what}/import/").content.decode()
    assert "errorlist" not in opened
    refused = page.post(f"/{what}/import/").content.decode()
    assert "This field is required" in refused
