"""Which acts stand: those that nobody took back, or that were put in force again."""

from django.db.models import Exists, OuterRef, Q

from inventory.ledger.models import Act


def stands(act: str = "pk") -> Q:
    """That an act stands; `act` is its path from the row that is asked for."""
    gone = Act.objects.filter(takes_back=OuterRef(act), undone_by=None)
    return ~Q(Exists(gone))


def in_force() -> Q:
    """That a movement counts as something done: of an act that stands, no correction."""
    return stands("act") & Q(original=None)


def last_of_chain(act: Act) -> Act:
    """What an act came to: itself, or the last undo of it, of that undo, and so on."""
    while (after := Act.objects.filter(undoes=act).first()) is not None:
        act = after
    return act


def first_of_chain(act: Act) -> Act:
    """What a chain of undoes began with."""
    while act.undoes is not None:
        act = act.undoes
    return act


def is_gone(act: Act) -> bool:
    """Whether what an act did has been taken back.

    What an undo did, it did by taking back: that is gone where the other stands again.
    """
    first = first_of_chain(act)
    is_there = Act.objects.filter(stands(), pk=first.pk).exists()
    means_gone = act.takes_back_id is not None
    return is_there == means_gone
