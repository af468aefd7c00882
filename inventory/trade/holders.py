"""Temporary fasteners: which size a hole takes, its colour, and the forms kept."""

from inventory.errors import Refused
from inventory.trade import drills, tables

# The default order: the published course, then the shop's habit.
COLOUR_SOURCES = ("course", "practice")


def holder_size(hole: str) -> str:
    """The size of temporary fastener for a hole: '#40' takes '3/32'.

    Holes are named as drills are. Common practice, some sizes from memory. Raises
    Refused holder.unknown, and drill.unknown for a name that is no drill.
    """
    name = drills.drill(hole).name
    row = tables.index("holder_sizes", "hole").get((name,))
    if row is None:
        known = ", ".join(each["hole"] for each in tables.rows("holder_sizes"))
        raise Refused(
            "holder.unknown",
            f"No temporary fastener for a {name} hole is known here; known: {known}.",
            {"hole": name, "expected": known},
        )
    return row["size"]


def colour(size: str, source: str | None = None) -> str:
    """The colour of a size, or of the size its hole takes: '3/32', '#30'.

    Source 'course' is published (US Navy course NAVEDTRA 14018), 'practice' is
    common practice; without one, the first of COLOUR_SOURCES that has it. Raises
    Refused holder.unknown.
    """
    fastener = holder_size(size)
    colours = tables.index("holder_colours", "key", "size")
    for key in (source,) if source else COLOUR_SOURCES:
        if row := colours.get((key, fastener)):
            return row["colour"]
    known = ", ".join(size for key, size in colours if source in (None, key))
    raise Refused(
        "holder.unknown",
        f"No colour for the {fastener} size by {source or 'any source'} is known here; "
        f"known: {known}.",
        {"size": fastener, "source": source, "expected": known},
    )


def same_colour(size: str) -> tuple[str, ...]:
    """Other sizes that share this one's colour: black is both 1/16 and 5/32.

    Published: US Navy course NAVEDTRA 14018. Raises Refused holder.unknown.
    """
    fastener, shade = holder_size(size), colour(size)
    return tuple(
        row["size"]
        for row in tables.rows("holder_colours")
        if row["key"] == "course" and row["colour"] == shade and row["size"] != fastener
    )


def forms() -> tuple[str, ...]:
    """The forms a shop keeps: common practice, no source."""
    return tuple(row["form"] for row in tables.rows("holder_forms"))
