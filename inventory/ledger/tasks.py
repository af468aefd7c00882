"""The worker's proof of the ledger."""

import logging

from celery import shared_task

from inventory.ledger.queries import flaws

log = logging.getLogger(__name__)


@shared_task
def prove_balances() -> int:
    """Count the balances that are not the sum of their movements, and say so."""
    found = flaws()
    for flaw in found:
        log.error("balance is not the sum of its movements: %s", flaw)
    return len(found)
