"""Every question there is, in the order a page lists them."""

from inventory.trade.questions import (
    callout,
    countersink,
    drill,
    driving,
    rivet,
    sealant,
    seam,
    weight,
)
from inventory.trade.questions.shape import Question

QUESTIONS: tuple[Question, ...] = (
    callout.QUESTION,
    rivet.QUESTION,
    drill.QUESTION,
    countersink.QUESTION,
    seam.QUESTION,
    weight.QUESTION,
    driving.QUESTION,
    sealant.QUESTION,
)


def named(name: str) -> Question | None:
    """The question of this name, if there is one."""
    return next((each for each in QUESTIONS if each.name == name), None)
