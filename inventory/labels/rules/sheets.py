"""Sheets and rolls of labels by their dimensions, and where each label lies.

Dimensions: common sheets, common practice, no source; the roll's are from memory.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inventory.errors import Refused

POINTS_PER_MM = 72 / 25.4
MAX_OFFSET_MM = 20.0
# What a person's measures in tenths may add up to beyond the page.
ROUNDED_MM = 0.05
# What cards and lists are printed on. Their marks fit on either.
PAPERS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
)


@dataclass(frozen=True)
class Rect:
    """A rectangle on a page: millimetres from the page's top left corner."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True)
class LabelSheet:
    """A page of labels in rows and columns; all in millimetres."""

    key: str
    words: str
    page: tuple[float, float]
    label: tuple[float, float]
    columns: int
    rows: int
    margin: tuple[float, float] = (0.0, 0.0)
    pitch: tuple[float, float] = (0.0, 0.0)
    # A roll that is cut where what the label says ends.
    follows: bool = False

    @property
    def takes_bars(self) -> bool:
        """Whether bars fit; a smaller label is a tag and carries a square code only."""
        return all(
            side >= least
            for side, least in zip(self.label, LEAST_LABEL_MM, strict=True)
        )

    @property
    def per_page(self) -> int:
        """Labels a page."""
        return self.columns * self.rows

    def places(
        self, count: int, skip: int = 0, offset_mm: tuple[float, float] = (0.0, 0.0)
    ) -> Iterator[tuple[int, Rect]]:
        """Page number and rectangle of each label, row by row from the top left.

        `skip` labels of the first page are used up already; the offset moves all
        right and down. Errors: `labels.skip`, `labels.offset`.
        """
        if not 0 <= skip < self.per_page:
            raise Refused(
                "labels.skip",
                f"This sheet has {self.per_page} labels: leave out 0 to "
                f"{self.per_page - 1} of them."
                if self.per_page > 1
                else "A roll has no first labels to leave out: key 0.",
                {"skip": skip, "per_page": self.per_page},
            )
        if not all(abs(part) <= MAX_OFFSET_MM for part in offset_mm):
            raise Refused(
                "labels.offset",
                f"Shift the print by {MAX_OFFSET_MM:.0f} mm at most each way.",
            )
        for place in range(skip, skip + count):
            page, here = divmod(place, self.per_page)
            row, column = divmod(here, self.columns)
            yield (
                page,
                Rect(
                    self.margin[0] + column * self.pitch[0] + offset_mm[0],
                    self.margin[1] + row * self.pitch[1] + offset_mm[1],
                    *self.label,
                ),
            )


SHEETS: Mapping[str, LabelSheet] = MappingProxyType(
    {
        sheet.key: sheet
        for sheet in (
            LabelSheet(
                "a4",
                "A4 sheet, 3 x 7 labels of 63.5 x 38.1 mm",
                page=(210.0, 297.0),
                label=(63.5, 38.1),
                columns=3,
                rows=7,
                margin=(7.2, 15.15),
                pitch=(66.0, 38.1),
            ),
            LabelSheet(
                "letter",
                "US Letter sheet, 3 x 10 labels of 2 5/8 x 1 in",
                page=(215.9, 279.4),
                label=(66.675, 25.4),
                columns=3,
                rows=10,
                margin=(4.7625, 12.7),
                pitch=(69.85, 25.4),
            ),
            LabelSheet(
                "single",
                "label printer, one label of 50 x 25 mm a page",
                page=(50.0, 25.0),
                label=(50.0, 25.0),
                columns=1,
                rows=1,
            ),
            LabelSheet(
                "tags",
                "plain sheet of 38 x 13 mm tags to cut apart, for the tubes of bits",
                page=(210.0, 297.0),
                label=(38.0, 13.0),
                columns=4,
                rows=18,
                margin=(14.0, 14.0),
                pitch=(44.0, 14.0),
            ),
        )
    }
)
# A module of 0.25 mm is the least that hand scanners take; with their quiet zones the
# bars of a bin then take 30.7 mm, and a bare code's squares 7.3 mm.
LEAST_LABEL_MM = (31.0, 19.0)
LEAST_TAG_MM = (24.0, 9.0)
WIDEST_ROLL_MM, LONGEST_LABEL_MM = 120.0, 120.0
# What is cut to its content starts here: room for the squares at their usual size.
SHORTEST_CUT_MM = 25


def roll(width: float, printable: float, length: float = 0.0) -> LabelSheet:
    """A continuous roll of a width, of which so much can be printed, cut at a length.

    Without a length every label is as long as what it says. All in millimetres.
    Errors: `labels.size`.
    """
    least, most = LEAST_LABEL_MM[0], WIDEST_ROLL_MM
    if not (least <= printable <= width <= most):
        raise Refused(
            "labels.size",
            f"A roll's printable width is {least:.0f} mm at least and no more than its "
            f"width, which is {most:.0f} mm at most: measure both.",
        )
    if length and not LEAST_LABEL_MM[1] <= length <= LONGEST_LABEL_MM:
        raise Refused(
            "labels.size",
            f"A label is {LEAST_LABEL_MM[1]:.0f} to {LONGEST_LABEL_MM:.0f} mm long: key "
            "another length, or none to cut each where its words end.",
        )
    cut = f"cut at {length:g} mm" if length else "cut where the words end"
    high = length or LONGEST_LABEL_MM
    return LabelSheet(
        "roll",
        f"roll {width:g} mm wide, {cut}",
        page=(width, high),
        label=(printable, high),
        columns=1,
        rows=1,
        margin=((width - printable) / 2, 0.0),
        follows=not length,
    )


def own_sheet(
    page: tuple[float, float],
    label: tuple[float, float],
    grid: tuple[int, int],
    margin: tuple[float, float],
    pitch: tuple[float, float],
) -> LabelSheet:
    """A sheet by its own dimensions: (across, down) each, millimetres and counts.

    Errors: `labels.size` where the labels overlap or do not fit on the page.
    """
    for way, name in ((0, "across"), (1, "down")):
        count, least = grid[way], LEAST_TAG_MM[way]
        if count < 1 or label[way] < least:
            raise Refused(
                "labels.size",
                f"There is at least one label {name}, of {least:.0f} mm or more, so "
                "that its code can be read: key both again.",
            )
        if count > 1 and pitch[way] < label[way]:
            raise Refused(
                "labels.size",
                f"The labels overlap {name}: the pitch, {pitch[way]:g} mm, is less than "
                f"the label, {label[way]:g} mm. Measure from edge to same edge.",
            )
        used = margin[way] + (count - 1) * pitch[way] + label[way]
        if used > page[way] + ROUNDED_MM:
            raise Refused(
                "labels.size",
                f"The labels do not fit {name}: with their margin they take {used:g} mm "
                f"of {page[way]:g}. Measure again, or key fewer labels.",
            )
    return LabelSheet("own", "own sheet", page, label, *grid, margin, pitch)


# Cards lie so far apart that one pull of the trigger cannot take the neighbour.
CARDS = LabelSheet(
    "cards",
    "sheet of cards, at least 20 mm between codes",
    page=PAPERS["a4"],
    label=(58.0, 26.0),
    columns=3,
    rows=7,
    margin=(12.0, 14.0),
    pitch=(64.0, 34.0),
)


def paper_called(key: str) -> tuple[float, float]:
    """The size of a paper in millimetres. Errors: `labels.paper`."""
    found = PAPERS.get(key)
    if found is None:
        raise Refused(
            "labels.paper",
            f"'{key[:20]}' is no paper here: choose {' or '.join(PAPERS)}.",
            {"paper": key[:20]},
        )
    return found


def sheet_called(key: str) -> LabelSheet:
    """Errors: `labels.sheet`."""
    sheet = SHEETS.get(key)
    if sheet is None:
        raise Refused(
            "labels.sheet",
            f"'{key[:20]}' is no sheet here: choose {', '.join(SHEETS)}.",
            {"sheet": key[:20]},
        )
    return sheet
