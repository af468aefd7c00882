"""The ledger's words and its pure arithmetic."""

import hashlib
import json
import math
import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from inventory.errors import Refused

MAX_QUANTITY = 1_000_000
# After so many failures in a row an item's forecast is left to a person.
MOST_ATTEMPTS = 5
# A client's id has the form of a UUID (RFC 9562), and so many characters.
SCAN_ID, SCAN_ID_LENGTH = "[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}", 36

BIN = "bin"
ASSEMBLY = "assembly"
BORROWER = "borrower"
LENDER = "lender"
SUPPLIER = "supplier"
SCRAP = "scrap"
UNPLANNED = "unplanned"
COUNT_DIFFERENCE = "count_difference"
MERGED = "merged"
# The reason under which an opening list books what it says a bin holds.
OPENING = "opening stock"
PLACE_KINDS = {
    BIN: "bin",
    ASSEMBLY: "assembly in work",
    BORROWER: "borrower",
    LENDER: "lender",
    SUPPLIER: "supplier",
    SCRAP: "scrap",
    UNPLANNED: "used outside the plan",
    COUNT_DIFFERENCE: "count difference",
    MERGED: "merged items",
}
# What may stand below zero: what the world still owes us, what nobody can explain, and
# what was recorded as another item.
OPEN_ENDED = frozenset({SUPPLIER, LENDER, COUNT_DIFFERENCE, MERGED})
# People outside the shop: one place each by name.
NAMED_ONCE = frozenset({BORROWER, LENDER})
SINGLE = frozenset({SCRAP, UNPLANNED, COUNT_DIFFERENCE, MERGED})


class BinOrder(StrEnum):
    """In which order bins are listed."""

    NUMBER = "number"
    WHAT = "what"
    FEWEST = "fewest"
    COUNTED = "counted"

    @property
    def words(self) -> str:
        """As a page says it."""
        return {
            BinOrder.NUMBER: "by number",
            BinOrder.WHAT: "by what they hold",
            BinOrder.FEWEST: "fewest first",
            BinOrder.COUNTED: "longest not counted",
        }[self]


class Verb(StrEnum):
    """What a person does with pieces; an act has one."""

    PULL = "pull"
    RETURN = "return"
    COUNT = "count"
    LOOK = "look"
    RECEIVE = "receive"
    SCRAP = "scrap"
    LEND = "lend"
    MOVE = "move"
    MERGE = "merge"
    UNDO = "undo"

    @property
    def past(self) -> str:
        """As the record says it."""
        return _PAST[self]


_PAST = {
    Verb.PULL: "pulled",
    Verb.RETURN: "returned",
    Verb.COUNT: "counted",
    Verb.LOOK: "looked",
    Verb.RECEIVE: "received",
    Verb.SCRAP: "scrapped",
    Verb.LEND: "lent",
    Verb.MOVE: "moved",
    Verb.MERGE: "merged",
    Verb.UNDO: "undone",
}


class Figure(StrEnum):
    """What is summed over all movements, in pieces, less what was taken back."""

    UPTO = "upto"  # the last movement that the kept sums hold
    SET_ON = "set_on"  # consumables pulled for assemblies, by day
    PULLED_BY = "pulled_by"  # for assemblies, by item and person
    SCRAPPED = "scrapped"  # at assemblies, by item
    TO_WORK = "to_work"  # pulled for assemblies, by item


# A quantity is unlikely from so many units on, and so many times what is usual; where
# nothing is known, from many more on. A count, too, that finds a tenth, and a pull of
# more than twice what is there by the record: choices.
FEW, TIMES, UNKNOWN, TENTH, TWICE = 250, 10, 10_000, 10, 2


def is_unlikely(verb: str, quantity: int, held: int, usual: int) -> bool:
    """Whether a quantity may be a slip of the finger, to be asked about once.

    `held` is what the bin holds by the record, `usual` the largest pack, order or need
    of the item, in units; 0 where nothing is known.
    """
    known = max(held, usual)
    most = max(FEW, TIMES * known) if known else UNKNOWN
    if verb == Verb.PULL and held:
        most = max(FEW, TWICE * held)
    states = verb in (Verb.COUNT, Verb.LOOK)
    gone = states and held > FEW and quantity * TENTH < held
    return quantity > most or gone


def is_cancelled(net: int, held: int, difference: int) -> bool:
    """Whether a count took back what came by one act: a slip, and no evidence.

    `net` came to a bin that held so many by the record, an unlikely number for it; the
    count then found nearly as many fewer.
    """
    is_odd = net > max(FEW, TIMES * held)
    return is_odd and abs(difference + net) * TENTH < net


def came_out(missing: int) -> str:
    """Why a bin asks to be counted after a pull beyond its record."""
    return f"{missing} more came out than the record held"


def checked_quantity(value: object, *, zero: bool = False) -> int:
    """A whole number of units, 1 (or 0) to 1,000,000. Errors: `ledger.quantity`."""
    least = 0 if zero else 1
    text = str(value).strip()
    plain = text.isascii() and text.isdigit() and len(text) <= 12
    number = int(text) if plain else None
    if isinstance(value, bool) or number is None or not least <= number <= MAX_QUANTITY:
        raise Refused(
            "ledger.quantity",
            f"'{text[:20]}' is no quantity: key a whole number from {least} to "
            f"{MAX_QUANTITY:,}.",
            {"quantity": text[:20]},
        )
    return number


def fingerprint(payload: Mapping[str, object]) -> str:
    """SHA-256 of what an act asks, so that one id cannot mean two things."""
    text = json.dumps(payload, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


# What a count by hand is off, as a share of itself; what an opening list is off, and what
# 'about 120' is; and the
# variance that every piece moved since then adds (forgotten pulls, wrong tins): guesses,
# the last worth so many pieces of record until the shop's own counts speak.
HAND_SHARE, OPENING_SHARE, ABOUT_SHARE = 0.003, 0.05, 0.2
MOVED_VARIANCE, MOVED_WORTH = 1.0, 500
# From so many counts on they say what is usual; so many of the last ones teach, what was
# before them no more: choices.
LEAST_COUNTS, TELLING_COUNTS = 8, 400


@dataclass(frozen=True)
class LookFacts:
    """The doubt that a look left, the pieces moved since, the look-alikes pulled by then.

    All in units; `beside` None where it was not kept.
    """

    doubt: float
    moved: int
    beside: int | None


@dataclass(frozen=True)
class CountFacts:
    """What is known of a bin's balance: how it was stated, what moved since.

    `stated` is the last count or opening, `doubt` its own standard deviation where it
    was weighed or seen; `moved` the pieces in and out since, `counted_by_hand` false for
    an opening list or no count at all. `beside` is what had been pulled of its look-alikes
    by then, None where that was not kept; `look` a look that agreed since. All in units.
    """

    bin_id: int
    item_id: int
    balance: int
    stated: int
    doubt: float | None
    counted_by_hand: bool
    moved: int
    beside: int | None = None
    look: LookFacts | None = None


def doubt(facts: CountFacts, per_moved: float = MOVED_VARIANCE) -> float:
    """The standard deviation of what was stated of a bin, in units.

    The statement's own, and `per_moved` of variance for each piece moved since.
    """
    own = facts.doubt
    if own is None:
        share = HAND_SHARE if facts.counted_by_hand else OPENING_SHARE
        own = share * max(facts.stated, 0)
    return grown(own, facts.moved, per_moved)


def grown(own: float, moved: int, per_moved: float) -> float:
    """A doubt after so many units moved, each of which adds so much variance."""
    return math.sqrt(own**2 + per_moved * moved)


@dataclass(frozen=True)
class Found:
    """What a count found: the difference, and the pieces moved since the one before."""

    act: int
    difference: int
    moved: int


# A difference counts at most so many standard deviations of what is usual, so that one
# slip does not make every bin doubtful: a choice.
FAR = 3


# A job driven from the wrong tin: as many pieces as a usual job has, how often it happens,
# and how many jobs that guess is worth until the shop's own counts speak: guesses.
JOB, MIXED_UP, MIXED_WORTH = 50, 0.01, 100
# So much less than the record says, and so many standard deviations, is such a job.
_LACKING, _RARE = 20, 4


@dataclass(frozen=True)
class CountRecord:
    """What counts teach: the variance that a moved piece adds, pooled and by bin.

    `mixed_up` is the share of jobs for which the pieces came out of a look-alike's tin.
    """

    pooled: float = MOVED_VARIANCE
    own: Mapping[int, float] = field(default_factory=dict)
    mixed_up: float = MIXED_UP

    def per_moved(self, bin: int) -> float:
        """The variance that each piece moved adds to a bin's balance, in units."""
        return self.own.get(bin, self.pooled)


def count_record(found: Sequence[tuple[int, int, int]]) -> CountRecord:
    """What counts teach, each difference bounded; a bin's own ones beside all others.

    Of each count: its bin, the difference, the pieces moved since the one before.

    Usual is the guess, or what one count in four exceeds, if that is more.
    """
    ratios = sorted(difference**2 / (pieces or 1) for _, difference, pieces in found)
    usual = MOVED_VARIANCE
    if len(ratios) >= LEAST_COUNTS:
        usual = max(usual, ratios[len(ratios) * 3 // 4])
    squares: dict[int, float] = defaultdict(float)
    moved: dict[int, int] = defaultdict(int)
    for bin, difference, pieces in found:
        squares[bin] += min(difference**2, FAR**2 * (usual * pieces + 1))
        moved[bin] += pieces
    pooled = learned_variance(sum(squares.values()), sum(moved.values()))
    own = {bin: learned_variance(squares[bin], moved[bin], pooled) for bin in squares}
    return CountRecord(pooled, own, _mixed_up(found, usual))


def _mixed_up(found: Sequence[tuple[int, int, int]], usual: float) -> float:
    """The share of jobs that were driven from the wrong tin: rare, large, one-sided.

    A Poisson number of them in all jobs since the counts before, its rate a gamma.
    """
    jobs = sum(pieces for *_, pieces in found) / JOB
    lacking = sum(
        -difference > max(_LACKING, _RARE * math.sqrt(usual * pieces))
        for _, difference, pieces in found
    )
    return (MIXED_UP * MIXED_WORTH + lacking) / (MIXED_WORTH + jobs)


def learned_variance(
    squares: float, moved: int, guess: float = MOVED_VARIANCE
) -> float:
    """The variance a moved piece adds, from the shop's own counts.

    `squares` sums the squared differences that counts found, `moved` the pieces that
    had moved before them; the guess is worth MOVED_WORTH pieces.
    """
    return (guess * MOVED_WORTH + squares) / (MOVED_WORTH + moved)


def is_scan_id(text: str) -> bool:
    """Whether a client's id has the form of a UUID: 8-4-4-4-12 hex digits."""
    return re.fullmatch(SCAN_ID, text) is not None


class Invariant(StrEnum):
    """What must be true of the record at any time."""

    CONSERVED = "nothing appears or vanishes"
    RUNNING = "each movement says what it left"
    ONCE = "each act is what was asked, once"
    NEVER_BELOW = "no bin holds less than nothing"
    APPEND_ONLY = "nothing in the record can be changed"
    ARRIVED = "each scan stands as it came, under its own number"
    LOOKED = "nothing is taken as looked at that was not"
    EVIDENCE = "each picture is the one that was kept"
    SOUND = "the database is sound"


@dataclass(frozen=True)
class Flaw:
    """Where the record breaks one of its invariants, in words."""

    invariant: Invariant
    sentence: str

    def __str__(self) -> str:
        return self.sentence


def photograph_name(mark: str) -> str:
    """Where a photograph of this SHA-256 lies in the shop's folder."""
    return f"photographs/{mark[:2]}/{mark}.jpg"
