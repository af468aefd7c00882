"""Loading the demo: on any day, once only, and nowhere but in the demo."""

from datetime import datetime
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db.models import Max
from django.utils import timezone

from inventory.config.demo import DEMO_NAME, DEMO_PASSWORD
from inventory.forecasting.queries.readiness import readiness
from inventory.forecasting.rules.readiness import READY, READY_BUT_FOR
from inventory.ledger.models import Act
from inventory.people.models import User


@pytest.mark.unmeasured
@pytest.mark.slow
def test_the_command_tells_the_same_story_whatever_the_day(
    db: None, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In summer time: the same verdicts, an owner who can sign in, and only once."""
    settings.DEMO = True
    here = timezone.get_current_timezone()
    evening = datetime(2027, 7, 4, 20, tzinfo=here)
    monkeypatch.setattr(timezone, "now", lambda: evening)
    out = StringIO()
    call_command("load_demo", stdout=out)

    words = [row.verdict.word for row in readiness(evening.date()).stages]
    assert words.count(READY_BUT_FOR) == 2
    assert words.count(READY) == 6
    last = Act.objects.aggregate(last=Max("at"))["last"]
    assert last < datetime(2027, 7, 4, tzinfo=here)
    assert DEMO_PASSWORD in out.getvalue()
    user = User.objects.get()
    assert (user.username, user.email) == (DEMO_NAME, "builder@example.org")
    assert user.is_superuser
    assert user.check_password(DEMO_PASSWORD)
    with pytest.raises(CommandError, match="already"):
        call_command("load_demo")


def test_outside_the_demo_it_refuses(db: None, settings: Any) -> None:
    """A real shop is never filled with invented parts."""
    settings.DEMO = False
    with pytest.raises(CommandError, match="not the demo"):
        call_command("load_demo")
    assert not User.objects.exists()
