"""What was read, by whom, where; and which of it is believed."""

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from inventory.errors import Refused
from inventory.trade import codes

BARS, SQUARES, CODE_39, EAN = "Code 128", "QR Code", "Code 39", "EAN"
# One reader's wrong foreign texts all had quality 1; none of thousands had 2 (measured).
TRUSTED_QUALITY = 2
FOREIGN_LENGTH = 12
# Two readings this share of a symbol's length apart are of the same symbol.
SAME_PLACE = 0.15


@dataclass(frozen=True, slots=True)
class Sighting:
    """One symbol as one reader saw it: its middle and length in picture pixels.

    `witness` names reader and treatment: readings of one witness are no two witnesses.
    """

    text: str
    symbology: str
    witness: str
    middle: tuple[float, float]
    length: float
    quality: int = 0
    identifier: str = ""

    def same_place(self, other: "Sighting") -> bool:
        """Whether both saw the same symbol."""
        near = SAME_PLACE * max(self.length, other.length)
        same_kind = self.symbology == other.symbology
        return same_kind and math.dist(self.middle, other.middle) <= near


def own_code(text: str) -> str:
    """The own code a text is, or that an address ends in; '' for anything else."""
    try:
        last = urlsplit(text).path.rsplit("/", 1)[-1] if "/" in text else text
        own = codes.read(last)
    except (Refused, ValueError):
        return ""
    return own.code if own.code == last.upper() else ""


def checked(text: str) -> bool:
    """Whether a foreign text is twelve characters with their MOD 37,36 check."""
    return len(text) == FOREIGN_LENGTH and codes.mod_37_36_valid(text)


def _misread_own(text: str) -> bool:
    try:
        codes.read(text)
    except Refused as error:
        return error.code == "code.check"
    return False


@dataclass
class Seen:
    """Every reading so far, and whether those of suppliers' symbols count."""

    receiving: bool = False
    readings: list[Sighting] = field(default_factory=list)

    def note(self, readings: Iterable[Sighting]) -> None:
        """Keep them; an own code that fails its check is a misreading."""
        for each in readings:
            if each.text and not _misread_own(each.text):
                self.readings.append(each)

    def believed(self) -> list[Sighting]:
        """Readings that need no other witness: own codes, and foreign ones sworn to.

        At receiving a bag has several codes: none is believed until all are.
        """
        believed = [
            row
            for text, rows in self._by_text().items()
            if own_code(text) or (self._wanted(rows[0]) and self._sworn(rows))
            for row in rows
        ]
        return [] if self.receiving and len(believed) < len(self.readings) else believed

    def answer(self) -> list[dict[str, str]]:
        """What is believed, own codes first: text, kind, code, symbology, identifier.

        The kinds: own, address, foreign, 'foreign, checked', and supplier, which is
        everything else that was asked for at receiving.
        """
        believed = [
            _row(rows, receiving=self.receiving)
            for rows in self._by_text().values()
            if self._believed(rows)
        ]
        return sorted(believed, key=lambda row: row["code"] == "")

    def _by_text(self) -> dict[str, list[Sighting]]:
        found: dict[str, list[Sighting]] = defaultdict(list)
        for each in self.readings:
            found[each.text].append(each)
        return found

    def _believed(self, rows: list[Sighting]) -> bool:
        text = rows[0].text
        if not own_code(text):
            enough = checked(text) or self._sworn(rows)
            if not self._wanted(rows[0]) or not enough:
                return False
        return not self._outvoted(rows)

    def _wanted(self, reading: Sighting) -> bool:
        return self.receiving or reading.symbology == BARS

    def _sworn(self, rows: list[Sighting]) -> bool:
        """Two witnesses, one of good quality, or a symbology that corrects errors."""
        good = any(row.quality >= TRUSTED_QUALITY for row in rows)
        sure = rows[0].symbology not in (BARS, CODE_39, EAN)
        return good or sure or len({row.witness for row in rows}) > 1

    def _outvoted(self, rows: list[Sighting]) -> bool:
        """Whether as many witnesses read another text in the same place."""
        here = {row.witness for row in rows}
        against: dict[str, set[str]] = defaultdict(set)
        for other in self.readings:
            if other.text != rows[0].text and any(map(other.same_place, rows)):
                against[other.text].add(other.witness)
        return any(len(each) >= len(here) for each in against.values())


def _row(rows: list[Sighting], *, receiving: bool) -> dict[str, str]:
    first = rows[0]
    code = own_code(first.text)
    identifier = next((row.identifier for row in rows if row.identifier), "")
    if code:
        kind = "address" if "/" in first.text else "own"
    elif receiving:
        kind = "supplier"
    else:
        kind = "foreign, checked" if checked(first.text) else "foreign"
    return {
        "text": first.text,
        "kind": kind,
        "code": code,
        "symbology": first.symbology,
        "identifier": identifier,
    }
