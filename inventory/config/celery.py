"""The Celery application: tasks live in the rooms, the clock in the settings."""

import os

from celery import Celery

from inventory.config import paths

paths.keep_private()
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "inventory.config.settings")

app = Celery("gripcount")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(
    ["inventory.scanning", "inventory.buying", "inventory.alerts", "inventory.labels"]
)
