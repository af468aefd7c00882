"""What may stand in for a rivet, why, and on whose word."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import layout
from inventory.trade.callouts import Reading, parse
from inventory.trade.rivets import designation

CUT_DOWN, HALF_UP, REPAIR, BLIND = "cut_down", "half_up", "repair", "blind"
# A longer rivet is cut from up to so many sixteenths more: common practice, no source.
_LONGEST_CUT = 8
_BLIND_OF = {"universal": "MS20600", "flush": "MS20601"}


@dataclass(frozen=True, slots=True)
class Substitute:
    """One part that may stand in, in words; `approval` where somebody must allow it."""

    why: str
    callout: str
    reason: str
    source: str
    certainty: str
    approval: bool = False


REASONS = {
    CUT_DOWN: "a longer one cut down to length",
    HALF_UP: "half a length longer, where its driven head is still good",
    REPAIR: "the next shank, for a hole that has grown",
    BLIND: "a blind rivet, where no bar reaches",
}


def substitutes(reading: Reading) -> tuple[Substitute, ...]:
    """What may stand in for a solid rivet, nearest first; nothing for the rest.

    Not airworthiness advice: each needs the drawing's or a licensed person's word, a
    blind rivet by name.
    """
    if reading.kind != "solid_rivet" or not reading.diameter_in:
        return ()
    return (*_longer(reading), *_repair(reading), *_blind(reading))


def reason_for(needed: Reading, used: Reading) -> Substitute:
    """How one part may stand in for another. Raises Refused substitute.unknown."""
    for each in substitutes(needed):
        if parse(each.callout).key == used.key or _same_blind(each, used):
            return each
    expected = "a longer one, half a length more, the next shank or a blind rivet"
    raise Refused(
        "substitute.unknown",
        f"{used.callout} stands in for {needed.callout} by no rule here: expected "
        f"{expected}.",
        {"text": used.callout, "expected": expected},
    )


def _same_blind(each: Substitute, used: Reading) -> bool:
    """Any grip of the blind rivet's standard and diameter: the sheets decide it."""
    blind = parse(each.callout)
    return each.why == BLIND and (blind.standard, blind.diameter_in) == (
        used.standard,
        used.diameter_in,
    )


def _longer(reading: Reading) -> Iterator[Substitute]:
    size, dash = int((reading.diameter_in or 0) * 32), (reading.length_in or 0) * 16
    for halves in range(1, 2 * _LONGEST_CUT + 1):
        tail = designation(reading.alloy, size, dash + Fraction(halves, 2))
        with suppress(Refused):
            longer = parse(reading.standard + tail).callout
            why = HALF_UP if halves == 1 else CUT_DOWN
            practice = ("common practice, no source", "common practice")
            yield Substitute(why, longer, REASONS[why], *practice)


def _repair(reading: Reading) -> Iterator[Substitute]:
    shank = layout.next_oversize(reading.diameter_in or Fraction(0))
    dash = (reading.length_in or Fraction(0)) * 16
    tail = designation(reading.alloy, int(shank * 32), dash)
    with suppress(Refused):
        reason = f"{REASONS[REPAIR]}; at most a fifth of a pattern, and ten"
        yield Substitute(
            REPAIR,
            parse(reading.standard + tail).callout,
            reason,
            layout.OVERSIZE_SOURCE,
            "restated",
        )


def _blind(reading: Reading) -> Iterator[Substitute]:
    standard = _BLIND_OF.get(reading.head)
    size = int((reading.diameter_in or 0) * 32)
    if standard is None:
        return
    with suppress(Refused):
        callout = parse(f"{standard} series, no. {size}2").callout
        reason = f"{REASONS[BLIND]}; only with a named approval"
        practice = ("common practice, no source", "common practice")
        yield Substitute(BLIND, callout, reason, *practice, approval=True)
