"""Before the doors open: how a new shop gets its owner."""

from inventory.config import supervisor_prepare as prepare


def test_the_line_names_the_folder_that_is_served(monkeypatch):
    monkeypatch.setenv("GRIPCOUNT_DATA", "/srv/my shop")
    line = "GRIPCOUNT_DATA='/srv/my shop' python3 manage.py create_owner"
    assert prepare.owner_command().startswith(line)
