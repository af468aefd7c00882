"""What a callout means: `callout TEXT... [--json]`."""

from inventory.management.asking import AskingCommand
from inventory.trade.questions.callout import QUESTION


class Command(AskingCommand):
    """Asks the trade's question of this name."""

    help = QUESTION.asks
    question = QUESTION
