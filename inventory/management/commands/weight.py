"""What pieces weigh: `weight TEXT [--pounds 1/4] [--json]`."""

from inventory.management.asking import AskingCommand
from inventory.trade.questions.weight import QUESTION


class Command(AskingCommand):
    """Asks the trade's question of this name."""

    help = QUESTION.asks
    question = QUESTION
