"""The plan of an aircraft: its parts, and what each stage asks of them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Part:
    """One item: its callout, class, the grams of a piece, and the length next to it.

    `neighbour` is the index of the part whose tin is taken by mistake, if there is one.
    """

    callout: str
    spoilage_class: str
    grams: float
    neighbour: int | None = None


@dataclass(frozen=True)
class Chunk:
    """What one assembly asks of one part."""

    part: int
    need: int


@dataclass(frozen=True)
class Aircraft:
    """Parts, and for each stage its assemblies as chunks in working order."""

    name: str
    parts: Sequence[Part]
    stages: Sequence[Sequence[Chunk]]

    def needs(self) -> np.ndarray:
        """Pieces by stage and part."""
        found = np.zeros((len(self.stages), len(self.parts)), dtype=int)
        for at, stage in enumerate(self.stages):
            for chunk in stage:
                found[at, chunk.part] += chunk.need
        return found
