"""`manage.py serve` as a person starts it: the whole program, on a folder of its own."""

import http.client
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from inventory.config import supervisor
from inventory.config.bootstrap import ROOT

# Long enough for any machine; nothing is timed.
PATIENCE = 120
pytestmark = pytest.mark.slow


class Served:
    """One running `serve`, on its own port."""

    def __init__(self, folder, *options):
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.folder, self.said = folder, ""
        self.process = subprocess.Popen(
            line("serve", "--port", str(self.port), *options),
            env=environ(folder),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )

    def wait_until_told(self):
        for text in self.process.stdout:
            self.said += text
            if "Ctrl-C stops everything." in text:
                return self
        raise AssertionError(f"did not start: {self.said}")

    def status(self):
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        try:
            link.request("GET", "/")
            return link.getresponse().status
        except OSError:
            return None
        finally:
            link.close()

    def family(self):
        """Every process that serves this folder, by its environment."""
        mark = f"GRIPCOUNT_DATA={self.folder}".encode()
        return [pid for pid in numbers() if mark in environment(pid)]

    def end(self):
        """Never leave anything behind, however the test went."""
        for pid in [*self.family(), self.process.pid]:
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue
        self.process.communicate()


def line(*arguments):
    return [sys.executable, str(ROOT / "manage.py"), *arguments]


def environ(folder):
    plain = {k: v for k, v in os.environ.items() if not k.startswith("GRIPCOUNT_")}
    return {**plain, "GRIPCOUNT_DATA": str(folder)}


def numbers():
    return [int(each.name) for each in Path("/proc").iterdir() if each.name.isdigit()]


def environment(pid):
    try:
        alive = "\nState:\tZ" not in Path(f"/proc/{pid}/status").read_text()
        return Path(f"/proc/{pid}/environ").read_bytes().split(b"\0") if alive else []
    except OSError:
        return []


def parent(pid):
    status = Path(f"/proc/{pid}/status").read_text()
    return int(re.search(r"^PPid:\t(\d+)", status, re.MULTILINE)[1])


def program(pid):
    return Path(f"/proc/{pid}/cmdline").read_bytes()


def wait_for(condition):
    deadline = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.05)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A shop's folder as its first start leaves it: with its tables, nobody in it."""
    folder = tmp_path_factory.mktemp("made") / "shop"
    supervisor.ready_folder(supervisor.ServeOptions(), folder)
    assert supervisor.prepare(environ(folder)) == 0
    return folder


@pytest.fixture
def opened_before(made, tmp_path):
    """What is tried here is no first start, so its tables need not be made again."""
    shutil.copytree(made, tmp_path / "shop")


@pytest.fixture
def serve(tmp_path):
    started = []

    def start(*options, folder=tmp_path / "shop"):
        started.append(Served(folder, *options))
        return started[-1]

    yield start
    for each in started:
        each.end()


@pytest.fixture
def refused(tmp_path):
    def ask(*options, folder=tmp_path / "shop"):
        done = subprocess.run(
            line("serve", *options),
            env=environ(folder),
            capture_output=True,
            text=True,
            timeout=PATIENCE,
        )
        assert done.returncode == 2
        assert "Traceback" not in done.stderr
        return done.stderr

    return ask


def test_the_first_page_answers_and_ctrl_c_leaves_nothing(serve):
    shop = serve().wait_until_told()
    assert shop.status() in (200, 302)
    assert f"http://127.0.0.1:{shop.port}/" in shop.said
    assert str(shop.folder) in shop.said
    assert "create_owner" in shop.said
    assert "rivets-before-coffee" not in shop.said
    wait_for(lambda: len(shop.family()) >= 4)  # the worker's clock starts last
    shop.process.send_signal(signal.SIGINT)
    assert shop.process.wait(PATIENCE) == 0
    assert shop.family() == []


@pytest.mark.usefixtures("opened_before")
def test_a_second_start_serves_the_same_shop(serve):
    first = serve().wait_until_told()
    secret = (first.folder / "secret-key").read_text()
    first.process.send_signal(signal.SIGTERM)
    assert first.process.wait(timeout=PATIENCE) == 0
    second = serve().wait_until_told()
    assert second.status() in (200, 302)
    assert (second.folder / "secret-key").read_text() == secret


@pytest.mark.usefixtures("opened_before")
@pytest.mark.parametrize("victim", ["server", "its worker"])
def test_a_killed_web_server_comes_back(serve, victim):
    shop = serve().wait_until_told()
    web = [pid for pid in shop.family() if b"granian" in program(pid)]
    leader = next(pid for pid in web if parent(pid) == shop.process.pid)
    other = next(pid for pid in web if pid != leader)
    os.kill(leader if victim == "server" else other, signal.SIGKILL)
    # What the dead one left behind goes first, or it would keep the port.
    wait_for(lambda: not {leader, other} & set(shop.family()))
    wait_for(lambda: shop.status() in (200, 302))


@pytest.mark.usefixtures("opened_before")
def test_a_killed_supervisor_takes_all_with_it(serve):
    shop = serve().wait_until_told()
    wait_for(lambda: len(shop.family()) >= 4)
    shop.process.kill()
    wait_for(lambda: shop.family() == [])
    assert shop.status() is None


@pytest.mark.usefixtures("opened_before")
def test_a_second_start_on_the_same_folder_is_refused(serve, refused):
    shop = serve().wait_until_told()
    assert "already runs" in refused("--port", "1")
    assert shop.status() in (200, 302)


def test_a_taken_port_is_said(refused):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        assert f"Port {port} on 127.0.0.1 is taken" in refused("--port", port)


def test_the_demo_is_not_served_to_the_network(refused, tmp_path):
    assert "this machine only" in refused("--demo", "--lan")
    assert "this machine only" in refused("--demo", "--host", "0.0.0.0")
    assert not (tmp_path / "shop").exists()


def test_the_demo_tells_its_sign_in_and_keeps_to_its_folder(serve, refused):
    demo = serve("--demo", "--fresh").wait_until_told()
    assert "rivets-before-coffee" in demo.said
    assert demo.status() in (200, 302)
    demo.process.send_signal(signal.SIGINT)
    assert demo.process.wait(timeout=PATIENCE) == 0
    assert "is the demo's" in refused(folder=demo.folder)
