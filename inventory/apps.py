"""The one Django app with tables."""

from importlib import import_module

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    """Gripcount's tables and commands."""

    name = "inventory"
    verbose_name = "Gripcount"

    def ready(self) -> None:
        """Make the shop's Celery application the current one in every process."""
        import_module("inventory.config.celery")
