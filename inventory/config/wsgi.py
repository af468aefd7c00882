"""What the web server calls."""

import os

from django.core.wsgi import get_wsgi_application
from django.utils import timezone

from inventory.config import paths

paths.keep_private()
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "inventory.config.settings")
application = get_wsgi_application()

from inventory.alerts.queries import running  # noqa: E402 - models are ready only now

running.Served.since = timezone.now()
