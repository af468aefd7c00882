"""The embedded broker: whole messages, one taker each, nothing foreign harms it."""

import json
import os
import subprocess
import sys
import threading
import time
from queue import Empty

import pytest
from celery import Celery
from kombu import Connection

from inventory.config import engines
from inventory.config.bootstrap import ROOT

# Long enough for any machine; nothing is timed.
PATIENCE = 120
WORKER = (
    "celery -A bench worker --pool threads --concurrency 2"
    " --without-mingle --without-gossip --loglevel warning"
)
BENCH = """
from pathlib import Path
from celery import Celery
from inventory.config import engines

folder = Path({folder!r})
app = Celery("bench", broker="filesystem://", set_as_current=False)
app.conf.broker_transport = engines.broker_transport("filesystem://")
app.conf.broker_transport_options = engines.broker_options("filesystem://", folder)


@app.task(name="note")
def note(number):
    with open(folder / "done.txt", "a") as file:
        file.write(f"{{number}}\\n")
"""


def connect(folder):
    return Connection(
        "filesystem://",
        transport=engines.broker_transport("filesystem://"),
        transport_options=engines.broker_options("filesystem://", folder),
    )


@pytest.fixture
def queue(tmp_path):
    """A simple queue on a folder that nobody has made yet."""
    with connect(tmp_path / "broker") as link, link.SimpleQueue("celery") as queue:
        yield queue


@pytest.fixture
def inbox(tmp_path, queue):
    return tmp_path / "broker" / "queue"


def test_a_message_comes_out_as_it_went_in_and_leaves_nothing(queue, inbox, tmp_path):
    queue.put({"bin": "K7"})
    assert len(list(inbox.iterdir())) == 1
    assert queue.get_nowait().payload == {"bin": "K7"}
    assert list(inbox.iterdir()) == []
    assert list((tmp_path / "broker" / "processed").iterdir()) == []


def test_messages_come_in_the_order_they_went(queue):
    for number in range(20):
        queue.put(number)
    assert [queue.get_nowait().payload for _ in range(20)] == list(range(20))


@pytest.mark.parametrize(
    "content",
    [b"", b'{"body": "half', b"[]", b"7", b'{"body": ""}', b"\xff\xfe", b"null"],
)
def test_what_is_no_message_is_put_aside_and_the_next_comes(
    queue, inbox, tmp_path, content
):
    (inbox / "0_foreign.celery.msg").write_bytes(content)
    queue.put("after it")
    assert queue.get_nowait().payload == "after it"
    assert list(inbox.iterdir()) == []
    aside = tmp_path / "broker" / "processed" / "0_foreign.celery.msg"
    assert aside.read_bytes() == content


def test_a_folder_in_the_queue_harms_nothing(queue, inbox):
    (inbox / "0_folder.celery.msg").mkdir()
    queue.put("after it")
    assert queue.get_nowait().payload == "after it"


def test_a_message_still_being_written_is_not_there_yet(queue, inbox):
    (inbox / ".1_a.celery.msg.b.part").write_bytes(b'{"body')
    with pytest.raises(queue.Empty):
        queue.get_nowait()


def test_a_torn_table_of_bindings_is_made_anew(tmp_path, queue):
    table = tmp_path / "broker" / "control" / "celery.exchange"
    assert json.loads(table.read_bytes())
    table.write_bytes(b'[["cel')
    with connect(tmp_path / "broker") as link, link.SimpleQueue("celery") as again:
        again.put("found")
        assert again.get_nowait().payload == "found"
    assert json.loads(table.read_bytes())


@pytest.mark.slow
def test_nobody_ever_reads_half_a_message(queue, inbox):
    big, torn, seen, ended = "x" * 200_000, [], set(), threading.Event()

    def read():
        while not ended.is_set():
            for name in os.listdir(inbox):
                if name.endswith(".msg") and name not in seen:
                    seen.add(name)
                    try:
                        json.loads((inbox / name).read_bytes())
                    except ValueError:
                        torn.append(name)

    reader = threading.Thread(target=read)
    reader.start()
    for _ in range(150):
        queue.put(big)
    deadline = time.monotonic() + PATIENCE
    while len(seen) < 150 and time.monotonic() < deadline:
        time.sleep(0.01)
    ended.set()
    reader.join()
    assert (len(seen), torn) == (150, [])


@pytest.mark.slow
def test_two_takers_never_take_the_same_message(tmp_path, queue):
    for number in range(300):
        queue.put(number)
    taken = []

    def take():
        with connect(tmp_path / "broker") as link, link.SimpleQueue("celery") as own:
            while True:
                try:
                    message = own.get_nowait()
                except Empty:
                    return
                message.ack()
                taken.append(message.payload)

    takers = [threading.Thread(target=take) for _ in range(4)]
    for taker in takers:
        taker.start()
    for taker in takers:
        taker.join()
    assert sorted(taken) == list(range(300))


@pytest.mark.slow
def test_a_real_worker_runs_each_task_once_and_outlives_foreign_files(tmp_path):
    folder = tmp_path / "broker"
    (tmp_path / "bench.py").write_text(BENCH.format(folder=str(folder)))
    inbox = folder / "queue"
    inbox.mkdir(parents=True)
    for number in range(3):
        (inbox / f"0_{number}.celery.msg").write_bytes(b'{"body": "half')
    environ = {**os.environ, "PYTHONPATH": f"{tmp_path}:{ROOT}"}
    environ.pop("DJANGO_SETTINGS_MODULE", None)  # no settings of a shop in here
    worker = subprocess.Popen(
        [sys.executable, "-m", *WORKER.split()],
        cwd=tmp_path,
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    app = Celery("sender", broker="filesystem://", set_as_current=False)
    app.conf.broker_transport = engines.broker_transport("filesystem://")
    app.conf.broker_transport_options = engines.broker_options("filesystem://", folder)
    done = folder / "done.txt"
    try:
        for number in range(40):
            app.send_task("note", [number])
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            if done.exists() and len(done.read_text().split()) >= 40:
                break
            time.sleep(0.1)
        time.sleep(0.5)  # a second run of a task would show itself now
        assert sorted(map(int, done.read_text().split())) == list(range(40))
        assert worker.poll() is None
    finally:
        app.close()
        worker.terminate()
        said = worker.communicate(timeout=PATIENCE)[0]
    assert said.count(b"not a message") == 3, said.decode()
