"""What the background worker does: settle what movements left, and tell."""

from celery import shared_task
from django.db import transaction
from django.utils import timezone

from inventory.alerts import actions


@shared_task
def settle() -> int:
    """After a movement, and every 30 s for what a lost message left."""
    count = actions.settle(now=timezone.now())
    actions.deliver(now=timezone.now())
    return count


@shared_task
def recompute() -> int:
    """Hourly: what time alone changes."""
    count = actions.recompute(now=timezone.now())
    actions.deliver(now=timezone.now())
    return count


def wake() -> None:
    """Called by a door after an action: one message once the transaction stands.

    A broker that is down costs delay only, so a failed send is logged and no error.
    """
    transaction.on_commit(settle.delay, robust=True)
