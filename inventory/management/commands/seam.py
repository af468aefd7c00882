"""What a seam takes: `seam --length 10 --pitch 1 --sheets .032,.032 --diameter 1/8 [--json]`."""

from inventory.management.asking import AskingCommand
from inventory.trade.questions.seam import QUESTION


class Command(AskingCommand):
    """Asks the trade's question of this name."""

    help = QUESTION.asks
    question = QUESTION
