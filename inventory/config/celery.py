"""The Celery application: tasks live in the rooms, what the clock asks in the settings."""

import os
import threading
from typing import Any

from celery import Celery, beat, bootsteps
from click import Option

from inventory.config import paths

paths.keep_private()
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "inventory.config.settings")

app = Celery("gripcount")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(
    [
        "inventory.scanning",
        "inventory.buying",
        "inventory.alerts",
        "inventory.labels",
        "inventory.backups",
    ]
)


class Clock(bootsteps.StartStopStep):
    """`worker --clock FILE`: the clock as a thread of the worker.

    In a process of its own beside each worker (`-B`) it takes 60 MB more.
    """

    def __init__(self, parent: Any, clock: str = "", **options: Any) -> None:
        super().__init__(parent, **options)
        self.schedule = clock

    def include_if(self, parent: Any) -> bool:
        """Only where it was asked for: two clocks would ask twice."""
        return bool(self.schedule)

    def start(self, parent: Any) -> None:
        """It ends with the process."""
        self.service = beat.Service(parent.app, schedule_filename=self.schedule)
        threading.Thread(target=self.service.start, name="clock", daemon=True).start()

    def stop(self, parent: Any) -> None:
        """What was asked when is kept for the next start."""
        self.service.stop()
        self.service.scheduler.sync()


app.user_options["worker"].add(Option(["--clock"], help="keep the clock, in this file"))
app.steps["worker"].add(Clock)
