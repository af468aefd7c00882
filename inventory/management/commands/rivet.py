"""Which solid rivet suits these sheets: `rivet --grip .064 --diameter 1/8 [--json]`."""

from inventory.management.asking import AskingCommand
from inventory.trade.questions.rivet import QUESTION


class Command(AskingCommand):
    """Asks the trade's question of this name."""

    help = QUESTION.asks
    question = QUESTION
