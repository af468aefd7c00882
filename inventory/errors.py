"""The one error the house raises on purpose: a code, its data, a sentence."""

from collections.abc import Mapping


class Refused(Exception):
    """Something was asked that the house will not do, and why.

    `code` is stable and dotted ("ledger.quantity"), for programs; `data` holds the
    figures behind it; `sentence` says in plain words what happened and what to do.
    Only the doors (web, api, commands) turn it into an answer.
    """

    def __init__(
        self, code: str, sentence: str, data: Mapping[str, object] | None = None
    ) -> None:
        super().__init__(sentence)
        self.code = code
        self.sentence = sentence
        self.data = dict(data or {})
