"""Countersink or dimple: `countersink --diameter 3/32 --sheets .032,.040 [--json]`."""

from inventory.management.asking import AskingCommand
from inventory.trade.questions.countersink import QUESTION


class Command(AskingCommand):
    """Asks the trade's question of this name."""

    help = QUESTION.asks
    question = QUESTION
