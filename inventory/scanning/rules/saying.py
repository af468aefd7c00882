"""What a bench knows by heart: cards, reasons, limits and sentences, of one data file.

The device reads the same file, so that both say the same (`web/static/bench-data.js`,
after `export default` plain JSON).
"""

import json
from dataclasses import dataclass
from enum import StrEnum
from importlib.resources import files
from typing import Any

from inventory.forecasting.rules.bits import BitState
from inventory.ledger.rules import Verb
from inventory.ledger.rules.looking import Sight


class Key(StrEnum):
    """What a card asks of the bench itself."""

    UNDO = "undo"
    CANCEL = "cancel"
    LEAVE = "leave"
    ENTER = "enter"
    REDO = "redo"


class PullReason(StrEnum):
    """Why pieces are pulled that no open assembly asks for."""

    REPAIR = "repair"
    PRACTICE = "practice"
    OTHER = "other"
    INSTEAD = "instead"
    SPARE = "spare"
    ELSEWHERE = "elsewhere"


Action = Verb | Key | PullReason | BitState | Sight
# What the data file calls them.
_CALLED: dict[str, Action] = {
    **{each.value: each for each in Verb},
    **{each.value: each for each in Key},
    **{f"reason:{each}": each for each in PullReason},
    **{f"bit:{each}": each for each in BitState},
    **{f"look:{each}": each for each in Sight},
}


@dataclass(frozen=True)
class Card:
    """An action card of the printed sheet: what it does, its word, what that means."""

    number: int
    does: Action
    word: str
    tells: str


def _data() -> dict[str, Any]:
    """The file's JSON."""
    path = files("inventory").joinpath("web", "static", "bench-data.js")
    text = path.read_text(encoding="utf-8").partition("\nexport default")[2]
    data: dict[str, Any] = json.loads(text.strip().removesuffix(";"))
    return data


_DATA = _data()
_SENTENCES: dict[str, str] = _DATA["sentences"]

MAX_SCAN: int = _DATA["limits"]["scan_characters"]
REPEAT_MS: int = _DATA["limits"]["repeat_ms"]
IDLE_HOURS: int = _DATA["limits"]["idle_hours"]
# More look-alikes than this are not heard any more.
MOST_MINDED: int = _DATA["limits"]["minded"]
NEARLY_EMPTY: int = _DATA["limits"]["nearly_empty"]
# In the order of the printed sheet.
CARDS = tuple(
    Card(**{**card, "does": _CALLED[card["does"]]}) for card in _DATA["cards"]
)
ACTIONS = {card.number: card.does for card in CARDS}
QUANTITY_CARDS: tuple[int, ...] = tuple(_DATA["quantity_cards"])
REASONS = {PullReason(key): words for key, words in _DATA["reasons"].items()}
DONE = {Verb(key): word for key, word in _DATA["done"].items()}
# Our own codes that mean nothing at a bench.
ELSEWHERE: dict[str, str] = _DATA["elsewhere"]


def say(name: str, /, **values: object) -> str:
    """The sentence of this name, with its gaps filled.

    >>> say("assembly", name="Skin")
    'Working on Skin.'
    >>> say("still_asked", asked=1500)
    ', still asked 1,500'
    """
    return _SENTENCES[name].format(
        **{key: _parted(key, value) for key, value in values.items()}
    )


def _parted(key: str, value: object) -> object:
    """A quantity's thousands are parted; what a bin or an order is called are no such."""
    return f"{value:,}" if isinstance(value, int) and key != "number" else value
