"""What can befall a single drill bit."""

from enum import StrEnum


class BitState(StrEnum):
    """What last happened to a bit, and so how it is."""

    FITTED = "fitted"
    DULL = "dull"
    BROKEN = "broken"
    RESHARPENED = "resharpened"
    SET_ASIDE = "set_aside"

    @property
    def words(self) -> str:
        """As people say it."""
        return self.value.replace("_", " ")
