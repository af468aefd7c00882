"""Why a number is what it is: a figure that opens into what it was reckoned from."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Reason:
    """A figure, what it counts, the rule or record behind it, and its parts."""

    number: float
    words: str
    source: str = ""
    parts: tuple["Reason", ...] = ()

    def as_data(self) -> dict[str, object]:
        """The same for a program."""
        return {
            "number": self.number,
            "words": self.words,
            "source": self.source,
            "parts": [part.as_data() for part in self.parts],
        }
