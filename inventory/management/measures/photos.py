"""How many labels of a seeded set of photos are read, beside one plain reader."""

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from statistics import fmean, median, quantiles

from inventory.management.measures.shape import AtMost, Measure, MeasuredRow

# Tuned on seeds 1 and 2; a claim is made on a seed nobody tuned on.
SEED, COUNT, LEAST, LEVELS = 5, 250, 20, 5
ALL, EASY, FOURTH, MS = 79.0, 95.0, 85.0, 60.0
PLAIN = "pyzbar on the whole picture"

Reads = Callable[[bytes], Iterable[str]]


@dataclass(frozen=True)
class Try:
    """One picture shown to one reader: its level, how it went, CPU milliseconds."""

    level: int
    read: bool
    wrong: int
    ms: float


def take(seed: int = SEED, count: int = COUNT) -> tuple[MeasuredRow, ...]:
    """Shares read by level, wrong payloads, CPU milliseconds a picture."""
    from inventory.management.measures.photos_set import photo
    from inventory.photos.ladder import decode

    def ladder(data: bytes) -> list[str]:
        return [row["text"] for row in decode(data)]

    count = max(count, LEAST)
    ours, theirs = [], []
    for at in range(count):
        shown = photo(seed, at)
        ours.append(_tried(ladder, shown.jpeg, shown.level, shown.payloads))
        theirs.append(_tried(_plain, shown.jpeg, shown.level, shown.payloads))
    how = (
        f"{count:,} pictures of 1280 x 960, seed {seed}, five levels; a picture is read "
        "when a payload is exactly what its label says"
    )
    return (*_shares(ours, theirs, how), _wrong(ours, how), *_times(ours, theirs, how))


def _plain(data: bytes) -> list[str]:
    """The reference: one reader, the whole picture in grey, nothing else."""
    from PIL import Image
    from pyzbar import pyzbar

    from inventory.photos.pictures import grey

    symbols = [pyzbar.ZBarSymbol.QRCODE, pyzbar.ZBarSymbol.CODE128]
    picture = Image.fromarray(grey(data, 1))
    rows = pyzbar.decode(picture, symbols=symbols)
    return [row.data.decode("utf-8", "replace") for row in rows]


def _tried(reads: Reads, data: bytes, level: int, wanted: frozenset[str]) -> Try:
    started = time.process_time()
    found = set(reads(data))
    ms = (time.process_time() - started) * 1000
    return Try(level, bool(found & wanted), len(found - wanted), ms)


def _shares(ours: list[Try], theirs: list[Try], how: str) -> list[MeasuredRow]:
    levels = range(1, LEVELS + 1)
    wanted = {4: FOURTH}
    named: list[tuple[str, Iterable[int], float | None]] = [
        ("photos", levels, ALL),
        ("photos, levels 1 to 3", (1, 2, 3), EASY),
    ]
    named += [(f"photos, level {at}", (at,), wanted.get(at)) for at in levels]
    return [
        MeasuredRow(
            name=name,
            figure=_share(ours, chosen),
            unit="% read",
            ratio=_share(ours, chosen) / max(_share(theirs, chosen), 0.01),
            against=f"{PLAIN} ({_share(theirs, chosen):.1f} %)",
            target=target,
            how=how,
        )
        for name, chosen, target in named
    ]


def _share(tries: list[Try], levels: Iterable[int]) -> float:
    """The mean of the levels' shares, in per cent; every level counts alike."""
    return 100 * fmean(
        fmean(each.read for each in tries if each.level == level) for level in levels
    )


def _wrong(ours: list[Try], how: str) -> MeasuredRow:
    wrong = sum(each.wrong for each in ours)
    return AtMost(
        name="photos, wrong payloads",
        figure=wrong,
        unit="payloads",
        ratio=wrong / len(ours),
        against="the pictures shown",
        target=0.0,
        how=how,
    )


def _times(ours: list[Try], theirs: list[Try], how: str) -> list[MeasuredRow]:
    measures: tuple[tuple[str, Callable[[list[float]], float], float | None], ...] = (
        ("median", median, MS),
        ("mean", fmean, None),
        ("nine in ten within", lambda ms: quantiles(ms, n=10)[-1], None),
    )
    mine, other = ([each.ms for each in tries] for tries in (ours, theirs))
    return [
        AtMost(
            name=f"photos, time, {name}",
            figure=of(mine),
            unit="ms CPU",
            ratio=of(mine) / of(other),
            against=f"{PLAIN} ({of(other):.0f} ms)",
            target=target,
            how=f"opening the JPEG included; {how}",
        )
        for name, of, target in measures
    ]


MEASURE = Measure(
    name="photos",
    tells="how many labels of a seeded set of photos are read",
    take=take,
    options=("seed", "count"),
)
