"""Letters wait: for a stock that was stated, and ten minutes; and whether any is heard."""

from datetime import timedelta

import pytest
from django.core import mail
from django.test import override_settings

from inventory.alerts.actions import deliver, recompute
from inventory.alerts.models import Alert
from inventory.alerts.queries import why_unheard
from inventory.catalog.actions import item_for_callout
from inventory.ledger.actions import undoing, verbs
from inventory.ledger.actions.bins import open_bin
from inventory.people.models import User
from inventory.planning.actions.importing import apply, preview

pytestmark = pytest.mark.django_db
PLAN = b"stage,start,assembly,callout,each\nFin,2027-03-20,Skin,MS20426AD3-3.5,100\n"
MINUTES = timedelta(minutes=1)


@pytest.fixture
def bin(owner, now):
    """A plan that wants a hundred, and an empty bin that nobody counted."""
    owner.email = "marlow@hangar.test"
    owner.save()
    apply(found=preview(name="plan.csv", data=PLAN), by=owner, now=now)
    return open_bin(item=item_for_callout(text="MS20426AD3-3.5"), by=owner, number=12)


@override_settings(LETTER_WAIT=10 * MINUTES)
def test_no_letter_leaves_before_the_stock_was_stated_nor_within_ten_minutes(
    bin, now, ask
):
    recompute(now=now)
    assert Alert.objects.filter(cause="short").exists()
    assert deliver(now=now + 60 * MINUTES) == 0
    verbs.count(bin=bin, counted=40, ask=ask())
    Alert.objects.all().delete()
    recompute(now=now)
    assert deliver(now=now + 9 * MINUTES) == 0
    assert deliver(now=now + 10 * MINUTES) == 1
    (letter,) = mail.outbox
    assert "runs short in Fin" in letter.body


@override_settings(LETTER_WAIT=10 * MINUTES)
def test_a_slip_that_is_mended_in_time_is_told_to_nobody(bin, now, ask):
    verbs.count(bin=bin, counted=400, ask=ask())
    recompute(now=now)
    slip = verbs.count(bin=bin, counted=4, ask=ask())
    recompute(now=now + MINUTES)
    assert Alert.objects.filter(cause="short", cleared_at=None).exists()
    undoing.undo(act=slip.act, ask=ask())
    recompute(now=now + 2 * MINUTES)
    assert deliver(now=now + 60 * MINUTES) == 0
    assert mail.outbox == []


def test_a_bin_under_its_keep_level_is_mailed(bin, now, ask, owner):
    verbs.count(bin=bin, counted=400, ask=ask())
    bin.keep_level = 500
    bin.save()
    recompute(now=now)
    assert deliver(now=now) == 1
    assert "should keep 500" in mail.outbox[0].body


def test_pages_say_when_letters_reach_nobody(client, owner, settings):
    client.force_login(owner)
    User.objects.update(email="")
    assert "key an address under Settings" in client.get("/bins/").content.decode()
    assert client.post("/settings/letter/").status_code == 400
    owner.email = "marlow@hangar.test"
    owner.save()
    assert why_unheard() == ""
    assert "unheard" not in client.get("/bins/").content.decode()
    said = client.post("/settings/letter/", follow=True).content.decode()
    assert "A test letter went to marlow@hangar.test" in said
    assert mail.outbox[0].subject == "The workshop: a test letter"
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    assert "GRIPCOUNT_SMTP" in client.get("/").content.decode()


def test_a_server_that_takes_no_letter_is_said(client, owner, settings, bin, now, ask):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    client.force_login(owner)
    refused = client.post("/settings/letter/")
    assert refused.status_code == 400
    assert "could not be sent" in refused.content.decode()
    verbs.count(bin=bin, counted=4, ask=ask())
    recompute(now=now)
    for _ in range(3):
        with pytest.raises(OSError, match="refused"):
            deliver(now=now)
    assert "The mail server takes no letters" in client.get("/bins/").content.decode()
