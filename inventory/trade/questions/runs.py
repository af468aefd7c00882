"""The lengths of a seam, as people write them."""

import re
from fractions import Fraction

from inventory.errors import Refused
from inventory.trade.questions.shape import missing
from inventory.trade.sizes import is_one_or_two, parse_size

_RUN = re.compile(
    r"\s*(?:(?P<times>[0-9]{1,4})\s*[x\u00d7])?(?P<size>.*)", re.IGNORECASE | re.DOTALL
)
_MOST_RUNS = 1000


def runs_of(text: str) -> tuple[Fraction, ...]:
    """'10', '10+12.5' or '2x 10 1/2': lengths in inches, some of them several times.

    Commas part them too, but where what they part could be one number: 48,5 is 48.5 to
    many, and to read it as two seams of 48 and 5 would order the wrong count.
    Raises Refused question.missing, seam.comma, seam.lengths, size.unknown.
    """
    if not text:
        raise missing("length", "the seam's length, or several: 10+12.5 or 2x10")
    if is_one_or_two(text):
        expected = "48.5 for one length, 48+5 for two"
        raise Refused(
            "seam.comma",
            f"'{text}' may be one length or two: write it as {expected}.",
            {"field": "length", "text": text, "expected": expected},
        )
    runs: list[Fraction] = []
    for part in re.split(r"[,+;]", text):
        match = _RUN.fullmatch(part)
        times, size = match.groups() if match else (None, part)
        runs += [parse_size(size)] * int(times or 1)
    if not 1 <= len(runs) <= _MOST_RUNS:
        expected = f"1 to {_MOST_RUNS} lengths, such as 10+12.5 or 2x10"
        raise Refused(
            "seam.lengths",
            f"Expected {expected}; got {len(runs)}, '{text}'.",
            {"field": "length", "text": text, "expected": expected},
        )
    return tuple(runs)
