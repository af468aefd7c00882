"""What the container file copies is all that the program needs: a shop runs from that alone."""

import os
import re
import shutil
import subprocess
import sys

import pytest
from django.conf import settings as shop_settings

from tests.processes import unmeasured

FILE = shop_settings.ROOT / ".container" / "Containerfile"


def lines(word):
    joined = re.sub(r"\\\n", " ", FILE.read_text())
    return [
        row.split()[1:] for row in joined.splitlines() if row.startswith(word + " ")
    ]


@pytest.mark.slow
def test_a_shop_runs_from_what_is_copied(tmp_path):
    house = tmp_path / "opt"
    house.mkdir()
    for *names, target in lines("COPY"):
        for name in names:
            there = shop_settings.ROOT / name
            if there.is_dir():
                ignored = shutil.ignore_patterns("__pycache__")
                shutil.copytree(there, house / target, ignore=ignored)
            else:
                shutil.copy(there, house / target)
    # The environment is this one: what is installed, the locks' own check says.
    data = tmp_path / "data"
    data.mkdir()
    environ = {
        **unmeasured(os.environ),
        "PYTHONDONTWRITEBYTECODE": "1",
        "GRIPCOUNT_DATA": str(data),
        "DJANGO_SETTINGS_MODULE": "inventory.config.settings",
        "PYTHONPATH": str(house),
        "GRIPCOUNT_DEMO": "1",
    }
    for command in ("migrate", "check_ledger", "doctor"):
        done = subprocess.run(
            [sys.executable, "-P", "-m", "django", command],
            cwd=house,
            env=environ,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0 or command == "doctor", done.stderr
    assert "Database" in done.stdout
    assert str(shop_settings.ROOT) not in done.stdout


def test_its_data_is_its_own_persons_and_it_is_served():
    text = FILE.read_text()
    (folder,) = (row[0].partition("=")[2] for row in lines("ENV"))
    assert lines("VOLUME") == [[folder]]
    assert f"install -d -o gripcount -m 0700 {folder}" in text
    assert text.index("useradd") < text.index("\nUSER gripcount")
    assert '"manage.py", "serve", "--lan"' in text
    # The program's own packages, and what Debian calls what pyzbar needs.
    assert {"python3", "python3-venv", "libzbar0"} <= set(lines("RUN")[0])
