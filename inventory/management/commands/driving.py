"""What driving a rivet takes: `driving --diameter 1/8 [--head flush] [--alloy D] [--json]`."""

from inventory.management.asking import AskingCommand
from inventory.trade.questions.driving import QUESTION


class Command(AskingCommand):
    """Asks the trade's question of this name."""

    help = QUESTION.asks
    question = QUESTION
