"""Plan and stock lists: looked at first, applied as they were looked at."""

import os
import time
from datetime import date
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
    assert sentence(response).startswith("Choose a file, or paste its rows.")


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
    assert "Choose a file, or paste" in refused


PASTED = "Stage\tAssembly\tRivet\tQty\tWhen\nFin\tSkin\tAN426AD3-4\t7\t02/03/2027\n"


def hidden(found):
    """The hidden fields of a preview, as the page sends them on."""
    form = found.context["apply"]
    return {
        name: form[name].value() or "" for name in ("sha256", "name", "list", "told")
    }


def test_a_pasted_list_asks_what_it_must_and_is_imported_once(page):
    found = page.post("/plan/import/", {"pasted": PASTED})
    text = found.content.decode()
    assert "Which column is which?" in text
    assert "Apply" not in text
    refused = page.post("/plan/import/apply/", {**hidden(found), "seen": "x"})
    assert refused.status_code == 409
    matched = {"header-1": "When", "column-1": "start"}
    found = page.post("/plan/import/", {**hidden(found), **matched})
    text = found.content.decode()
    assert "Day or month first?" in text
    assert "1 bad row" in text
    assert "No row could be taken" in text
    assert "holds already" not in text
    found = page.post("/plan/import/", {**hidden(found), "order": "day"})
    text = found.content.decode()
    assert "Line 2, start: &#x27;02/03/2027&#x27; is read as 2027-03-02." in text
    seen = found.context["apply"]["seen"].value()
    done = page.post("/plan/import/apply/", {**hidden(found), "seen": seen})
    assert done.status_code == 302
    stage = Stage.objects.get()
    assert stage.planned_start == date(2027, 3, 2)
    assert Need.objects.get().each == 7


def test_what_was_pasted_survives_a_refusal_and_strange_words_are_not_heard(page):
    found = page.post("/plan/import/", {"pasted": "neither\tthis\n1\t2\n"})
    assert found.status_code == 400
    assert "neither\tthis" in found.content.decode()
    found = page.post("/plan/import/", {"pasted": PASTED})
    for told in (
        "nonsense",
        "[1, 2]",
        "[true, {}, 1, 2]",
        '[true, {"When": "DROP"}, true]',
    ):
        again = page.post("/plan/import/", {**hidden(found), "told": told})
        assert "Which column is which?" in again.content.decode()


def test_matched_columns_are_remembered_when_they_were_imported(page):
    def looked(text):
        return page.post("/plan/import/", {"pasted": text})

    rows = "Stage\tAssembly\tRivet\tQty\tWhen\nFin\tSkin\tAN426AD3-4\t7\t2027-03-02\n"
    found = looked(rows)
    matched = {"header-1": "When", "column-1": "start"}
    found = page.post("/plan/import/", {**hidden(found), **matched})
    assert "Which column" in looked(rows).content.decode()
    seen = found.context["apply"]["seen"].value()
    page.post("/plan/import/apply/", {**hidden(found), "seen": seen})
    again = looked(rows.replace("\t7\t", "\t9\t"))
    text = again.content.decode()
    assert "Which column" not in text
    assert "is read as &#x27;start&#x27;" in text
    # A match that was wrong is asked about anew.
    fields = {**hidden(again), "anew": "yes"}
    assert "Which column" in page.post("/plan/import/", fields).content.decode()


def test_a_name_taken_for_the_wrong_column_is_put_right_and_stays_so(page):
    rows = "Stage\tAssembly\tRivet\tQty\tcount\nFin\tSkin\tAN426AD3-4\t7\t90\n"
    found = page.post("/plan/import/", {"pasted": rows})
    assert "Two columns would be &#x27;each&#x27;." in found.content.decode()
    found = page.post("/plan/import/", {**hidden(found), "anew": "yes"})
    asked = found.context["found"].table.unknown
    assert asked == ["Rivet", "Qty", "count"]
    means = dict(zip(asked, ("callout", "", "each"), strict=True))
    said = {}
    for at, (name, column) in enumerate(means.items()):
        said |= {f"header-{at}": name, f"column-{at}": column}
    found = page.post("/plan/import/", {**hidden(found), **said})
    seen = found.context["apply"]["seen"].value()
    page.post("/plan/import/apply/", {**hidden(found), "seen": seen})
    assert Need.objects.get().each == 90
    again = page.post("/plan/import/", {"pasted": rows.replace("90", "91")})
    assert "91" in again.content.decode().split("change</h2>")[1][:300]
