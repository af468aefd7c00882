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
from dataclasses import dataclass
from pathlib import Path

import pytest

from inventory.config.bootstrap import ROOT
from tests.processes import unmeasured

# Long enough for any machine; nothing is timed.
PATIENCE = 120
pytestmark = pytest.mark.slow


class Served:
    """One running `serve`, on its own port."""

    def __init__(self, folder, *options, measured=False, **more):
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.folder, self.said = folder, ""
        known = environ(folder) if measured else unmeasured(environ(folder))
        self.process = subprocess.Popen(
            line("serve", "--port", str(self.port), *options),
            env={**known, **more},
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
        try:
            return self.answer().status
        except OSError:
            return None

    def answer(self, **headers):
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        try:
            link.request("GET", "/", headers=headers)
            return link.getresponse()
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


@dataclass(frozen=True)
class FirstStart:
    """What a first start said and did, and how it ended."""

    shop: Served
    status: int
    readable: list[Path]
    code: int
    left: list[int]


@pytest.fixture(scope="module")
def first_start(tmp_path_factory):
    """A first start by a person whose doors stand wide, ended by Ctrl-C."""
    folder = tmp_path_factory.mktemp("first") / "shop"
    folder.mkdir()
    folder.chmod(0o777)
    before = os.umask(0)
    try:
        shop = Served(folder, measured=True)
    finally:
        os.umask(before)
    try:
        status = shop.wait_until_told().status()
        # The worker's clock starts last.
        wait_for(lambda: list(folder.glob("beat-schedule*")))
        every = [folder, *folder.rglob("*")]
        readable = [each for each in every if each.stat().st_mode & 0o077]
        shop.process.send_signal(signal.SIGINT)
        code = shop.process.wait(PATIENCE)
        yield FirstStart(shop, status, readable, code, shop.family())
    finally:
        shop.end()


@pytest.fixture
def opened_before(first_start, tmp_path):
    """What is tried here is no first start, so its tables need not be made again."""
    shutil.copytree(first_start.shop.folder, tmp_path / "shop")


@pytest.fixture(scope="module")
def shared(first_start, tmp_path_factory):
    """A running shop for tests that leave it as it is."""
    folder = tmp_path_factory.mktemp("shared") / "shop"
    shutil.copytree(first_start.shop.folder, folder)
    shop = Served(folder)
    try:
        yield shop.wait_until_told()
    finally:
        shop.end()


@pytest.fixture
def serve(tmp_path):
    started = []

    def start(*options, folder=tmp_path / "shop", **more):
        started.append(Served(folder, *options, **more))
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


def test_the_first_page_answers_and_ctrl_c_leaves_nothing(first_start):
    shop = first_start.shop
    assert first_start.status in (200, 302)
    assert f"http://127.0.0.1:{shop.port}/" in shop.said
    assert str(shop.folder) in shop.said
    assert "create_owner" in shop.said
    assert "rivets-before-coffee" not in shop.said
    assert (first_start.code, first_start.left) == (0, [])


def test_nobody_else_reads_the_shops_files(first_start):
    """However wide the doors of the person who started it stand."""
    assert first_start.readable == []


@pytest.mark.usefixtures("opened_before")
def test_a_second_start_serves_the_same_shop(serve, tmp_path):
    secret = (tmp_path / "shop" / "secret-key").read_text()
    second = serve().wait_until_told()
    assert second.status() in (200, 302)
    assert (second.folder / "secret-key").read_text() == secret
    second.process.send_signal(signal.SIGTERM)
    assert second.process.wait(timeout=PATIENCE) == 0


@pytest.mark.usefixtures("opened_before")
def test_a_child_that_was_killed_comes_back(serve):
    shop = serve(measured=True).wait_until_told()
    for victim in (b"waitress", b"celery"):
        wait_for(lambda: len(shop.family()) >= 3)
        of_it = {pid for pid in shop.family() if victim in program(pid)}
        leader = next(pid for pid in of_it if parent(pid) == shop.process.pid)
        os.kill(leader, signal.SIGKILL)
        # What the dead one left behind goes first, or it would keep the port.
        wait_for(lambda gone=of_it: not gone & set(shop.family()))
        wait_for(lambda name=victim: any(name in program(pid) for pid in shop.family()))
        wait_for(lambda: shop.status() in (200, 302))


@pytest.mark.usefixtures("opened_before")
def test_behind_a_proxy_that_speaks_https_a_page_comes(serve):
    """The proxy's word counts when it stands where it was said to stand."""
    shop = serve(GRIPCOUNT_HTTPS="1", GRIPCOUNT_HOSTS="hangar.example")
    shop.wait_until_told()
    by_https = {"Host": "hangar.example", "X-Forwarded-Proto": "https"}
    page = shop.answer(**by_https)
    assert (page.status, page.headers["Location"]) == (302, "/sign-in/?next=/")
    assert "max-age" in page.headers["Strict-Transport-Security"]
    plain = shop.answer(Host="hangar.example")
    assert plain.status == 301
    assert plain.headers["Location"] == "https://hangar.example/"


@pytest.mark.usefixtures("opened_before")
def test_nobody_else_may_say_that_it_came_by_https(serve):
    shop = serve(GRIPCOUNT_HTTPS="1", GRIPCOUNT_PROXY="192.0.2.7").wait_until_told()
    assert shop.answer(**{"X-Forwarded-Proto": "https"}).status == 301


def opened(shop, *sent):
    """A connection on which a stranger sent this and no more."""
    link = socket.create_connection(("127.0.0.1", shop.port), timeout=PATIENCE)
    for part in sent:
        link.sendall(part)
    return link


def test_strangers_who_say_half_hold_nobody_up(shared):
    """Half a head, half a body, a body that never ends: a page still comes."""
    shop = shared
    head = b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\n"
    links = []
    for _ in range(20):
        links.append(opened(shop, head))
        links.append(opened(shop, head, b"Content-Length: 900\r\n\r\n", b"name=a"))
        chunked = b"Transfer-Encoding: chunked\r\n\r\n"
        links.append(opened(shop, head, chunked, b"5\r\nname=\r\n"))
    assert shop.status() in (200, 302)
    # And they are cut off in time.
    for link in links:
        link.settimeout(PATIENCE)
        assert link.recv(1) in (b"", b"H")
        link.close()


def test_a_body_that_is_too_large_is_refused_before_it_is_sent(shared):
    shop = shared
    head = b"POST /api/v1/photos HTTP/1.1\r\nHost: localhost\r\n"
    with opened(shop, head, b"Content-Length: 400000000\r\n\r\n") as link:
        assert link.recv(20).startswith(b"HTTP/1.1 413")
    with opened(shop, head, b"Transfer-Encoding: chunked\r\n\r\n") as link:
        chunk = b"100000\r\n" + bytes(1 << 20) + b"\r\n"
        with pytest.raises(OSError):  # noqa: PT012, PT011 - wherever it is cut off
            for _ in range(400):
                link.sendall(chunk)
    assert shop.status() in (200, 302)


@pytest.mark.usefixtures("opened_before")
def test_a_killed_supervisor_takes_all_with_it(serve):
    shop = serve().wait_until_told()
    wait_for(lambda: len(shop.family()) >= 3)
    shop.process.kill()
    wait_for(lambda: shop.family() == [])
    assert shop.status() is None


def test_a_second_start_on_the_same_folder_is_refused(shared, refused):
    assert "already runs" in refused("--port", "1", folder=shared.folder)
    assert shared.status() in (200, 302)


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
