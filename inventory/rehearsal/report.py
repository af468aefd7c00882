"""A rehearsal in words, and as data."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict

from inventory.rehearsal.judging import Calibration
from inventory.rehearsal.trials import Fare, Rehearsal, Series, Target

_HEAD = (
    "stopped",
    "days lost",
    "parcels",
    "money",
    "left over",
    "looks",
    "counts",
    "minutes",
)
_NOTE = (
    "{builds} builds of each aircraft in each world, seed {seed}, the same under every way\n"
    "of buying. Means a build: stages stopped, days lost, parcels, money spent (of no\n"
    "country), pieces left over, looks into bins, bins counted, minutes of both. The\n"
    "builders are simulated, their habits guesses; what Gripcount does is the program's own."
)


def in_words(found: Rehearsal) -> str:
    """The tables, how far each target is reached, and whether the figures were true."""
    lines = [_NOTE.format(builds=found.builds, seed=found.seed)]
    for series in found.series:
        lines += ["", *_series(series)]
    lines += ["", "What was said of each item's spoilage when a stage began:"]
    for world, rows in found.calibration.items():
        lines += [f"  {world}", *(_calibrated(each) for each in rows)]
    return "\n".join(lines)


def _series(series: Series) -> Iterable[str]:
    yield _row(f"{series.world}, {series.aircraft}", _HEAD)
    for name, fare in series.fares.items():
        yield _row(f"  {name}", _cells(fare))
    yield from (f"  {_target(each)}" for each in series.targets)


def _row(first: str, cells: Iterable[str]) -> str:
    return f"{first:<24}" + "".join(f"{cell:>10}" for cell in cells)


def _cells(fare: Fare) -> list[str]:
    return [
        f"{fare.stopped:.3f}",
        f"{fare.days_lost:.1f}",
        f"{fare.parcels:.1f}",
        f"{fare.money:,.2f}",
        f"{fare.left:,.0f}",
        f"{fare.looks:,.0f}",
        f"{fare.counts:.1f}",
        f"{fare.minutes:,.0f}",
    ]


# A share of another way's stops above this was divided by next to none.
NO_END = 1000


def _target(each: Target) -> str:
    if each.ratio is None:
        share = f"{each.stopped:.3f} stops against none"
    else:
        # Where some draws of the builds have no stop of the other way, there is no end.
        most = "any number" if each.high > NO_END else f"{each.high:.2f}"
        share = (
            f"{each.ratio:.2f} of its stops ({each.low:.2f} to {most} with 95 %; "
            f"goal {each.goal:.2f})"
        )
    more = "more" if each.dearer > 0 else "less"
    longer = "more" if each.longer > 0 else "fewer"
    return (
        f"Against {each.against}: {share}, {_verdict(each.stops_reached)}; "
        f"{abs(each.dearer):,.2f} {more} money, {_verdict(each.money_reached)}; "
        f"{abs(each.longer):,.0f} {longer} minutes."
    )


def _verdict(reached: bool) -> str:
    return "reached" if reached else "not reached"


def _calibrated(each: Calibration) -> str:
    place = "in" if each.is_true else "out of"
    return (
        f"    {each.share:.0%} figures: true for {each.placed:.1%} (whole pieces: "
        f"{each.held:.1%}) of {each.said:,}; one of each build, by lot: {each.misses} "
        f"misses of {each.builds}, {place} the exact binomial band "
        f"{each.low} to {each.high}."
    )


def as_data(found: Rehearsal) -> dict[str, object]:
    """The same for JSON."""
    return {
        "builds": found.builds,
        "seed": found.seed,
        "series": [_series_data(series) for series in found.series],
        "calibration": {
            world: _calibration_data(rows) for world, rows in found.calibration.items()
        },
    }


def _calibration_data(rows: Sequence[Calibration]) -> list[dict[str, object]]:
    return [each.as_data() for each in rows]


def _series_data(series: Series) -> dict[str, object]:
    return {
        "world": series.world,
        "aircraft": series.aircraft,
        "ways": _fares(series.fares),
        "targets": [_target_data(each) for each in series.targets],
    }


def _fares(fares: Mapping[str, Fare]) -> dict[str, object]:
    return {name: fare.as_data() for name, fare in fares.items()}


def _target_data(each: Target) -> dict[str, object]:
    return {
        **asdict(each),
        "stops_reached": each.stops_reached,
        "money_reached": each.money_reached,
    }
