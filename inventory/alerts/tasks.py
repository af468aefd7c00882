"""What the background worker does: settle what movements left, and tell."""

from datetime import timedelta

from celery import current_app, shared_task
from django.db import connection, transaction
from django.utils import timezone
from kombu.exceptions import OperationalError

from inventory import errands
from inventory.alerts import actions
from inventory.ledger.queries import is_settled, rechecks

# A message that was not taken for so long is lost, or the worker's clock will do it.
LOST = timedelta(seconds=30)


@shared_task
def settle() -> int:
    """After a movement, and every 30 s for what a lost message left."""
    count = actions.settle(now=timezone.now())
    actions.deliver(now=timezone.now())
    actions.sum_up(now=timezone.now())
    return count


@shared_task
def heartbeat() -> None:
    """Every minute, for those who would trust a silence."""
    actions.beat(now=timezone.now())


@shared_task
def recompute() -> None:
    """Hourly: what time alone changes."""
    actions.settle_all(now=timezone.now())
    actions.deliver(now=timezone.now())
    actions.sum_up(now=timezone.now())


def wake() -> None:
    """Called by a door after an action: one message once the transaction stands.

    It leaves on a thread of its own, so that a broker that is down costs delay only.
    """
    transaction.on_commit(lambda: errands.send("settle", _sender.send), robust=True)


def why_no_broker() -> str:
    """Why no message reaches the worker, with what to do; '' where one does."""
    with current_app.connection_for_write() as broker:
        try:
            broker.ensure_connection(max_retries=1, timeout=2)
        except OperationalError:
            return (
                f"The broker at {broker.as_uri()} does not answer: start it, or mend "
                "GRIPCOUNT_BROKER."
            )
    return ""


class Sender:
    """Sends no second message while the first was not taken: they would only queue.

    Whoever takes it goes on until nothing is left, so that none is needed meanwhile.
    """

    def __init__(self) -> None:
        self.asked: dict[int, int] = {}
        self.at = timezone.now() - LOST

    def send(self) -> bool:
        """Send one if it is worth it; on a thread that keeps no connection."""
        try:
            return self._send()
        finally:
            connection.close()

    def _send(self) -> bool:
        now = timezone.now()
        if now - self.at < LOST and self.asked and not is_settled(self.asked):
            return False
        self.asked = {row.item_id: row.wanted for row in rechecks()}
        self.at = now
        settle.delay()
        return True


_sender = Sender()
