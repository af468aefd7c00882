"""`serve`: what it refuses, and what its children get to know."""

import os
import signal
import subprocess
import sys
import time

import pytest

from inventory.config import supervisor
from inventory.config import supervisor_children as children
from inventory.config import supervisor_network as network
from inventory.config.bootstrap import CannotStart
from inventory.config.supervisor import ServeOptions

STUBBORN = (
    "import signal, subprocess, sys, time; signal.signal(signal.SIGTERM, lambda *_: 0);"
    "c = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(60)']);"
    "print(c.pid, flush=True); [time.sleep(0.1) for _ in range(600)]"
)


@pytest.mark.parametrize(
    ("wish", "reason"),
    [
        (ServeOptions(fresh=True), "demo only"),
        (ServeOptions(demo=True, lan=True), "this machine only"),
        (ServeOptions(demo=True, host="0.0.0.0"), "this machine only"),
        (ServeOptions(demo=True, host="192.168.1.5"), "this machine only"),
        (ServeOptions(demo=True, host="::"), "this machine only"),
        (ServeOptions(lan=True, host="10.0.0.1"), "leave out --host"),
    ],
)
def test_what_must_not_be_combined_is_refused(wish, reason):
    with pytest.raises(CannotStart, match=reason):
        wish.check()


@pytest.mark.parametrize(
    "wish",
    [
        ServeOptions(),
        ServeOptions(demo=True),
        ServeOptions(demo=True, fresh=True),
        ServeOptions(demo=True, host="localhost"),
        ServeOptions(demo=True, host="::1"),
        ServeOptions(lan=True),
        ServeOptions(host="192.168.1.5"),
    ],
)
def test_what_makes_sense_is_not(wish):
    assert wish.check() is None


def test_out_of_the_box_only_this_machine_is_served():
    assert ServeOptions().listen_on == "127.0.0.1"
    assert network.is_loopback(ServeOptions().listen_on)
    assert ServeOptions(lan=True).listen_on == "0.0.0.0"


@pytest.mark.parametrize(
    ("host", "expected"),
    [
        ("127.0.0.1", True),
        ("127.8.9.1", True),
        ("::1", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("::", False),
        ("localhost.example", False),
        ("10.1.2.3", False),
    ],
)
def test_loopback(host, expected):
    assert network.is_loopback(host) is expected


def test_the_demo_never_opens_a_folder_that_is_in_use(tmp_path):
    environ = {"GRIPCOUNT_DATA": str(tmp_path)}
    (tmp_path / "gripcount.sqlite3").touch()
    with pytest.raises(CannotStart, match="left alone"):
        supervisor.data_folder(ServeOptions(demo=True, fresh=True), environ)
    assert supervisor.data_folder(ServeOptions(), environ) == tmp_path


def test_a_shop_never_opens_the_demos_folder(tmp_path):
    environ = {"GRIPCOUNT_DATA": str(tmp_path)}
    supervisor.ready_folder(ServeOptions(demo=True), tmp_path)
    with pytest.raises(CannotStart, match="is the demo's"):
        supervisor.data_folder(ServeOptions(), environ)
    assert supervisor.data_folder(ServeOptions(demo=True), environ) == tmp_path


def test_fresh_empties_the_folder_and_nothing_beyond_it(tmp_path):
    demo, shop = tmp_path / "demo", tmp_path / "shop"
    demo.mkdir()
    shop.mkdir()
    (shop / "kept").touch()
    supervisor.ready_folder(ServeOptions(demo=True), demo)
    (demo / "gripcount.sqlite3").write_text("old")
    (demo / "link").symlink_to(shop, target_is_directory=True)
    supervisor.ready_folder(ServeOptions(demo=True), demo)
    assert (demo / "gripcount.sqlite3").exists()
    supervisor.ready_folder(ServeOptions(demo=True, fresh=True), demo)
    assert not (demo / "gripcount.sqlite3").exists()
    assert not (demo / "link").is_symlink()
    assert (shop / "kept").exists()
    assert (demo / supervisor.DEMO_MARK).exists()


def test_one_start_at_a_time_on_a_folder(tmp_path):
    with (
        supervisor.held(tmp_path),
        pytest.raises(CannotStart, match="already runs"),
        supervisor.held(tmp_path),
    ):
        pass
    with supervisor.held(tmp_path):
        assert (tmp_path / supervisor.LOCK).exists()


def test_the_demo_reaches_nothing_of_the_shops(tmp_path):
    shop = {f"GRIPCOUNT_{name}": "shop" for name in supervisor.NOT_IN_THE_DEMO}
    ours = supervisor.environment_for(
        ServeOptions(demo=True), tmp_path, {**shop, "HOME": "h"}
    )
    assert "shop" not in ours.values()
    assert ours["GRIPCOUNT_DEMO"] == "1"
    assert ours["HOME"] == "h"


def test_a_shop_keeps_what_its_owner_set(tmp_path):
    shop = {f"GRIPCOUNT_{name}": "shop" for name in supervisor.NOT_IN_THE_DEMO}
    shop["GRIPCOUNT_DEMO"] = "1"
    ours = supervisor.environment_for(ServeOptions(), tmp_path, shop)
    assert "GRIPCOUNT_DEMO" not in ours
    assert ours["GRIPCOUNT_DATABASE"] == "shop"
    assert ours["GRIPCOUNT_URL"] == "shop"
    assert ours["GRIPCOUNT_HOSTS"] == "shop,127.0.0.1"


def test_on_the_lan_the_shop_knows_its_own_names(tmp_path, monkeypatch):
    monkeypatch.setattr(network, "lan_addresses", lambda: ["192.168.1.5", "10.0.0.7"])
    monkeypatch.setattr(network, "lan_names", lambda: ["hangar", "hangar.local"])
    ours = supervisor.environment_for(ServeOptions(lan=True, port=8051), tmp_path, {})
    hosts = ours["GRIPCOUNT_HOSTS"].split(",")
    assert hosts == ["192.168.1.5", "10.0.0.7", "hangar", "hangar.local"]
    assert ours["GRIPCOUNT_URL"] == "http://192.168.1.5:8051"


@pytest.mark.parametrize(
    ("wish", "shown"),
    [
        (ServeOptions(demo=True), True),
        (ServeOptions(), False),
        (ServeOptions(host="10.1.1.1"), False),
    ],
)
def test_the_demos_sign_in_is_told_in_the_demo_only(tmp_path, capsys, wish, shown):
    supervisor.announce(wish, tmp_path, {})
    out = capsys.readouterr().out
    assert ("rivets-before-coffee" in out) is shown
    assert str(tmp_path) in out
    assert "Ctrl-C stops everything." in out


def test_a_lan_address_is_shown_as_a_code_too(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(network, "lan_addresses", lambda: ["192.168.1.5"])
    address = "http://192.168.1.5:8040"
    supervisor.announce(ServeOptions(lan=True), tmp_path, {"GRIPCOUNT_URL": address})
    out = capsys.readouterr().out
    assert f"{address}/" in out
    assert len([line for line in out.splitlines() if "█" in line or "▀" in line]) > 8


def test_without_zbar_one_sentence_says_what_to_install(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(supervisor, "has_zbar", lambda: False)
    supervisor.announce(ServeOptions(), tmp_path, {})
    assert "apt install libzbar0" in capsys.readouterr().out


def test_the_pause_before_a_restart_grows_to_half_a_minute():
    pauses = [children.pause_before_restart(n) for n in range(1, 10)]
    assert pauses == [0.25, 0.5, 1, 2, 4, 8, 16, 30, 30]


def test_a_log_that_has_grown_is_begun_anew(tmp_path, monkeypatch):
    monkeypatch.setattr(children, "LOG_LIMIT", 10)
    child = children.KeptProcess(
        "child", [sys.executable, "-c", ""], tmp_path / "logs" / "c"
    )
    child.log.parent.mkdir()
    child.log.write_text("short\n")
    child.start(os.environ)
    child.kill()
    assert child.log.read_text() == "short\n"
    child.log.write_text("far too long by now\n")
    child.start(os.environ)
    child.kill()
    assert child.log.read_text() == ""


@pytest.mark.slow
def test_a_dead_child_is_said_and_started_again_after_its_pause(tmp_path, capsys):
    line = [sys.executable, "-c", "import time; time.sleep(60)"]
    crew = children.Crew(
        [children.KeptProcess("helper", line, tmp_path / "log")], os.environ
    )
    crew.start()
    child = crew.children[0]
    first = child.process.pid
    os.kill(first, signal.SIGKILL)
    wait_for(lambda: crew.tend() == [child])
    assert "The helper stopped (code -9); again in 0.25 s" in capsys.readouterr().out
    assert not child.runs()
    assert crew.tend() == []
    assert not child.runs()
    wait_for(lambda: crew.tend() or child.runs())
    assert child.process.pid != first
    crew.stop()
    assert not child.runs()


@pytest.mark.slow
def test_one_that_will_not_stop_is_ended_with_all_it_started(tmp_path):
    child = children.KeptProcess(
        "mule", [sys.executable, "-c", STUBBORN], tmp_path / "log"
    )
    crew = children.Crew([child], os.environ)
    crew.start()
    wait_for(lambda: child.log.read_text().strip())
    grandchild = int(child.log.read_text())
    crew.stop(patience=0.5)
    assert not child.runs()
    assert child.process.returncode == -signal.SIGKILL
    wait_for(lambda: not is_alive(grandchild))


@pytest.mark.slow
def test_children_of_a_killed_supervisor_stop(tmp_path):
    code = (
        "import os, sys, time; from pathlib import Path;"
        "from inventory.config.supervisor_children import KeptProcess;"
        "c = KeptProcess('c', [sys.executable, '-c', 'import time; time.sleep(60)'],"
        f" Path({str(tmp_path / 'log')!r}));"
        "c.start(os.environ); print(c.process.pid, flush=True); time.sleep(60)"
    )
    line = [sys.executable, "-c", code]
    with subprocess.Popen(
        line, cwd=supervisor.ROOT, stdout=subprocess.PIPE, text=True
    ) as process:
        child = int(process.stdout.readline())
        assert is_alive(child)
        process.kill()
    wait_for(lambda: not is_alive(child))


def is_alive(pid):
    """Whether the process runs; one that only waits to be collected does not."""
    try:
        with open(f"/proc/{pid}/stat", encoding="ascii") as stat:
            return stat.read().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def wait_for(condition, seconds=120.0):
    deadline = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.02)
