"""What a callout says once it is read, and how its reader refuses."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused

Grip = tuple[Fraction | None, Fraction]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One part, read from its callout. Lengths are exact inches.

    `key` is the same for equivalent callouts and different for everything else.
    `grip_in` is (least, most); the least is None where the source does not give it.
    `nominal_in` is a bolt's length as its dash says it, `length_in` the real one.
    `certainty` and `source` say where the reading's rule comes from.
    """

    kind: str
    standard: str
    callout: str
    key: str
    words: str
    meaning: str
    head: str = ""
    head_words: str = ""
    alloy: str = ""
    alloy_words: str = ""
    diameter_in: Fraction | None = None
    length_in: Fraction | None = None
    nominal_in: Fraction | None = None
    thickness_in: Fraction | None = None
    grip_in: Grip | None = None
    thread: str = ""
    equivalents: tuple[str, ...] = ()
    heat_treat: bool = False
    source: str = ""
    certainty: str = ""


@dataclass(frozen=True, slots=True)
class SplitCallout:
    """A callout split into its standard's row and what follows it."""

    text: str
    row: Mapping[str, str]
    tail: str

    @property
    def standard(self) -> str:
        return self.row["standard"]


def refusal(code: str, text: str, expected: str) -> Refused:
    """A refused callout: what was expected and what came."""
    expecting = "Unknown dash: expected" if code == "unknown_dash" else "Expected"
    return Refused(
        f"callout.{code}",
        f"{expecting} {expected}; got '{text}'.",
        {"text": text, "expected": expected},
    )


def material(part: SplitCallout, letter: str) -> str:
    """The material a letter stands for in this standard.

    Raises Refused callout.incomplete without a letter where one is needed, and
    callout.unknown for a letter the standard does not have.
    """
    known = dict(pair.split(":") for pair in part.row["letters"].split(";"))
    if letter in known:
        return known[letter]
    expected = f"{part.standard} with a material letter, one of " + ", ".join(
        name for name in known if name
    )
    raise refusal("unknown" if letter else "incomplete", part.text, expected)
