"""The forecast's pictures as SVG, small enough for a phone; each page has the figures."""

import sys
from collections.abc import Sequence
from datetime import date
from typing import Any
from xml.etree import ElementTree

import pygal
from pygal.style import Style

from inventory.forecasting.queries.pictures import SHARES, LeftAfter, PoolDays

# pygal leaves a finder of its plug-ins behind that only old Pythons ask; none is used.
sys.meta_path[:] = [each for each in sys.meta_path if hasattr(each, "find_spec")]

# The page's own colours: what is there, what is guessed about it, what is the limit.
_LOOK = Style(
    background="#ffffff",
    plot_background="#ffffff",
    foreground="#14181b",
    foreground_strong="#14181b",
    foreground_subtle="#4a5359",
    colors=("#9c1c14", "#7a4b00", "#0b4a75", "#7a4b00", "#0a5a3a", "#20262b"),
    label_font_size=17,
    major_label_font_size=17,
    legend_font_size=18,
    title_font_size=20,
    font_family="system-ui, Liberation Sans, Arial, sans-serif",
)
_SIZE = {"width": 460, "height": 340}


def _options(title: str) -> dict[str, Any]:
    return {
        **_SIZE,
        "style": _LOOK,
        "js": [],
        "title": title,
        "legend_at_bottom": True,
        "x_label_rotation": 35,
        "truncate_legend": -1,
    }


def _drawn(chart: Any) -> bytes:
    """The chart as SVG, without the script that the library puts in."""
    root = chart.render_tree()
    for parent in list(root.iter()):
        for child in list(parent):
            if str(child.tag).endswith("script"):
                parent.remove(child)
    return bytes(ElementTree.tostring(root, encoding="utf-8"))


def fan(words: str, today: date, on_hand: int, rows: Sequence[LeftAfter]) -> bytes:
    """What is left of an item through its stages: a line for each share of builders."""
    chart = pygal.DateLine(
        **_options(f"{words}: left over"),
        x_value_formatter=lambda day: f"{day:%d %b %y}",
        zero=0,
        dots_size=2,
    )
    for at in reversed(range(len(SHARES))):
        points = [(today, on_hand), *((row.day, row.left[at]) for row in rows)]
        share = SHARES[at]
        name = f"{share:.0%} have less" if share != 0.5 else "as many more as less"
        chart.add(name, points, stroke_style={"width": 4 if share == 0.5 else 2})
    return _drawn(chart)


def pool(row: PoolDays) -> bytes:
    """A size of temporary fastener through time: held, against what is owned."""
    chart = pygal.DateLine(
        **_options(f"{row.size} temporary fasteners"),
        x_value_formatter=lambda day: f"{day:%d %b %y}",
        dots_size=1,
    )
    steps: list[tuple[date, int]] = []
    for day, held in row.held:
        if steps:
            steps.append((day, steps[-1][1]))
        steps.append((day, held))
    chart.add("held", steps, fill=True)
    if steps:
        ends = [(steps[0][0], row.owned), (steps[-1][0], row.owned)]
        chart.add("owned", ends, stroke_style={"width": 4})
    return _drawn(chart)


def bit_wear(names: Sequence[str], holes: Sequence[float], median: float) -> bytes:
    """The holes on each bit, against the holes half of all bits reach."""
    chart = pygal.HorizontalBar(**_options("Full holes on each bit"))
    chart.x_labels = []
    for name, on_it in zip(names, holes, strict=True):
        chart.add(name, [round(on_it)])
    chart.add("half of all bits reach", [round(median)])
    return _drawn(chart)
