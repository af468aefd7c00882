"""What an assembly's record is evidence of, and how many assemblies speak."""

# So many assemblies, some three or four aircraft, say how much is spoiled: a choice.
TELLING = 200


def evidence(
    need: int, here: int, spoiled: int, *, closed: bool
) -> tuple[int, int] | None:
    """Pieces set well and spoiled; None where the record says nothing of spoilage.

    Closed: good is the need, bad is what was pulled beyond it (scrap included). Where
    fewer were pulled than the need the record has a gap, and is no perfect work.
    Not closed, or with a gap: only where something was scrapped, which is judged by what
    is there of the need, or by the need where nothing is: a first burst is no ordinary
    spoilage.
    """
    if closed and 0 < need <= here + spoiled:
        return need, here + spoiled - need
    if spoiled > 0:
        return min(need, here) or need, spoiled
    return None
