"""How long a sealant lasts: `sealant --kind ... [--json]`."""

from inventory.management.asking import AskingCommand
from inventory.trade.questions.sealant import QUESTION


class Command(AskingCommand):
    """Asks the trade's question of this name."""

    help = QUESTION.asks
    question = QUESTION
