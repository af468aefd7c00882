"""How many different callouts are read in a second, beside JSON of the same readings."""

import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import asdict
from itertools import product

from inventory.errors import Refused
from inventory.management.measures.shape import PASSES, Measure, MeasuredRow, rates
from inventory.trade import tables
from inventory.trade.callouts import Reading, parse
from inventory.trade.questions.shape import plain

TARGET = 20_000
_HALVES = ("3", "3.5", "4", "4.5", "5", "6", "7", "8", "10", "12")
_BOLT_DASHES = [str(dash) for dash in range(3, 28) if dash % 10 < 8]
_KEPT = [f"AN742-{dash}" for dash in range(1, 33)]


def take() -> tuple[MeasuredRow, ...]:
    """The rate over every sample, and its ratio to the rate of json.loads."""
    read = samples()
    texts = list(read)
    documents = [json.dumps(plain(asdict(each))) for each in read.values()]
    ours, theirs = rates(
        len(texts),
        lambda: [parse(text) for text in texts],
        lambda: [json.loads(document) for document in documents],
    )
    return (
        MeasuredRow(
            name="callouts",
            figure=ours,
            unit="a second",
            ratio=ours / theirs,
            against="json.loads of the same readings",
            target=TARGET,
            how=_how(list(read.values()), documents),
        ),
    )


def _how(read: list[Reading], documents: list[str]) -> str:
    kinds = len({each.kind for each in read})
    long = sum(map(len, documents)) // len(documents)
    return (
        f"{len(read):,} different callouts of {kinds} kinds, each once a pass; one "
        f"warm-up pass, then the middle of {PASSES}; JSON of {long} characters each"
    )


def samples() -> dict[str, Reading]:
    """Different callouts of every kind, each with what it reads as."""
    read = {}
    for text in _candidates():
        # The grammars are crossed freely: some sizes are in no table.
        with suppress(Refused):
            read[text] = parse(text)
    return read


def _candidates() -> Iterator[str]:
    for row in tables.rows("standards"):
        for tail in _tails(row):
            yield row["standard"] + tail
    for row in tables.rows("bolts"):
        for parts in product(("-", "C", "DD", "H"), _BOLT_DASHES, ("", "A")):
            yield row["standard"] + "".join(parts)
    yield from _KEPT


def _tails(row: Mapping[str, str]) -> Iterable[str]:
    """What may follow a standard, column by column of its grammar."""
    letters = _letters(row)
    metals = [letter or "-" for letter in letters]
    columns: dict[str, tuple[Iterable[str], ...]] = {
        "rivet": (letters, "3456", "-", _HALVES),
        "blind": (letters, "34568", "-W", "12345678"),
        "pin": ("-", ("8", "10", "12", "14"), "-", map(str, range(1, 17))),
        "screw_thread": (metals, _codes("thread"), "-R", ("4", "6", "8", "12")),
        "screw_dash": ("-", letters, _column("screw_dashes", "dash")),
        "screw_unlisted": ("-", letters, _column("screw_dashes", "dash")),
        "screw_ms27039": (metals, _codes("ms27039"), "-", ("06", "08", "10", "12")),
        "nut_thread": ("-", _codes("thread"), letters),
        "nut_sixteenth": (metals, _codes("sixteenth")),
        "washer_an960": (metals, _column("washers", "size"), ("", "L")),
        "washer_nas1149": (letters, ("03", "04", "05"), ("16", "32", "63"), "PJHR"),
        "cotter": ("-", "12345678", "-", "12345678"),
        "cotter_dash": ("-", _column("cotter_dashes", "dash")),
    }
    return map("".join, product(*columns[row["grammar"]]))


def _letters(row: Mapping[str, str]) -> list[str]:
    if row["grammar"] == "rivet":
        return row["letters"].split()
    return [pair.partition(":")[0] for pair in row["letters"].split(";")]


def _codes(scheme: str) -> list[str]:
    return [row["code"] for row in tables.rows("threads") if row["scheme"] == scheme]


def _column(table: str, name: str) -> list[str]:
    return [row[name] for row in tables.rows(table)]


MEASURE = Measure(
    name="callouts",
    tells="how many different callouts are read in a second",
    take=take,
)
