"""The worker's part in the order plan."""

from functools import partial

from celery import shared_task
from django.db import transaction

from inventory import errands
from inventory.buying import actions


@shared_task
def work_out(pk: int) -> bool:
    """Solve a plan that was asked for; a second message finds it taken."""
    return actions.work_out(pk=pk)


@shared_task
def sweep() -> int:
    """Every 30 s: plans whose message was lost or whose worker died."""
    return actions.sweep()


def wake(pk: int) -> None:
    """Called by a door after asking; a broker that is down costs delay only."""
    message = partial(work_out.delay, pk)
    transaction.on_commit(lambda: errands.send(f"plan {pk}", message), robust=True)
