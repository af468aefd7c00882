"""The locks: what one locked package asks of another, its line grants."""

import re
from importlib.metadata import distribution

import pytest
from django.conf import settings
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

FOLDER = settings.ROOT / ".lock"
LINE = re.compile(r"^[a-z0-9][^ ]*==\S+", re.MULTILINE)


def locked(name):
    """The lines of a lock by package, less those for other systems."""
    text = (FOLDER / name).read_text().replace(" \\\n", "\n")
    found = [
        Requirement(line.rstrip("\\ "))
        for line in text.splitlines()
        if LINE.match(line)
    ]
    here = [each for each in found if not each.marker or each.marker.evaluate()]
    return {canonicalize_name(each.name): each for each in here}


@pytest.mark.parametrize("name", ["run.txt", "test.txt"])
def test_no_package_asks_for_an_extra_that_the_lock_lacks(name):
    """With hashes, an old pip refuses the unpinned 'name[extra]' it meets then.

    Source: pip's documentation, 'Secure installs', hash-checking mode.
    """
    lines = locked(name)
    assert len(lines) > 20
    lacking = [
        f"{each.name} asks for {asked}"
        for each in lines.values()
        for asked in map(Requirement, distribution(each.name).requires or ())
        if _applies(asked, each.extras)
        and not asked.extras <= lines[canonicalize_name(asked.name)].extras
    ]
    assert lacking == []


def _applies(asked, extras):
    if not asked.extras:
        return False
    named = [{"extra": extra} for extra in ("", *extras)]
    return asked.marker is None or any(asked.marker.evaluate(each) for each in named)
