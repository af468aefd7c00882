"""Hex bolts AN3 to AN20: dashes in inches and eighths, shanks, heads and grips."""

import re
from dataclasses import dataclass
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade import tables
from inventory.trade.reading import Reading, refusal
from inventory.trade.sizes import exact, print_size

SIZES = range(3, 21)
_BOLT = re.compile(r"-?(?P<metal>C|DD)?(?P<head>H)?-?(?P<dash>[0-9]{1,2})(?P<shank>A)?")
_METALS = {"": "alloy steel", "C": "corrosion-resistant steel", "DD": "2024 aluminium"}
_SHORTEST = 3


@dataclass(frozen=True, slots=True)
class Reach:
    """A bolt's lengths in inches; grip is None where no table or rule gives it."""

    nominal: Fraction
    length: Fraction
    grip: Fraction | None
    certainty: str


def bolt(text: str, standard: str, tail: str) -> Reading:
    """An AN3 to AN20 bolt; A after the dash means a shank that is not drilled.

    Raises Refused callout.incomplete, callout.unknown, callout.impossible, and
    callout.unknown_dash for a dash shorter than the grip table's first.
    """
    match = _BOLT.fullmatch(tail)
    if match is None:
        code = "incomplete" if re.fullmatch(r"-?(C|DD)?H?-?", tail) else "unknown"
        raise refusal(code, text, f"{standard} and a dash, as in {standard}-4A")
    if (standard,) not in tables.index("bolts", "standard"):
        sizes = ", ".join(row["standard"] for row in tables.rows("bolts"))
        raise refusal("impossible", text, f"a bolt size of {sizes}")
    metal, head, plain = match["metal"] or "", match["head"] or "", match["shank"] or ""
    reach = _reach(text, standard, int(match["dash"]))
    letters = metal + head
    tail = f"{letters or '-'}{int(match['dash'])}{plain}"
    return _reading(standard, tail, metal, (bool(head), not plain), reach)


def _nominal(text: str, dash: int) -> Fraction:
    """Inches and eighths: -14 is 1 4/8 in, and there is no -8 or -9."""
    inches, eighths = divmod(dash, 10)
    if dash < _SHORTEST or eighths > 7:
        raise refusal(
            "impossible",
            text,
            "a dash of inches and eighths: 3 to 7, then 10 to 17, 20 to 27 and so on",
        )
    return inches + exact(eighths, 8)


def _reach(text: str, standard: str, dash: int) -> Reach:
    nominal = _nominal(text, dash)
    row = tables.index("bolts", "standard")[(standard,)]
    if not row["thread_length_in"]:
        return Reach(nominal, nominal, None, row["certainty"])
    listed = tables.index("bolt_grips", "bolt", "dash").get((standard, str(dash)))
    if listed and listed["length_in"]:
        grip, length = exact(listed["grip_in"]), exact(listed["length_in"])
        return Reach(nominal, length, grip, listed["certainty"])
    length = nominal + exact(row["length_add_in"])
    grip = length - exact(row["thread_length_in"])
    if grip <= 0:
        raise refusal("unknown_dash", text, f"a dash the {standard} grip table carries")
    return Reach(nominal, length, grip, "computed")


def next_sizes(reading: Reading) -> tuple[str, ...]:
    """The callouts an eighth shorter and longer than this bolt."""
    eighths = int((reading.nominal_in or 0) * 8)
    return tuple(
        re.sub(r"[0-9]+(A?)$", rf"{step // 8 or ''}{step % 8}\1", reading.callout)
        for step in (eighths - 1, eighths + 1)
    )


def _reading(
    standard: str, tail: str, metal: str, drilled: tuple[bool, bool], reach: Reach
) -> Reading:
    row = tables.index("bolts", "standard")[(standard,)]
    shape = "drilled head, " * drilled[0] + (
        "drilled shank" if drilled[1] else "plain shank"
    )
    diameter = exact(row["diameter_in"])
    size, about = print_size(diameter), "" if reach.grip else "about "
    made_of = f"{_METALS[metal]}, " if metal else ""
    long = about + print_size(reach.length)
    return Reading(
        kind="bolt",
        standard=standard,
        callout=standard + tail,
        key=standard + tail,
        words=f"{size} bolt, {long} long, {made_of}{shape}",
        meaning=_meaning(size, _METALS[metal], shape, reach),
        head="hex",
        head_words=f"hex, {shape}",
        alloy=metal,
        alloy_words=_METALS[metal],
        diameter_in=diameter,
        length_in=reach.length,
        nominal_in=reach.nominal,
        grip_in=(reach.grip, reach.grip) if reach.grip else None,
        thread=row["thread"],
        source=row["source"],
        certainty="from memory" if metal else reach.certainty,
    )


def _meaning(size: str, metal: str, shape: str, reach: Reach) -> str:
    nominal = print_size(reach.nominal)
    if reach.grip is None:
        length = f"nominally {nominal} in under the head, its grip not known here"
    else:
        length = (
            f"{print_size(reach.length)} in under the head (nominally {nominal}), "
            f"grip {print_size(reach.grip)} in"
        )
    return f"Hex bolt of {metal}, {shape}, shank {size} in, {length}."


def bolt_grip(reading: Reading) -> Fraction:
    """The grip of a bolt in inches, tolerance 1/64 either way.

    Restated from the AN3-AN20 bolt sheet; between its rows computed as length less
    thread. Raises Refused callout.unknown_dash where neither is known.
    """
    if reading.kind != "bolt":
        raise Refused("callout.kind", f"{reading.callout} is not a bolt.", {})
    if reading.grip_in is None:
        raise refusal("unknown_dash", reading.callout, "a bolt of AN3 to AN6")
    return reading.grip_in[1]
