"""Of one lot in one bin: who got how many of it, for sure, at most, and how likely any.

What is sure and what is possible follows from the numbers alone. The chance takes the
pieces of a bin to lie mixed: a pull is a draw without replacement, so that no piece of the
lot is in it with the hypergeometric probability C(N - k, q) / C(N, q); for k stand the
pieces of the lot that are to be expected there (not how those are spread: a choice).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import exp, floor, lgamma

HARDLY = 1e-4


@dataclass(frozen=True)
class Shift:
    """Pieces that came into a bin (`to` is None) or went out of it to a place.

    `least`, `most` and `likely` say how many of those that came in are of the lot; of
    those that came back `origin` is the place that had pulled them.
    """

    pieces: int
    to: int | None = None
    least: int = 0
    most: int = 0
    likely: float = 0.0
    origin: int | None = None


@dataclass(frozen=True)
class Share:
    """What a place got: pieces in all, and of the lot for sure, at most, probably.

    `chance` that it got any of the lot, where the pieces lay mixed.
    """

    pieces: int
    least: int
    most: int
    likely: float
    chance: float

    @property
    def words(self) -> str:
        """'30 to 40 of it', 'at most 12 of it, 34 % likely any'."""
        if not self.most:
            return "none of it by the record's numbers"
        if self.least == self.most:
            return f"{self.most:,} of it"
        if self.least:
            return f"{self.least:,} to {self.most:,} of it, probably {self.likely:,.0f}"
        return f"at most {self.most:,} of it; any at all: {self.chance_words}"

    @property
    def chance_words(self) -> str:
        """'34 %'; what is neither sure nor out of the question is never '0 %' or '100 %'."""
        if 0 < self.chance < 0.01:
            return "under 1 %"
        if 0.99 < self.chance < 1:
            return "over 99 %"
        return f"{self.chance * 100:.0f} %"

    def with_more(self, other: "Share") -> "Share":
        """This and what the same place got from elsewhere."""
        return Share(
            self.pieces + other.pieces,
            self.least + other.least,
            self.most + other.most,
            self.likely + other.likely,
            1.0 - (1.0 - self.chance) * (1.0 - other.chance),
        )


def shares(held: int, shifts: Sequence[Shift]) -> dict[int, Share]:
    """By place, what it has of a lot that came into a bin with `held` other pieces."""
    bin = _Bin(held)
    found = bin.after(shifts)
    arrived = sum(each.most for each in shifts)
    # Of what came for sure: what neither is left nor can have gone elsewhere.
    elsewhere = bin.most + sum(share.most for share in found.values())
    sure = sum(each.least for each in shifts) - elsewhere
    for place, share in found.items():
        spared = _Bin(held, spared=place)
        spared.after(shifts)
        chance = 1.0 - spared.missed
        most = min(arrived, share.most, share.pieces)
        least = min(max(share.least, sure + share.most), most)
        # What is neither sure nor out of the question is not said to be.
        chance = min(max(chance, HARDLY), 1.0 - HARDLY)
        chance = 1.0 if least else chance if most else 0.0
        found[place] = replace(share, least=least, most=most, chance=chance)
    return found


class _Bin:
    """Its pieces; of the lot the least, the most and those to be expected.

    What the place `spared` pulls is none of the lot; `missed` is the chance of that.
    """

    def __init__(self, held: int, spared: int | None = None) -> None:
        self.held, self.spared = max(0, held), spared
        self.least, self.most, self.likely, self.missed = 0, 0, 0.0, 1.0

    def after(self, shifts: Iterable[Shift]) -> dict[int, Share]:
        """By place, what it has when all of this has come and gone; not how likely any."""
        found: dict[int, Share] = {}
        for shift in shifts:
            if shift.to is not None:
                before = found.get(shift.to, Share(0, 0, 0, 0.0, 0.0))
                found[shift.to] = self._went(shift.pieces, before, shift.to)
                continue
            came, origin = shift, shift.origin
            if origin is not None and origin in found:
                came, found[origin] = _back(shift, found[origin])
            self.held += came.pieces
            self.least += came.least
            self.most += came.most
            self.likely += came.likely
        return found

    def _went(self, pieces: int, before: Share, to: int) -> Share:
        # More than the record holds was pulled: it held more.
        self.held = max(self.held, pieces)
        least = max(0, pieces - (self.held - self.least))
        most = min(pieces, self.most)
        likely = pieces * self.likely / self.held if self.held else 0.0
        if to == self.spared:
            self.missed *= undrawn(self.held, self.likely, pieces)
            likely = 0.0
        self.held -= pieces
        self.least = max(0, self.least - pieces)
        self.most = min(self.most - least, self.held)
        self.likely = min(self.likely - likely, float(self.held))
        return Share(
            before.pieces + pieces,
            before.least + least,
            before.most + most,
            before.likely + likely,
            chance=0.0,
        )


def _back(shift: Shift, had: Share) -> tuple[Shift, Share]:
    """What came back from a place, and what that has left."""
    pieces = min(shift.pieces, had.pieces)
    likely = pieces * had.likely / had.pieces if had.pieces else 0.0
    came = replace(shift, most=min(pieces, had.most), likely=likely)
    left = replace(
        had,
        pieces=had.pieces - pieces,
        least=max(0, had.least - pieces),
        likely=had.likely - likely,
    )
    return came, left


def undrawn(held: int, of_it: float, drawn: int) -> float:
    """C(held - of_it, drawn) / C(held, drawn): the chance that none of `of_it` is drawn.

    Where that is no whole number, between those of the two that it lies between.
    """
    whole = floor(of_it)
    part = of_it - whole
    none = _undrawn(held, whole, drawn)
    return (
        none
        if not part
        else (1 - part) * none + part * _undrawn(held, whole + 1, drawn)
    )


def _undrawn(held: int, of_it: int, drawn: int) -> float:
    others = held - of_it
    if not of_it or not drawn:
        return 1.0
    if drawn > others:
        return 0.0
    return exp(
        lgamma(others + 1)
        - lgamma(others - drawn + 1)
        - lgamma(held + 1)
        + lgamma(held - drawn + 1)
    )
