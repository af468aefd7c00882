"""The close-up and the record, as pages."""

import io
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils.timezone import localtime
from PIL import Image

from inventory.ledger.actions import verbs
from inventory.ledger.actions.posting import Ask
from inventory.models import Lot, Photograph
from inventory.planning.actions import working
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly


@pytest.mark.slow
def test_look_close_print_and_photograph(page, spar, owner, now):
    place_to_pull_for(assembly=spar, by=owner, now=now)
    looked = page.get(reverse("close-up", args=[spar.pk]))
    assert b"under" in looked.content
    answer = page.post(
        reverse("close-up", args=[spar.pk]), {"note": "Deburred."}, follow=True
    )
    assert b"What went into Spar" in answer.content
    assert b"Deburred." in answer.content
    assert Assembly.objects.get(pk=spar.pk).state == "closed"
    out = io.BytesIO()
    Image.new("RGB", (60, 40), (9, 90, 200)).save(out, "PNG")
    photo = SimpleUploadedFile("a.png", out.getvalue(), "image/png")
    sent = {"photo": photo, "caption": "Left side"}
    answer = page.post(reverse("photograph-in", args=[spar.pk]), sent, follow=True)
    assert b"Left side" in answer.content
    kept = Photograph.objects.get()
    shown = page.get(reverse("photograph", args=[kept.pk]))
    assert shown["Content-Type"] == "image/jpeg"
    assert b"".join(shown.streaming_content)[:2] == b"\xff\xd8"


@pytest.mark.slow
def test_the_papers_of_a_lot_are_photographed_and_shown_with_the_record(
    page, spar, rivets, owner, now, tmp_path
):
    out = io.BytesIO()
    Image.new("RGB", (60, 40), (90, 9, 200)).save(out, "PNG")
    sent = {
        "scan_id": "01920000-0000-7000-8000-000000000001",
        "supplier": "Field supply",
        "bin": rivets.number,
        "pieces": "20",
    }
    address = reverse("receive-bin", args=[rivets.number])

    def photo():
        return SimpleUploadedFile("a.png", out.getvalue(), "image/png")

    refused = page.post(address, {**sent, "photo": photo()})
    assert b"Name the lot that the certificate is of" in refused.content
    no_picture = SimpleUploadedFile("a.png", b"no pixels", "image/png")
    refused = page.post(address, {**sent, "lot": "R-9", "photo": no_picture})
    assert refused.status_code == 400
    assert not Lot.objects.exists()
    answer = page.post(address, {**sent, "lot": "R-9", "photo": photo()}, follow=True)
    assert b"Its certificate" in answer.content
    place = place_to_pull_for(assembly=spar, by=owner, now=now)
    verbs.pull(bin=rivets, quantity=5, to=place, ask=Ask(by=owner, now=now))
    shown = page.get(reverse("assembly-record", args=[spar.pk]))
    assert b"Certificates of the lots" in shown.content
    kept = Photograph.objects.get()
    assert kept.lot.name == "R-9"
    assert reverse("photograph", args=[kept.pk]).encode() in shown.content
    lot = page.get(reverse("lot", args=[kept.lot_id]))
    for words in (b"bin 12", b"Spar", b"Certificate of lot R-9"):
        assert words in lot.content
    Image.new("RGB", (60, 40), (9, 200, 9)).save(second := io.BytesIO(), "PNG")
    later = SimpleUploadedFile("b.png", second.getvalue(), "image/png")
    sent = {"photo": later, "caption": "Test sheet"}
    answer = page.post(reverse("lot", args=[kept.lot_id]), sent, follow=True)
    assert b"Test sheet" in answer.content
    assert kept.lot.photographs.count() == 2


def test_what_is_no_picture_is_not_kept(page, spar):
    sent = {"photo": SimpleUploadedFile("a.jpg", b"no pixels at all")}
    answer = page.post(reverse("photograph-in", args=[spar.pk]), sent)
    assert answer.status_code == 400
    assert not Photograph.objects.exists()


@pytest.mark.django_db
def test_every_closing_and_reopening_stays_in_sight_in_order(page, owner, spar, now):
    day = iter(range(1, 9))

    def at():
        return now + timedelta(days=next(day))

    place_to_pull_for(assembly=spar, by=owner, now=at())
    spar.refresh_from_db()
    first = working.close(assembly=spar, by=owner, now=at(), note="Looked inside.")
    spar.refresh_from_db()
    working.reopen(assembly=spar, by=owner, now=at(), note="A rivet sits high.")
    spar.refresh_from_db()
    working.close(assembly=spar, by=owner, now=at(), note="Set anew.")
    for address in (f"/assemblies/{spar.pk}/", f"/assemblies/{spar.pk}/record/"):
        seen = page.get(address).content.decode().split("Closed and reopened")[1]
        places = [
            seen.index(words)
            for words in ("Set anew.", "A rivet sits high.", "Looked inside.")
        ]
        assert places == sorted(places)
    old = page.get(f"/assemblies/{spar.pk}/record/?closing={first.pk}").content.decode()
    assert f"Closed {localtime(first.at):%-d %b %Y}" in old
    page.post(f"/assemblies/{spar.pk}/reopen/", {"note": "Once more"})
    assert "Once more" in page.get(f"/assemblies/{spar.pk}/").content.decode()
    assert page.post(f"/assemblies/{spar.pk}/reopen/").status_code == 409


@pytest.mark.django_db
def test_a_reason_too_long_to_keep_is_not_cut(page, owner, spar, now):
    place_to_pull_for(assembly=spar, by=owner, now=now)
    spar.refresh_from_db()
    working.close(assembly=spar, by=owner, now=now)
    answer = page.post(f"/assemblies/{spar.pk}/reopen/", {"note": "x" * 401})
    assert (answer.status_code, b"over 400 characters" in answer.content) == (400, True)
    assert not spar.reopenings.exists()
    page.post(f"/assemblies/{spar.pk}/reopen/", {"note": "x" * 400})
    assert spar.reopenings.get().note == "x" * 400


@pytest.mark.django_db
def test_where_only_zeros_stand_the_page_says_that_nothing_does(
    page, spar, rivets, owner, now, ask
):
    spar.needs.all().delete()
    place = place_to_pull_for(assembly=spar, by=owner, now=now)
    verbs.pull(bin=rivets, quantity=5, to=place, ask=ask())
    verbs.give_back(bin=rivets, quantity=5, from_=place, ask=ask())
    assert (
        "Nothing was drawn or pulled."
        in page.get(reverse("close-up", args=[spar.pk])).content.decode()
    )
    record = f"/assemblies/{spar.pk}/record/"
    assert "Nothing went in." in page.get(record).content.decode()
    # A record that was written with its zeros is read without them.
    spar.refresh_from_db()
    kept = working.close(assembly=spar, by=owner, now=now)
    assert [row["need"] for row in kept.record["items"]] == [0]
    assert "Nothing went in." in page.get(record).content.decode()
