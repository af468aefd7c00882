"""A scratch database for a benchmark or a campaign, beside the shop's own."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlsplit, urlunsplit

from django.db import connection
from django.utils import timezone


@contextmanager
def scratch() -> Iterator[None]:
    """An empty database beside the shop's own, on its engine, gone afterwards."""
    name = connection.settings_dict["NAME"]
    with tempfile.TemporaryDirectory() as folder:
        # Created and named as the framework does it for tests.
        fresh = f"gripcount_scratch_{timezone.now():%Y%m%d%H%M%S}"
        where = fresh if connection.features.has_select_for_update else f"{folder}/shop"
        connection.settings_dict["TEST"]["NAME"] = where
        connection.creation.create_test_db(verbosity=0, serialize=False)
        try:
            yield
        finally:
            connection.creation.destroy_test_db(name, verbosity=0)


def url() -> str:
    """The scratch database's address, as GRIPCOUNT_DATABASE names it to a process."""
    name = connection.settings_dict["NAME"]
    if not connection.features.has_select_for_update:
        return f"sqlite:///{name}"
    own = urlsplit(os.environ["GRIPCOUNT_DATABASE"])
    return urlunsplit(own._replace(path=f"/{name}"))
