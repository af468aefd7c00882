"""Every command of the project explains itself."""

from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import load_command_class

COMMANDS = sorted(
    path.stem
    for path in (Path(settings.ROOT) / "inventory/management/commands").glob(
        "[a-z]*.py"
    )
)


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_can_be_read(name, capsys):
    load_command_class("inventory", name).print_help("manage.py", name)
    assert f"manage.py {name}" in capsys.readouterr().out
