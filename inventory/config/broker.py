"""The embedded broker: kombu's filesystem transport, made safe to read while written.

The stock one writes a message in place and reads without a lock, so a reader can meet
half a message, and one such file ends the worker. Here a file appears whole or not at
all, is claimed by one rename, and what cannot be read is put aside and said.
A message still leaves the disk when it is fetched: it may only ever be a wake-up.
"""

import fcntl
import logging
import os
import time
import uuid
from pathlib import Path
from queue import Empty
from typing import Any

from kombu.exceptions import ChannelError
from kombu.transport import filesystem, virtual
from kombu.utils.json import dumps, loads

log = logging.getLogger(__name__)


def publish(target: Path, value: object) -> None:
    """Write `value` as JSON so that `target` is whole from its first moment."""
    aside = target.with_name(f".{target.name}.{uuid.uuid4()}.part")
    try:
        aside.write_text(dumps(value), encoding="utf-8")
        os.replace(aside, target)
    except OSError as error:
        raise ChannelError(f"Cannot write {target}") from error


class Channel(filesystem.Channel):
    """A channel whose files are whole."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for folder in (self.data_folder_in, self.processed_folder, self.control_folder):
            Path(folder).mkdir(parents=True, exist_ok=True)

    # The stubs name the second argument in two ways, so no signature fits both.
    def _put(  # type: ignore[override]
        self, queue: str, payload: Any, **_kwargs: Any
    ) -> None:
        # By the wall clock, so that the order outlives a reboot.
        name = f"{time.time_ns()}_{uuid.uuid4()}.{queue}.msg"
        publish(Path(self.data_folder_out) / name, payload)

    def _get(self, queue: str, timeout: float | None = None) -> Any:
        for name in sorted(os.listdir(self.data_folder_in)):
            if name.partition(".")[2] == f"{queue}.msg":
                message = self._claim(name)
                if message is not None:
                    return message
        raise Empty

    def _claim(self, name: str) -> Any:
        """The message in file `name`; None if another took it or it is none."""
        mine = Path(self.processed_folder) / name
        try:
            os.rename(Path(self.data_folder_in) / name, mine)
        except OSError:
            return None
        try:
            message = loads(mine.read_bytes())
            # What kombu looks up without asking, once the message is its own.
            _needed = message["body"], message["headers"], message["properties"]
            _needed[2]["delivery_tag"], _needed[2]["delivery_info"]["exchange"]
        except (OSError, ValueError, LookupError, TypeError) as error:
            log.warning("put aside %s: not a message (%s)", mine, error)
            return None
        mine.unlink()
        return message

    def get_table(self, exchange: str) -> list[Any]:
        try:
            return list(super().get_table(exchange))
        except (ValueError, TypeError) as error:
            log.warning("bindings of %s made anew: %s", exchange, error)
            return []

    def _queue_bind(
        self,
        exchange: str,
        routing_key: str | None,
        pattern: str | None,
        queue: str | None,
    ) -> None:
        row = filesystem.exchange_queue_t(routing_key or "", pattern or "", queue or "")
        # One writer at a time, on a file of its own: the table's file is replaced.
        with open(self.control_folder / ".lock", "w", encoding="ascii") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            table = self.get_table(exchange)
            if row not in table:
                file = self.control_folder / f"{exchange}.exchange"
                publish(file, [row, *table])


class Transport(filesystem.Transport):
    """What Celery is told to use for `filesystem://`."""

    Channel = Channel

    def __init__(self, client: Any, **kwargs: Any) -> None:
        super().__init__(client, **kwargs)
        # The stock one remembers bindings for the whole process and then no longer
        # writes them, so that messages to another or a renewed folder go nowhere.
        self.state = virtual.BrokerState()
