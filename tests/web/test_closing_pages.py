"""The close-up and the record, as pages."""

import io

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly, Photograph


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


def test_what_is_no_picture_is_not_kept(page, spar):
    sent = {"photo": SimpleUploadedFile("a.jpg", b"no pixels at all")}
    answer = page.post(reverse("photograph-in", args=[spar.pk]), sent)
    assert answer.status_code == 400
    assert not Photograph.objects.exists()
