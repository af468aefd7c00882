"""What fasteners and drills look like from the side, true to their dimensions."""

import math
from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import groupby

from inventory.trade.drawing import (
    Drawing,
    Point,
    Shape,
    both_sides,
    fitted,
    laid_down,
    moved,
)
from inventory.trade.heads import (
    CURVE,
    above,
    head_of,
    rivet_shape,
    rivet_words,
    with_axis,
)
from inventory.trade.reading import Reading
from inventory.trade.sizes import print_size


def rivet_outline(style: str, diameter: Fraction, length: Fraction) -> Drawing | None:
    """A solid rivet as it lies in its tin; None where its head is not known.

    A flush rivet's length, in inches, is overall; any other's is under the head.
    """
    head = head_of(style, diameter)
    if head is None:
        return None
    words = f"{rivet_words(head, diameter, length)}, from the side; {head.note}."
    return fitted(words, with_axis((rivet_shape(head, diameter, length),)))


def pair_drawing(first: Reading, second: Reading) -> Drawing | None:
    """Two solid rivets side by side at one scale; None where a head is not known."""
    drawn = [_standing(each) for each in (first, second)]
    if not all(drawn):
        return None
    left, right = drawn
    step = (left[0].across + right[0].across) / 2 * 1.3
    words = f"Two rivets at one scale: left {first.words}; right {second.words}."
    return fitted(words, (*left, *moved(right, step, 0.0)))


def _standing(reading: Reading) -> tuple[Shape, ...]:
    """A solid rivet on its axis, its length measured from nought."""
    if reading.kind != "solid_rivet" or not reading.diameter_in:
        return ()
    head = head_of(reading.head, reading.diameter_in)
    if head is None or not reading.length_in:
        return ()
    return with_axis((rivet_shape(head, reading.diameter_in, reading.length_in),))


_Drawn = Callable[[Reading], Drawing | None]


def outline_of(reading: Reading) -> Drawing | None:
    """What was read, from the side; None for a kind or a head not known here."""
    draw = _KINDS.get(reading.kind)
    return draw(reading) if draw else None


def _solid(reading: Reading) -> Drawing | None:
    if not reading.diameter_in or not reading.length_in:
        return None
    return rivet_outline(reading.head, reading.diameter_in, reading.length_in)


def _blind(reading: Reading) -> Drawing | None:
    """A blind rivet before it is pulled: hollow body, and the stem through it."""
    if not reading.diameter_in or not reading.length_in:
        return None
    head = head_of(reading.head, reading.diameter_in)
    if head is None:
        return None
    radius, end = float(reading.diameter_in) / 2, float(reading.length_in)
    body = both_sides("part", [*above(head, radius), (radius, end), (0.0, end)])
    top = -head.height - 1.2 * end
    stem = both_sides(
        "tool", [(0.0, top), (radius / 2, top), (radius / 2, 0.0), (0.0, 0.0)]
    )
    bulb = both_sides(
        "tool",
        [(0.0, end), (radius, end), (radius * 0.8, end + radius), (0.0, end + radius)],
    )
    words = (
        f"A {print_size(reading.diameter_in)} blind rivet before it is pulled, body "
        f"{print_size(reading.length_in)} long; {head.note}; its stem is a guess."
    )
    return fitted(words, laid_down(with_axis((stem, bulb, body))))


def _bolt(reading: Reading) -> Drawing | None:
    """A hex bolt: its head from memory, its thread where grip and pitch are known."""
    if not reading.diameter_in or not reading.length_in:
        return None
    size, length = reading.diameter_in, float(reading.length_in)
    # From memory; it holds from 3/16 to 7/16 and is a guess beyond.
    flats, height = float(size) + 3 / 16, float(size) / 2 + 1 / 32
    corners = flats / math.cos(math.radians(30)) / 2
    head = both_sides(
        "part", [(0.0, -height), (corners, -height), (corners, 0.0), (0.0, 0.0)]
    )
    edges = both_sides("line", [(corners / 2, -height), (corners / 2, 0.0)])
    shank = both_sides("part", _threaded(reading, float(size) / 2, length))
    words = (
        f"A {print_size(size)} hex bolt, {print_size(reading.length_in)} long under the "
        f"head; the head's size is a guess from memory{_thread_words(reading)}."
    )
    halves = (Shape("line", edges.points[:2]), Shape("line", edges.points[2:]))
    return fitted(words, laid_down(with_axis((shank, head, *halves))))


def _threaded(reading: Reading, radius: float, length: float) -> list[Point]:
    """The right half of a shank, its thread a saw of the true pitch."""
    grip, pitch = _grip(reading), _pitch(reading)
    if grip is None or pitch is None:
        return [(0.0, 0.0), (radius, 0.0), (radius, length), (0.0, length)]
    # A 60 deg thread is about 0.6 of its pitch deep.
    root, turns = radius - 0.6 * pitch, int((length - grip) / pitch)
    start = length - turns * pitch
    saw = [
        point
        for turn in range(turns)
        for point in (
            (radius, start + turn * pitch),
            (root, start + (turn + 0.5) * pitch),
        )
    ]
    return [(0.0, 0.0), (radius, 0.0), *saw, (radius, length), (0.0, length)]


def _grip(reading: Reading) -> float | None:
    return float(reading.grip_in[1]) if reading.grip_in else None


def _pitch(reading: Reading) -> float | None:
    """Inches from crest to crest: of '10-32' and '1/4-28' what stands last."""
    turns = reading.thread.rpartition("-")[2]
    return 1 / int(turns) if turns.isdigit() and int(turns) else None


def _thread_words(reading: Reading) -> str:
    known = _grip(reading) is not None and _pitch(reading) is not None
    return "" if known else "; where its thread starts is not known here"


def _washer(reading: Reading) -> Drawing | None:
    """A washer seen flat, and cut through beside it."""
    if not reading.diameter_in or not reading.thickness_in:
        return None
    inner, thick = float(reading.diameter_in) / 2, float(reading.thickness_in)
    outer = inner + 1 / 8
    rim, hole = _circle("part", outer), _circle("hole", inner)
    ring = ((inner, 0.0), (outer, 0.0), (outer, thick), (inner, thick))
    right = Shape("part", ring)
    left = Shape("part", tuple((-x, y) for x, y in ring))
    cut = moved((left, right), 0.0, outer + 1 / 16)
    words = (
        f"A washer for {print_size(reading.diameter_in)}, seen flat and cut through, "
        f"{print_size(reading.thickness_in)} thick; its outside, a quarter inch more "
        "than its hole, is a guess from memory."
    )
    return fitted(words, (rim, hole, *cut))


def _circle(kind: str, radius: float) -> Shape:
    turns = [math.tau * step / (4 * CURVE) for step in range(4 * CURVE)]
    return Shape(
        kind,
        tuple((radius * math.cos(turn), radius * math.sin(turn)) for turn in turns),
    )


_KINDS: Mapping[str, _Drawn] = {
    "solid_rivet": _solid,
    "blind_rivet": _blind,
    "bolt": _bolt,
    "washer": _washer,
}


def drill_outline(diameter: Fraction, point_deg: int = 118) -> Drawing:
    """The end of a twist drill of this diameter in inches, point to the right.

    The diameter and the point's angle are true; its length is cut short.
    """
    radius = float(diameter) / 2
    shoulder, plain = radius * 10, radius * 3
    tip = shoulder + radius / math.tan(math.radians(point_deg / 2))
    body = both_sides(
        "tool", [(0.0, 0.0), (radius, 0.0), (radius, shoulder), (0.0, tip)]
    )
    flutes = [
        line
        for edge in (0.0, math.pi / 3, math.pi, math.pi * 4 / 3)
        for line in _flute(radius, (plain, shoulder), edge)
    ]
    words = (
        f"The end of a {print_size(diameter)} drill with a {point_deg} deg point, from "
        "the side; its length is cut short."
    )
    return fitted(words, laid_down(with_axis((body, *flutes))))


def _flute(radius: float, span: tuple[float, float], edge: float) -> list[Shape]:
    """The near side of one flute's edge: a helix of 30 deg, right-handed."""
    start, end = span
    rise = math.tan(math.radians(30)) / radius
    ys = [start + (end - start) * step / 60 for step in range(61)]
    runs = groupby(ys, key=lambda y: math.sin(rise * y + edge) >= 0)
    lines = [
        tuple((radius * math.cos(rise * y + edge), y) for y in run)
        for near, run in runs
        if near
    ]
    return [Shape("line", points) for points in lines if len(points) > 1]
