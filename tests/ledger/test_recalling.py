"""Who got of a lot: what is sure and possible by trying all, the chance by drawing.

The reference for one pull is scipy's hypergeometric distribution; for many pulls pieces
are drawn one by one from a mixed bin (common practice, no source).
"""

import random
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import hypergeom

from inventory.ledger.rules.recalling import Share, Shift, shares, undrawn

WING, TAIL, NOSE = 1, 2, 3


def lot(pieces):
    """A whole delivery of the lot."""
    return Shift(pieces, None, pieces, pieces, float(pieces))


def test_alone_in_a_bin_it_went_wherever_any_went():
    found = shares(0, [lot(50), Shift(12, WING), Shift(30, TAIL)])
    assert found == {
        WING: Share(12, 12, 12, 12.0, 1.0),
        TAIL: Share(30, 30, 30, 30.0, 1.0),
    }


@given(held=st.integers(0, 60), of_it=st.integers(0, 40), drawn=st.integers(0, 100))
def test_one_pull_is_hypergeometric(held, of_it, drawn):
    drawn = min(drawn, held + of_it)
    there = held + of_it
    expected = hypergeom(there, of_it, drawn).pmf(0) if there else 1.0
    assert undrawn(there, of_it, drawn) == pytest.approx(expected, abs=1e-9)


@given(
    held=st.integers(0, 3),
    came=st.integers(1, 3),
    pulls=st.lists(
        st.tuples(st.integers(1, 3), st.sampled_from([WING, TAIL])), max_size=3
    ),
    more=st.integers(0, 2),
)
def test_the_bounds_hold_for_every_way_to_draw_and_are_met(held, came, pulls, more):
    """Every way is tried; other pieces come in before the last pull."""
    shifts, there = [lot(came)], held + came
    for at, (pieces, place) in enumerate(pulls):
        if at == len(pulls) - 1 and more:
            shifts.append(Shift(more))
            there += more
        if pieces <= there:
            shifts.append(Shift(pieces, place))
            there -= pieces
    found = shares(held, shifts)
    ways = list(_ways(held, shifts))
    for place, share in found.items():
        got = [way[place] for way in ways]
        assert share.least <= min(got)
        assert share.most >= max(got)
        assert (share.chance == 1.0) <= (min(got) > 0)
        assert (share.chance == 0.0) == (max(got) == 0)
    if len(pulls) == 1 and found:
        (share,) = found.values()
        assert (share.least, share.most) == (
            min(min(each.values()) for each in ways),
            max(max(each.values()) for each in ways),
        )


def _ways(held, shifts):
    """Of the lot what each place may have got, by every way to draw the pieces."""
    places = {each.to for each in shifts if each.to}

    def on(bin, left):
        if not left:
            yield dict.fromkeys(places, 0)
            return
        first, *rest = left
        if first.to is None:
            others = first.pieces - first.most
            yield from on(bin + [True] * first.most + [False] * others, rest)
            return
        for chosen in {
            tuple(bin[each] for each in way)
            for way in combinations(range(len(bin)), first.pieces)
        }:
            after = list(bin)
            for piece in chosen:
                after.remove(piece)
            for way in on(after, rest):
                yield way | {first.to: way[first.to] + sum(chosen)}

    yield from on([False] * held, shifts)


def test_the_chance_is_that_of_drawing_from_a_mixed_bin():
    shifts = [
        lot(40),
        Shift(60, TAIL),
        Shift(10, WING),
        Shift(200),
        Shift(150, TAIL),
        Shift(25, WING),
        Shift(4, NOSE),
    ]
    draw, tries = random.Random(7), 4000
    got = {WING: 0, TAIL: 0, NOSE: 0}
    pieces = dict.fromkeys(got, 0)
    for _try in range(tries):
        bin, seen = [False] * 100, dict.fromkeys(got, 0)
        for each in shifts:
            if each.to is None:
                bin += [True] * each.most + [False] * (each.pieces - each.most)
                continue
            draw.shuffle(bin)
            seen[each.to] += sum(bin[: each.pieces])
            del bin[: each.pieces]
        for place, count in seen.items():
            got[place] += count > 0
            pieces[place] += count
    found = shares(100, shifts)
    for place, share in found.items():
        # Four standard errors, and what is to be expected standing for the pieces.
        assert share.chance == pytest.approx(got[place] / tries, abs=0.04)
        assert share.likely == pytest.approx(pieces[place] / tries, rel=0.1)
    assert 0.2 < found[NOSE].chance < 0.6 < found[WING].chance < found[TAIL].chance
    assert found[TAIL].least == 0


def test_what_can_have_gone_nowhere_else_is_here_for_sure():
    """Six of ten: two pulls of five, or one that leaves too few."""
    (share,) = shares(4, [lot(6), Shift(5, WING), Shift(5, WING)]).values()
    assert (share.least, share.most, share.chance) == (6, 6, 1.0)
    found = shares(4, [lot(6), Shift(3, WING), Shift(7, TAIL)])
    assert (found[TAIL].least, found[TAIL].most) == (3, 6)
    assert (found[WING].least, found[WING].most) == (0, 3)
    assert found[WING].chance == pytest.approx(1 - 1 / 30)  # 1 - C(4,3) / C(10,3)


def test_what_came_back_is_not_there_any_more():
    found = shares(0, [lot(20), Shift(8, WING), Shift(8, origin=WING), Shift(4, TAIL)])
    assert (found[WING].pieces, found[WING].most, found[WING].chance) == (0, 0, 0.0)
    assert (found[TAIL].most, found[TAIL].likely) == (4, 4.0)
    part = shares(20, [lot(20), Shift(8, WING), Shift(2, origin=WING)])[WING]
    assert (part.pieces, part.least, part.most, part.likely) == (6, 0, 6, 3.0)


def test_what_two_bins_gave_is_added():
    both = Share(10, 2, 5, 3.0, 0.5).with_more(Share(4, 1, 1, 1.0, 0.5))
    assert both == Share(14, 3, 6, 4.0, 0.75)
