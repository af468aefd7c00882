"""`serve`: the web, the worker and its clock on one data folder, under one command.

Standard library only. The children get their settings through the environment.
"""

import argparse
import fcntl
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from inventory.config import demo as demo_sign_in
from inventory.config import paths
from inventory.config import supervisor_network as network
from inventory.config.bootstrap import ROOT, CannotStart, has_zbar, say
from inventory.config.supervisor_children import Crew, KeptProcess, die_with

PORT = 8040
LOCK = "lock"
DEMO_MARK = "this-is-the-demo"
FIRST_PAGE_WITHIN = 60.0
# What a stranger can hold: a connection is no thread until its whole request has come.
# A photo of 12 MB and its form; who sends nothing for so long is cut off.
THREADS, MOST_CONNECTIONS, SILENT_SECONDS = 6, 900, 20
MOST_BYTES = 13 * 1024 * 1024
# A demo that could reach the shop's database, mail or messages would not be one.
NOT_IN_THE_DEMO = ("DATABASE", "BROKER", "SMTP", "HOSTS", "URL")


@dataclass(frozen=True)
class ServeOptions:
    """What was asked for on the command line."""

    demo: bool = False
    fresh: bool = False
    lan: bool = False
    host: str | None = None
    port: int = PORT

    @property
    def listen_on(self) -> str:
        """The address the web server binds."""
        return "0.0.0.0" if self.lan else self.host or "127.0.0.1"

    def check(self) -> None:
        """Refuse what must not be combined."""
        if self.fresh and not self.demo:
            raise CannotStart("--fresh empties the demo only: use it with --demo.")
        if self.lan and self.host:
            raise CannotStart("--lan listens on every address: leave out --host.")
        if self.demo and not network.is_loopback(self.listen_on):
            raise CannotStart(
                "The demo's password is known to all, so the demo is served to this"
                " machine only. Leave out --lan and --host, or start your own shop."
            )


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The options of `serve`."""
    add = parser.add_argument
    add("--demo", action="store_true", help="a made-up shop, apart from your own")
    add("--fresh", action="store_true", help="with --demo: begin the demo anew")
    add("--lan", action="store_true", help="let phones in the workshop reach it")
    add("--host", help="listen on this address only (127.0.0.1)")
    add("--port", type=int, default=PORT, help=f"listen on this port ({PORT})")


def main(arguments: Sequence[str]) -> int:
    """Serve as asked on the command line, until told to stop; the exit code."""
    parser = argparse.ArgumentParser(prog="manage.py serve", description=__doc__)
    add_arguments(parser)
    return serve(ServeOptions(**vars(parser.parse_args(arguments))))


def serve(wish: ServeOptions) -> int:
    """Serve until told to stop; the exit code."""
    try:
        wish.check()
        folder = data_folder(wish, os.environ)
        with held(folder):
            return serve_folder(wish, folder)
    except CannotStart as reason:
        print(reason, file=sys.stderr, flush=True)
        return 2


def serve_folder(wish: ServeOptions, folder: Path) -> int:
    """Make the folder ready, start the children, stay with them."""
    if not network.port_is_free(wish.listen_on, wish.port):
        raise CannotStart(
            f"Port {wish.port} on {wish.listen_on} is taken or not ours to have."
            " Choose another with --port."
        )
    ready_folder(wish, folder)
    environ = environment_for(wish, folder, os.environ)
    code = prepare(environ)
    if code != 0:
        return code
    crew = Crew(children_for(wish, folder, environ), environ)
    crew.listen()
    crew.start()
    try:
        return stay(wish, folder, crew, environ)
    finally:
        crew.stop()


def data_folder(wish: ServeOptions, environ: Mapping[str, str]) -> Path:
    """The folder to serve; the demo and the shop never share one."""
    given = environ.get("GRIPCOUNT_DATA")
    folder = Path(given) if given else paths.shop_folder(demo=wish.demo)
    folder = folder.expanduser().absolute()
    is_demo = (folder / DEMO_MARK).exists()
    is_used = folder.is_dir() and any(each.name != LOCK for each in folder.iterdir())
    if wish.demo and is_used and not is_demo:
        raise CannotStart(f"{folder} holds something else than the demo: left alone.")
    if is_demo and not wish.demo:
        raise CannotStart(f"{folder} is the demo's. Name another in GRIPCOUNT_DATA.")
    return folder


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold the folder for this process alone; its end, however it comes, lets go."""
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        lock = open(folder / LOCK, "w", encoding="ascii")  # noqa: SIM115 - held below
    except OSError as error:
        raise CannotStart(f"{folder} cannot be written: {error.strerror}.") from None
    with lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise CannotStart(
                f"Gripcount already runs on {folder}. Stop that one first (Ctrl-C)."
            ) from None
        yield


def ready_folder(wish: ServeOptions, folder: Path) -> None:
    """Empty the demo if asked; make what every folder has."""
    if wish.fresh:
        for each in folder.iterdir():
            if each.is_dir() and not each.is_symlink():
                shutil.rmtree(each)
            elif each.name != LOCK:
                each.unlink()
    if wish.demo:
        (folder / DEMO_MARK).touch()
    paths.prepare(folder)


def environment_for(
    wish: ServeOptions, folder: Path, environ: Mapping[str, str]
) -> dict[str, str]:
    """The children's environment: ours, and where and how this shop is served."""
    ours = {**environ, "GRIPCOUNT_DATA": str(folder)}
    ours.setdefault("DJANGO_SETTINGS_MODULE", "inventory.config.settings")
    ours.pop("GRIPCOUNT_DEMO", None)
    if wish.demo:
        for name in NOT_IN_THE_DEMO:
            ours.pop(f"GRIPCOUNT_{name}", None)
        ours["GRIPCOUNT_DEMO"] = "1"
    hosts = [host for host in ours.get("GRIPCOUNT_HOSTS", "").split(",") if host]
    hosts += [host for host in reached_as(wish) if host not in hosts]
    ours["GRIPCOUNT_HOSTS"] = ",".join(hosts)
    ours.setdefault("GRIPCOUNT_URL", network.url(front(wish), wish.port))
    return ours


def reached_as(wish: ServeOptions) -> list[str]:
    """Every name a browser may call this shop by, the one to print first."""
    if wish.listen_on not in network.EVERY_ADDRESS:
        return [wish.listen_on]
    return [*network.lan_addresses(), *network.lan_names()]


def front(wish: ServeOptions) -> str:
    """The one address to print and to put in links."""
    return reached_as(wish)[0]


def prepare(environ: Mapping[str, str]) -> int:
    """Bring the tables up to date and see to a sign-in; 0 if the shop may open."""
    line = [sys.executable, "-m", "inventory.config.supervisor_prepare"]
    try:
        done = subprocess.run(
            line, env=environ, cwd=ROOT, check=False, preexec_fn=die_with(os.getpid())
        )
    except KeyboardInterrupt:
        return 130
    if done.returncode not in (0, 130):
        say("Nothing was started, for the reason above.")
    return done.returncode


def children_for(
    wish: ServeOptions, folder: Path, environ: Mapping[str, str]
) -> list[KeptProcess]:
    """The web server, and the worker with its clock inside."""
    web = (
        f"waitress --listen={network.url(wish.listen_on, wish.port).partition('//')[2]}"
    )
    web += f" --threads={THREADS} --connection-limit={MOST_CONNECTIONS}"
    web += f" --channel-timeout={SILENT_SECONDS} --cleanup-interval=5"
    web += f" --max-request-body-size={MOST_BYTES} --asyncore-use-poll --ident="
    if environ.get("GRIPCOUNT_HTTPS") == "1":
        # The proxy that holds the certificate says how it was asked.
        web += f" --trusted-proxy={environ.get('GRIPCOUNT_PROXY', '127.0.0.1')}"
        web += " --trusted-proxy-headers=x-forwarded-proto"
    web += " inventory.config.wsgi:application"
    # No events between workers: they would only wear the disk of an embedded broker.
    worker = "celery -A inventory.config.celery worker --pool threads --concurrency 2"
    worker += " --loglevel warning --without-gossip --without-mingle"
    worker += " --without-heartbeat --queues celery,plans --clock"
    run, logs = [sys.executable, "-m"], folder / "logs"
    schedule = str(folder / "beat-schedule")
    return [
        KeptProcess("web server", [*run, *web.split()], logs / "web.log"),
        KeptProcess("worker", [*run, *worker.split(), schedule], logs / "worker.log"),
    ]


def stay(
    wish: ServeOptions, folder: Path, crew: Crew, environ: Mapping[str, str]
) -> int:
    """Wait for the first page, say where it is, then mind the children."""
    if not first_page(wish, crew):
        return 1 if crew.signals == 0 else 0
    announce(wish, folder, environ)
    while crew.signals == 0:
        time.sleep(0.2)
        crew.tend()
    say("Stopping.")
    return 0


def first_page(wish: ServeOptions, crew: Crew) -> bool:
    """Whether the first page came; a child that cannot even start is said."""
    deadline = time.monotonic() + FIRST_PAGE_WITHIN
    while crew.signals == 0 and time.monotonic() < deadline:
        if network.answers(wish.listen_on, wish.port):
            return True
        failed = [child for child in crew.children if not child.runs()]
        if failed:
            say(f"The {failed[0].name} does not start. Its last words:")
            say(failed[0].last_words())
            return False
        time.sleep(0.05)
    if crew.signals == 0:
        web = crew.children[0]
        say(f"No first page within {FIRST_PAGE_WITHIN:.0f} s. The log is {web.log}")
    return False


def announce(wish: ServeOptions, folder: Path, environ: Mapping[str, str]) -> None:
    """Say where the shop is and how to stop it."""
    address = network.url(front(wish), wish.port)
    say(f"Gripcount:    {address}/")
    if wish.demo:
        say(f"Sign in as:   {demo_sign_in.DEMO_NAME}")
        say(f"Password:     {demo_sign_in.DEMO_PASSWORD}")
    say(f"Data folder:  {folder}")
    if not has_zbar():
        say("Photos are not decoded without libzbar: apt install libzbar0")
    if wish.lan:
        say("On the phone, in the same network:")
        print_qr(environ["GRIPCOUNT_URL"])
    say("Ctrl-C stops everything.")


def print_qr(address: str) -> None:
    """The address as a QR code in the terminal."""
    import segno

    dense = "utf" in (sys.stdout.encoding or "").lower()
    segno.make_qr(address).terminal(compact=dense)
