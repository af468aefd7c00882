"""A sheet to draw on: matplotlib's scales and shapes, the page's own colours and words.

A picture stands in the page itself, so that it is light or dark with it, and its marks
can be reached by touch and by keyboard. It is drawn twice, for a phone and for a desk:
scaled from one to the other, letters would be too small or too large.

matplotlib takes half a second and 40 MB: it is imported with the first picture.
"""

import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from io import StringIO
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element, SubElement, tostring

from defusedxml.ElementTree import fromstring
from django.conf import settings
from django.utils.safestring import SafeString, mark_safe

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# A colour here stands for one of the page's; which it is there, the page decides.
NAMES = ("ink", "soft", "rule", "act", "good", "stop", "warn", "brass", "sheet")
INK, SOFT, RULE, ACT, GOOD, STOP, WARN, BRASS, SHEET = COLOURS = [
    f"#0000{number:02x}" for number in range(1, len(NAMES) + 1)
]
# Letters in dots, and how wide one is at most.
LETTERS, LETTER = 13, 7.6
# What a gloved finger finds, in dots.
TOUCH = 34
# Its fonts and numbers are shared by all figures.
_TURN = Lock()


@dataclass(frozen=True)
class Margins:
    """Room around what is drawn, in dots."""

    left: int = 48
    right: int = 22
    top: int = 22
    bottom: int = 34

    @classmethod
    def beside(cls, highest: float) -> "Margins":
        """With room at the left for figures as high as this."""
        return cls(left=max(48, round(LETTER * len(f"{2 * highest:,.0f}")) + 12))


class Paper:
    """One picture at one width; all measures in dots, which are CSS pixels at full size.

    It is drawn on as a whole, or its `upper` part first and then the next `panel`.
    """

    def __init__(
        self,
        name: str,
        width: int,
        height: int,
        margins: Margins | None = None,
        upper: int | None = None,
    ) -> None:
        self.name, self.width, self.height = f"{name}-{width}", width, height
        self.margins = margins or Margins()
        self._words: list[str] = []
        self._says: list[str] = []
        if Path(settings.DATA).is_dir():
            # What it keeps of this machine's fonts stays with the shop.
            os.environ.setdefault("MPLCONFIGDIR", str(Path(settings.DATA) / "drawing"))
        from matplotlib.figure import Figure

        self.figure = Figure(figsize=(width / 72, height / 72), dpi=72)
        self.axes = self.panel(0, height if upper is None else upper)

    @property
    def across(self) -> int:
        """How wide what is drawn may be."""
        return self.width - self.margins.left - self.margins.right

    def along(self, across: Any) -> float:
        """Dots from where what is drawn begins."""
        low, high = self.axes.get_xlim()
        return float((_number(across) - low) / (high - low) * self.across)

    def panel(self, top: int, height: int) -> "Axes":
        """Draw from here on in a part of the sheet."""
        room = self.margins
        inside = height - room.top - room.bottom
        low = self.height - top - height + room.bottom
        self.axes = self.figure.add_axes(
            (
                room.left / self.width,
                low / self.height,
                self.across / self.width,
                inside / self.height,
            )
        )
        self.axes.set_axisbelow(True)
        self.axes.patch.set_visible(False)
        for side, line in self.axes.spines.items():
            line.set_visible(side == "bottom")
            line.set_color(RULE)
        self.axes.tick_params(length=0, colors=SOFT, labelsize=LETTERS)
        self.axes.tick_params(axis="x", pad=11)
        return self.axes

    def days(self, first: date, last: date) -> None:
        """Time from left to right, true to scale."""
        from matplotlib.dates import AutoDateLocator, ConciseDateFormatter

        self.axes.set_xlim(_number(first), _number(last))
        locator = AutoDateLocator(minticks=2, maxticks=max(3, self.across // 74))
        self.axes.xaxis.set_major_locator(locator)
        formats = ["%Y", "%b", "%-d %b", "%-d %b", "%-d %b", "%-d %b"]
        self.axes.xaxis.set_major_formatter(
            ConciseDateFormatter(
                locator,
                formats=formats,
                zero_formats=["", "%Y", "%b", *formats[3:]],
                show_offset=False,
            )
        )

    def upto(self, lowest: float, highest: float, unit: str = "") -> None:
        """What is counted from bottom to top, with a line at each round figure."""
        from matplotlib.ticker import FuncFormatter, MaxNLocator

        self.axes.set_ylim(lowest, highest)
        self.axes.yaxis.set_major_locator(MaxNLocator(4, integer=not unit))
        self.axes.yaxis.set_major_formatter(
            FuncFormatter(
                lambda value, _at: f"{value:g}{unit}" if unit else f"{value:,.0f}"
            )
        )
        self.axes.grid(axis="y", color=RULE, linewidth=0.6)

    def rows(self, count: int) -> None:
        """Rows from top to bottom instead, each one high; nothing is counted upwards."""
        self.axes.set_ylim(count, 0)
        self.axes.set_yticks([])

    def nothing_across(self) -> None:
        """No figures along the bottom."""
        self.axes.set_xticks([])
        self.axes.spines["bottom"].set_visible(False)

    def band(
        self,
        days: Sequence[date],
        low: Sequence[float],
        high: Sequence[float],
        strength: float,
    ) -> None:
        """What lies between two lines."""
        self.axes.fill_between(
            [_number(day) for day in days],
            low,
            high,
            color=ACT,
            alpha=strength,
            linewidth=0,
        )

    def line(
        self, across: Sequence[Any], up: Sequence[float], colour: str, **more: Any
    ) -> None:
        """From point to point; days or figures across."""
        where = [_number(each) for each in across]
        self.axes.plot(where, up, color=colour, **{"linewidth": 2, **more})

    def upright(self, across: Any, colour: str, **more: Any) -> None:
        """A line from bottom to top."""
        self.axes.axvline(_number(across), color=colour, **{"linewidth": 1, **more})

    def bar(
        self, row: float, span: tuple[Any, Any], colour: str, *, high: float, fill: bool
    ) -> None:
        """A bar along a row, filled or as an outline."""
        start, end = map(_number, span)
        self.axes.barh(
            [row],
            [end - start],
            left=[start],
            height=high,
            color=colour if fill else SHEET,
            edgecolor=colour,
            linewidth=1.5,
        )

    def word(
        self,
        across: Any,
        up: float,
        words: str,
        *,
        colour: str = INK,
        shift: tuple[float, float] = (0, 0),
        end: bool = False,
    ) -> None:
        """Words that begin at a place, or end there; shortened to what there is room for.

        What people wrote goes past matplotlib, which would look for each letter.
        """
        gone = self.along(across) + shift[0]
        room = gone if end else self.across - gone + self.margins.right - 4
        self._words.append(_shortened(words, int(room / LETTER)))
        self.axes.annotate(
            f"@{len(self._words) - 1}",
            (_number(across), up),
            shift,
            textcoords="offset points",
            color=colour,
            size=LETTERS,
            ha="right" if end else "left",
            va="center",
            annotation_clip=False,
        )

    def mark(
        self, across: Any, up: float, says: str, *, shape: str = "o", colour: str = INK
    ) -> None:
        """A mark that tells what it says when it is pointed at, pressed or reached."""
        where = ([_number(across)], [up])
        self.axes.plot(
            *where,
            marker=shape,
            markersize=8,
            markerfacecolor=colour,
            markeredgecolor=SHEET,
            linestyle="none",
            clip_on=False,
        )
        self._says.append(says)
        self.axes.plot(
            *where,
            marker="o",
            markersize=TOUCH,
            markerfacecolor=(0, 0, 0, 0),
            markeredgewidth=0,
            linestyle="none",
            clip_on=False,
            gid=f"mark-{len(self._says) - 1}",
        )

    def drawn(self, kind: str, what: str) -> SafeString:
        """The picture as part of a page; `what` it shows, for who cannot see it."""
        from matplotlib import rc_context

        written = StringIO()
        # Letters stay letters, in the page's own type; names within are of this picture.
        with _TURN, rc_context({"svg.fonttype": "none", "svg.hashsalt": self.name}):
            self.figure.savefig(written, format="svg", transparent=True, metadata=_BARE)
        root = fromstring(written.getvalue())
        plain = _plain(root, self._words, self._says)
        plain.attrib = {
            "class": kind,
            "role": "group",
            "aria-label": what,
            "viewBox": f"0 0 {self.width} {self.height}",
            "width": str(self.width),
            "height": str(self.height),
        }
        # Our own shapes; whatever people wrote went in as text and comes out escaped.
        return mark_safe(tostring(plain, encoding="unicode"))


_BARE = {"Date": None, "Creator": None, "Format": None, "Type": None}


def _number(value: Any) -> float:
    """Days as matplotlib counts them, from 1970; figures as they are."""
    if isinstance(value, date):
        return float(value.toordinal() - date(1970, 1, 1).toordinal())
    return float(value)


def _shortened(words: str, most: int) -> str:
    return words if len(words) <= most else words[: max(1, most - 1)].rstrip() + "…"


def _plain(root: Element, words: Sequence[str], says: Sequence[str]) -> Element:
    """Without what a page forbids or has itself: styles, name spaces, fonts, notes."""
    for parent in list(root.iter()):
        parent.tag = _local(parent.tag)
        for child in list(parent):
            if _local(child.tag) in ("metadata", "style"):
                parent.remove(child)
        parent.attrib = dict(_attributes(parent))
        if parent.tag == "text" and (parent.text or "").startswith("@"):
            parent.text = words[int((parent.text or "")[1:])]
        named = parent.get("id", "")
        if found := re.fullmatch(r"mark-(\d+)", named):
            _to_be_reached(parent, says[int(found[1])])
        elif not _REFERRED_TO.fullmatch(named):
            parent.attrib.pop("id", None)
    return root


# A shape that others use, by what it is and whose; all other names stand in every picture.
_REFERRED_TO = re.compile(r"[a-z][0-9a-f]{10}")


def _local(tag: str) -> str:
    return tag.rpartition("}")[2]


# Of a style, what a shape or a letter has; the type is the page's own.
_SHAPE = re.compile(
    r"(fill|stroke)(-opacity|-width|-dasharray|-linecap)?$|opacity$|text-anchor|font-(size|weight)"
)


def _attributes(element: Element) -> Sequence[tuple[str, str]]:
    found = [
        (_local(name), value)
        for name, value in element.attrib.items()
        if name != "style"
    ]
    for each in element.get("style", "").split(";"):
        name, _, value = (part.strip() for part in each.partition(":"))
        if _SHAPE.match(name):
            found.append((name, _coloured(value)))
    return found


def _coloured(value: str) -> str:
    """The page's own colour for one of ours; black is what nobody chose."""
    if value in COLOURS:
        return f"var(--{NAMES[COLOURS.index(value)]})"
    return value


def _to_be_reached(mark: Element, says: str) -> None:
    mark.attrib = {"class": "mark", "tabindex": "0", "role": "img", "aria-label": says}
    SubElement(mark, "title").text = says
