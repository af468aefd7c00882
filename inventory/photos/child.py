"""The process that opens pictures: `python -m inventory.photos.child`.

Pictures come in on stdin, one after another: a letter that says what is wanted, four
bytes of length, the bytes. One line of JSON goes out for each. It runs apart because
decoders have died on pictures before; its limits are its own, and the parent answers for
it. It ends when its stdin ends.
"""

import base64
import json
import resource
import sys
from typing import Any, BinaryIO

MEMORY, CPU_SECONDS, FILES = 512 * 1024 * 1024, 10, 32
BENCH, RECEIVING, EVIDENCE = b"b", b"r", b"e"


def set_limits() -> None:
    """Memory and files for good; processor time anew for each picture.

    The memory is what it may fill; libraries that are only mapped do not count.
    """
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_NOFILE, (FILES, FILES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def grant_time() -> None:
    """So many seconds of the processor from now on; past them this process is killed."""
    usage = resource.getrusage(resource.RUSAGE_SELF)
    spent = int(usage.ru_utime + usage.ru_stime)
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    resource.setrlimit(resource.RLIMIT_CPU, (spent + CPU_SECONDS, hard))


def answer(wanted: bytes, data: bytes) -> dict[str, Any]:
    """What was found, or why the picture cannot be used."""
    from inventory.photos import ladder
    from inventory.photos.pictures import Unusable, evidence

    try:
        if wanted == EVIDENCE:
            return {"picture": base64.b64encode(evidence(data)).decode()}
        found = ladder.decode(data, receiving=wanted == RECEIVING)
    except Unusable as reason:
        return {"refused": str(reason)}
    except MemoryError:
        return {"refused": "too_many_pixels"}
    return {"found": found}


def main(source: BinaryIO) -> int:
    """Limits first, then picture after picture."""
    set_limits()
    while len(head := source.read(5)) == 5:
        data = source.read(int.from_bytes(head[1:], "big"))
        grant_time()
        print(json.dumps(answer(head[:1], data)), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.stdin.buffer))
