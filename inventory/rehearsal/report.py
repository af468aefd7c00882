"""A rehearsal in words, and as data."""

from collections.abc import Iterable, Mapping

from inventory.rehearsal.judging import Calibration
from inventory.rehearsal.trials import Fare, Rehearsal, Series, Target, targets

_HEAD = ("stopped", "days lost", "parcels", "money", "left over", "recounts")
_NOTE = (
    "{builds} builds of each aircraft, seed {seed}, the same under every way of buying.\n"
    "Means a build: stages stopped, days lost, parcels, money spent (of no country),\n"
    "pieces left over, bins recounted. The builders are simulated, their habits guesses."
)


def in_words(found: Rehearsal) -> str:
    """The tables, how far each target is reached, and whether the figures were true."""
    lines = [_NOTE.format(builds=found.builds, seed=found.seed)]
    for series in found.series:
        lines += ["", *_series(series)]
    lines += ["", "What was said of each item's spoilage when a stage began:"]
    lines += [_calibrated(each) for each in found.calibration]
    return "\n".join(lines)


def _series(series: Series) -> Iterable[str]:
    yield _row(f"{series.aircraft} aircraft", _HEAD)
    for name, fare in series.fares.items():
        yield _row(f"  {name}", _cells(fare))
    yield from (f"  {_target(each)}" for each in targets(series.fares))
    if series.curve:
        yield _row("  trade-off: at first", _HEAD)
    for more, fare in series.curve.items():
        yield _row(f"    {more:+,.0f} money", _cells(fare))


def _row(first: str, cells: Iterable[str]) -> str:
    return f"{first:<26}" + "".join(f"{cell:>11}" for cell in cells)


def _cells(fare: Fare) -> list[str]:
    return [
        f"{fare.stopped:.2f}",
        f"{fare.days_lost:.1f}",
        f"{fare.parcels:.1f}",
        f"{fare.money:,.2f}",
        f"{fare.left:,.0f}",
        f"{fare.recounts:.1f}",
    ]


def _target(each: Target) -> str:
    if each.ratio is None:
        share = f"{each.stopped:.2f} stops against none"
    else:
        share = f"{each.ratio:.2f} of its stops (target 0.10)"
    more = "more" if each.dearer > 0 else "less"
    return (
        f"Against {each.against}: {share}, {_verdict(each.stops_reached)}; "
        f"{abs(each.dearer):,.2f} {more} money, {_verdict(each.money_reached)}."
    )


def _verdict(reached: bool) -> str:
    return "reached" if reached else "not reached"


def _calibrated(each: Calibration) -> str:
    place = "in" if each.is_true else "out of"
    return (
        f"  {each.share:.0%} figures: true for {each.placed:.1%} (whole pieces: "
        f"{each.held:.1%}) of {each.said:,}; one of each build, by lot: {each.misses} "
        f"misses of {each.builds}, {place} the exact binomial band "
        f"{each.low} to {each.high}."
    )


def as_data(found: Rehearsal) -> dict[str, object]:
    """The same for JSON."""
    return {
        "builds": found.builds,
        "seed": found.seed,
        "aircraft": [_series_data(series) for series in found.series],
        "calibration": [each.as_data() for each in found.calibration],
    }


def _series_data(series: Series) -> dict[str, object]:
    return {
        "aircraft": series.aircraft,
        "ways": _fares(series.fares),
        "targets": [_target_data(each) for each in targets(series.fares)],
        "trade_off": _fares({f"{more:+g}": f for more, f in series.curve.items()}),
    }


def _fares(fares: Mapping[str, Fare]) -> dict[str, object]:
    return {name: fare.as_data() for name, fare in fares.items()}


def _target_data(each: Target) -> dict[str, object]:
    return {
        "against": each.against,
        "stops_ratio": None if each.ratio is None else round(each.ratio, 4),
        "stops_target": 0.1,
        "stops_reached": each.stops_reached,
        "dearer": round(each.dearer, 4),
        "money_reached": each.money_reached,
    }
