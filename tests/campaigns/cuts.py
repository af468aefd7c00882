"""The power fails: a file system of its own is copied as its disk is at that moment.

What was written but not forced to the disk is not in the copy, as after a power cut.
Needs root and loop devices. The unsafe shop forces nothing, and must be found out.
"""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import time
from contextlib import closing, contextmanager
from pathlib import Path

from django.db import connection, connections

from tests.campaigns.benches import answered, begin, fresh_ids, open_shop

EACH, LONGEST, SIZE = 400, 3.0, "48M"


def cuts(rounds, seed, *, unsafe=False):
    """What answered scans are lost, or what is broken, after so many power cuts."""
    dice, token, found = random.Random(seed), open_shop(), []
    shop = Path(connection.settings_dict["NAME"])
    connections.close_all()
    for _round in range(rounds):
        with tempfile.TemporaryDirectory() as folder:
            found += _cut(Path(folder), shop, token, dice, unsafe)
    return found


def _cut(folder, shop, token, dice, unsafe):
    disk, copy, notes = (folder / name for name in ("disk", "copy", "notes"))
    run("truncate", "--size", SIZE, disk)
    run("mkfs.ext4", "-q", "-F", disk)
    with mounted(disk, folder / "shop") as inside:
        shutil.copy(shop, inside / "shop.sqlite3")
        os.sync()

        def move_in():
            connection.settings_dict["NAME"] = str(inside / "shop.sqlite3")
            if unsafe:
                start = "PRAGMA synchronous=OFF;"
                connection.settings_dict["OPTIONS"]["init_command"] = start

        ids = fresh_ids(dice, EACH)
        child = begin(token, ids, notes, prepare=move_in)
        time.sleep(dice.uniform(LONGEST / 4, LONGEST))
        os.kill(child, signal.SIGSTOP)
        done = answered(notes)
        shutil.copy(disk, copy)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
    with mounted(copy, folder / "after") as inside:
        return _lost(inside / "shop.sqlite3", done)


def _lost(file, done):
    with closing(sqlite3.connect(file)) as database:
        (said,) = database.execute("PRAGMA integrity_check").fetchone()
        there = {
            row[0] for row in database.execute("SELECT scan_id FROM inventory_act")
        }
    print(f"{len(done)} answered, {len(done - there)} lost, database {said}")
    return [*sorted(done - there), *([said] if said != "ok" else [])]


@contextmanager
def mounted(disk, where):
    where.mkdir()
    run("mount", "-o", "loop", disk, where)
    try:
        yield where
    finally:
        run("umount", where)


def run(*words):
    subprocess.run([str(each) for each in words], check=True)
