"""The worker's backups."""

import logging
from pathlib import Path

from celery import shared_task
from django.conf import settings
from django.utils import timezone

from inventory.backups.actions.backing import back_up, note
from inventory.backups.queries import is_due
from inventory.errors import Refused
from inventory.people.queries import shop

log = logging.getLogger(__name__)


@shared_task
def keep_backups(*, at_once: bool = False) -> str:
    """Every five minutes: make a backup where the last one is a day old.

    What was wrong is kept beside them, for an alert, until one succeeds.
    """
    folder, now = Path(settings.DATA), timezone.now()
    if not at_once and not is_due(folder, now):
        return ""
    try:
        file = back_up(folder=folder, now=now, second_folder=shop().backup_folder)
    except Refused as refusal:
        log.error("backup: %s", refusal.sentence)
        note(folder=folder, why=refusal.sentence)
        return refusal.sentence
    note(folder=folder, why="")
    return file.name
