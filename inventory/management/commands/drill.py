"""Which drill this is: `drill NAME [--json]`."""

from inventory.management.asking import AskingCommand
from inventory.trade.questions.drill import QUESTION


class Command(AskingCommand):
    """Prints a drill's size, its neighbours and what it is for."""

    help = QUESTION.asks
    question = QUESTION
