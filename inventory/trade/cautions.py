"""The safety sentences by topic, and the one sentence every answer stands under."""

from dataclasses import dataclass

from inventory.trade import tables

AIRWORTHINESS = (
    "Nothing this says is airworthiness advice: drawings, the kit maker's instructions, "
    "local rules and licensed practice decide."
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One safety sentence with where it comes from."""

    topic: str
    sentence: str
    source: str
    certainty: str


def topics() -> tuple[str, ...]:
    """The topics there are cautions for, in the table's order."""
    return tuple(dict.fromkeys(row["topic"] for row in tables.rows("cautions")))


def about(topic: str) -> tuple[Caution, ...]:
    """The cautions of a topic; none for a topic without any."""
    return tuple(
        Caution(row["topic"], row["sentence"], row["source"], row["certainty"])
        for row in tables.rows("cautions")
        if row["topic"] == topic
    )
