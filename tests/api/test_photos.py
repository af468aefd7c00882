"""Photos of labels through the API: read, or refused with a sentence."""

import io

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.labels.actions import label_pdf
from inventory.ledger.models import Act

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


def photo_of(pdf):
    import pypdfium2  # noqa: PLC0415

    with pypdfium2.PdfDocument(pdf) as book:
        picture = book[0].render(scale=300 / 72).to_pil()
    out = io.BytesIO()
    picture.save(out, "JPEG")
    return out.getvalue()


def send(device, name, data):
    file = SimpleUploadedFile(name, data, content_type="image/jpeg")
    return device.post("/api/v1/photos", {"photo": file}, format="multipart")


def test_a_photo_of_a_printed_label_gives_its_code(device, rivets):
    pdf = label_pdf(bins=[rivets], sheet="single", shop_url=settings.SHOP_URL)
    answer = send(device, "label.jpg", photo_of(pdf))
    assert answer.status_code == 200, answer.content
    assert rivets.code in {row["text"] for row in answer.json()["codes"]}


@pytest.mark.parametrize("data", [b"just a text", b"", b"\xff\xd8\xff\xe0 torn"])
def test_what_is_no_photo_gets_a_sentence_and_moves_nothing(device, rivets, data):
    before = Act.objects.count()
    answer = send(device, "label.jpg", data)
    assert answer.status_code == 400
    assert len(answer.json()["detail"]) > 20
    assert Act.objects.count() == before


def test_labels_come_as_pdf_and_unknown_bins_are_not_there(device, rivets):
    body = {"bins": [12], "sheet": "letter"}
    answer = device.post("/api/v1/labels", body, format="json")
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    assert answer.content.startswith(b"%PDF")
    body = {"bins": [99], "sheet": "letter"}
    assert device.post("/api/v1/labels", body, format="json").status_code == 404
