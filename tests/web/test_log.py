"""The builder's log: what went in, read, printed, and by a link that ends.

What a kit's builder notes for the inspector is local rule; that a log holds who did what
and when is common practice, no source.
"""

import dataclasses
import io
import re
import uuid
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone as zone
from PIL import Image

from inventory.labels import queries
from inventory.ledger.actions.posting import Ask
from inventory.ledger.actions.verbs import pull
from inventory.ledger.queries import Lot
from inventory.people.models import LogLink, User
from inventory.people.rules import Role
from inventory.planning.actions.closing import close_after_looking
from inventory.planning.actions.working import place_to_pull_for
from inventory.planning.models import Assembly
from inventory.planning.queries import current_build
from inventory.planning.queries.log import StageLog, entry_of, log_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, owner, settings, tmp_path):
    settings.DATA = tmp_path
    client.force_login(owner)
    return client


def picture(colour="#506070"):
    """A photograph as a phone sends it."""
    file = io.BytesIO()
    Image.new("RGB", (640, 480), colour).save(file, "JPEG")
    file.seek(0)
    file.name = "photo.jpg"
    return file


def received(desk, number, lot, colour):
    """A bag with its certificate's photograph."""
    came = {"scan_id": str(uuid.uuid4()), "bin": number, "pieces": 50, "lot": lot}
    came |= {"supplier": "Reed & Daughters", "photo": picture(colour)}
    assert desk.post(reverse("receive-bin", args=[number]), came).status_code == 302


@pytest.fixture
def riveted(desk, owner, spar, rivets, ask, now):
    """Thirty pulled, one pull taken back, a photograph, closed with a note."""
    place = place_to_pull_for(assembly=spar, by=owner, now=now)
    pull(bin=rivets, quantity=30, to=place, ask=ask())
    wrong = pull(bin=rivets, quantity=7, to=place, ask=ask())
    desk.post(reverse("act-undo", args=[wrong.act.pk]))
    where = reverse("photograph-in", args=[spar.pk])
    desk.post(where, {"photo": picture(), "caption": "the lower flange"})
    close_after_looking(
        assembly=Assembly.objects.get(pk=spar.pk),
        left={},
        by=owner,
        now=now,
        note="Set by Marlow <b>cold</b>.",
    )
    return Assembly.objects.get(pk=spar.pk)


def text_of(pdf):
    """What a PDF says, as its reader takes it."""
    document = pypdfium2.PdfDocument(pdf)
    pages = [page.get_textpage().get_text_range() for page in document]
    return " ".join(" ".join(pages).split())


def test_the_log_says_what_who_when_and_what_was_mended(desk, riveted):
    said = desk.get(reverse("log")).content.decode()
    words = " ".join(re.sub(r"<[^>]+>", " ", said).split())

    assert riveted.stage.name in words
    assert re.search(r"3/32 flush, 7/32 long.* 30 ", words)
    assert "closed 1 Mar 2027 by marlow" in words
    assert "1 taken back" in words
    assert re.search(r"pulled 7 of 3/32 flush, 7/32 long", words)
    assert "the lower flange" in words
    assert "Set by Marlow &lt;b&gt;cold&lt;/b&gt;." in said


def test_a_stage_alone_and_an_empty_log_have_their_words(desk, riveted):
    stage = riveted.stage_id
    assert riveted.name in desk.get(reverse("log"), {"stage": stage}).content.decode()
    none = desk.get(reverse("log"), {"stage": stage + 9}).content.decode()
    assert "No assembly was begun yet" in none


def test_the_pdf_says_the_same_and_shows_the_picture(desk, riveted):
    pdf = desk.get(reverse("log-print")).content
    said = text_of(pdf)

    assert "closed 1 Mar 2027 by marlow" in said
    assert "Taken back: pulled 7 of 3/32 flush, 7/32 long" in said
    assert "Set by Marlow <b>cold</b>." in said
    assert "the lower flange" in said
    assert "page 1" in said
    page = pypdfium2.PdfDocument(pdf)[0]
    kinds = [each.type for each in page.get_objects()]
    assert pypdfium2.raw.FPDF_PAGEOBJ_IMAGE in kinds


def test_a_picture_whose_file_is_gone_is_said_to_be(desk, riveted, settings, tmp_path):
    settings.DATA = tmp_path / "elsewhere"
    assert "its file is gone" in text_of(desk.get(reverse("log-print")).content)


def test_pictures_beyond_a_sheets_room_are_said_to_be_left_out(
    desk, riveted, monkeypatch
):
    monkeypatch.setattr(queries, "MOST_PICTURES", 0)
    said = text_of(desk.get(reverse("log-print")).content)
    assert "Not printed here: 1 of its pictures." in said
    assert "the lower flange" not in said


def test_a_closing_that_kept_no_certificates_yet_is_in_the_log(desk, riveted):
    kept = riveted.close_ups.get()
    older = {name: each for name, each in kept.record.items() if name != "papers"}
    entry = dataclasses.replace(entry_of(riveted), record=older)
    sheet = [StageLog(riveted.stage, [entry])]
    assert entry.papers == []
    assert queries.log_parts(sheet, Path("nowhere"))[1].heading == riveted.name


def test_an_empty_log_prints(desk):
    assert "No assembly was begun" in text_of(desk.get(reverse("log-print")).content)


def made_link(desk, days=7, who="Inspector Reed"):
    last = zone.localdate() + timedelta(days=days)
    data = {"who": who, "last_day": last.isoformat()}
    said = desk.post(reverse("log-link-new"), data, follow=True).content.decode()
    found = re.search(r"http://testserver(/log/read/[\w-]+/)", said)
    return found and found[1], said


def test_a_link_opens_the_log_to_a_stranger_and_nothing_else(desk, riveted):
    where, _said = made_link(desk)
    stranger = Client()
    found = stranger.get(where)

    assert found.status_code == 200
    said = found.content.decode()
    assert "closed 1 Mar 2027 by marlow" in " ".join(said.split())
    # Nothing on it leads to a page of the shop, nor changes anything.
    inside = set(re.findall(r'(?:href|action)="(/[^"]*)"', said))
    assert {
        each for each in inside if not each.startswith(("/static/", where))
    } == set()
    photo = re.search(r'src="(/log/read/[^"]+\.jpg)"', said)[1]
    picture = stranger.get(photo)
    assert b"".join(picture.streaming_content)[:2] == b"\xff\xd8"
    assert stranger.get(f"{where}print/").content.startswith(b"%PDF")
    for page in ("home", "log", "log-print", "acts"):
        assert stranger.get(reverse(page)).status_code == 302
    assert stranger.post(where).status_code == 405


def test_a_link_shows_no_picture_that_is_not_in_the_log(desk, riveted, rivets, owner):
    where, _said = made_link(desk)
    photo = riveted.photographs.get()
    Assembly.objects.filter(pk=riveted.pk).update(started_at=None, started_by=None)
    found = Client().get(f"{where}photographs/{photo.pk}.jpg")
    assert found.status_code == 404


def test_a_lots_certificate_is_shown_where_the_lot_may_have_gone(
    desk, spar, rivets, owner, ask, now
):
    received(desk, 12, "K-7", "#705060")
    place = place_to_pull_for(assembly=spar, by=owner, now=now)
    pull(bin=rivets, quantity=30, to=place, ask=ask())
    received(desk, 12, "K-8", "#607050")
    where, _said = made_link(desk)
    said = Client().get(where).content.decode()
    assert "Certificate: 3/32 flush, 7/32 long (MS20426AD3-3.5), K-7" in said
    shown = {lot.name: lot.photographs.get().pk for lot in Lot.objects.all()}
    assert f"/photographs/{shown['K-7']}.jpg" in said
    for lot, status in (("K-7", 200), ("K-8", 404)):
        found = Client().get(f"{where}photographs/{shown[lot]}.jpg")
        assert found.status_code == status
        if status == 200:
            assert b"".join(found.streaming_content)[:2] == b"\xff\xd8"
    assert "Certificate: " in text_of(desk.get(reverse("log-print")).content)


def test_a_link_is_shown_once_and_its_use_is_noted(desk, riveted):
    where, said = made_link(desk)
    assert "not used yet" in said
    assert where not in desk.get(reverse("log")).content.decode()
    assert LogLink.objects.get().token_hash not in where
    Client().get(where)
    assert "last used" in desk.get(reverse("log")).content.decode()


def test_a_link_ends_when_it_is_ended_and_by_its_day(desk, riveted):
    where, _said = made_link(desk)
    link = LogLink.objects.get()
    desk.post(reverse("log-link-end", args=[link.pk]))
    gone = Client().get(where)
    assert gone.status_code == 404
    assert b"This link has ended" in gone.content
    assert Client().get(f"{where}print/").status_code == 404
    other, _said = made_link(desk)
    yesterday = zone.localdate() - timedelta(days=1)
    LogLink.objects.filter(ended_at=None).update(last_day=yesterday)
    assert Client().get(other).status_code == 404
    assert Client().get("/log/read/no-such-token/").status_code == 404


@pytest.mark.parametrize("days", [-1, 367])
def test_a_link_neither_ends_before_today_nor_lasts_for_ever(desk, riveted, days):
    where, said = made_link(desk, days)
    assert where is None
    assert "choose another last day" in said
    assert 'value="Inspector Reed"' in said
    assert not LogLink.objects.exists()


def test_only_the_owner_makes_and_ends_links(desk, riveted):
    made_link(desk)
    builder = User.objects.create_user("juniper", password="another long phrase")
    builder.kept_role = Role.BUILDER
    builder.save()
    other = Client()
    other.force_login(builder)
    said = other.get(reverse("log")).content.decode()
    assert "A link for the inspector" not in said
    assert other.post(reverse("log-link-new"), {"who": "x"}).status_code == 403
    link = LogLink.objects.get()
    assert other.post(reverse("log-link-end", args=[link.pk])).status_code == 403
    assert LogLink.objects.filter(ended_at=None).count() == 1


def test_a_day_with_work_is_the_workshops_day(owner, spar, rivets):
    """23:30 in a workshop seven hours west of Greenwich is no day of tomorrow."""
    late = datetime(2027, 3, 2, 23, 30, tzinfo=timezone(timedelta(hours=-7)))
    place = place_to_pull_for(assembly=spar, by=owner, now=late)
    pull(bin=rivets, quantity=3, to=place, ask=Ask(by=owner, now=late, scan_id=None))
    with zone.override("Etc/GMT+7"):
        ((part,),) = [part.entries for part in log_of(current_build())]
    assert part.days == [date(2027, 3, 2)]
