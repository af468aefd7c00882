"""Sheets and rolls of labels by their dimensions, and where each label lies.

Dimensions: common sheets, common practice, no source; the roll's are from memory.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inventory.errors import Refused

POINTS_PER_MM = 72 / 25.4
MAX_OFFSET_MM = 20.0


@dataclass(frozen=True)
class Rect:
    """A rectangle on a page: millimetres from the page's top left corner."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True)
class Sheet:
    """A page of labels in rows and columns; all in millimetres."""

    key: str
    words: str
    page: tuple[float, float]
    label: tuple[float, float]
    columns: int
    rows: int
    margin: tuple[float, float] = (0.0, 0.0)
    pitch: tuple[float, float] = (0.0, 0.0)

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
                f"{self.per_page - 1} of them.",
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


SHEETS: Mapping[str, Sheet] = MappingProxyType(
    {
        sheet.key: sheet
        for sheet in (
            Sheet(
                "a4",
                "A4 sheet, 3 x 7 labels of 63.5 x 38.1 mm",
                page=(210.0, 297.0),
                label=(63.5, 38.1),
                columns=3,
                rows=7,
                margin=(7.2, 15.15),
                pitch=(66.0, 38.1),
            ),
            Sheet(
                "letter",
                "US Letter sheet, 3 x 10 labels of 2 5/8 x 1 in",
                page=(215.9, 279.4),
                label=(66.675, 25.4),
                columns=3,
                rows=10,
                margin=(4.7625, 12.7),
                pitch=(69.85, 25.4),
            ),
            Sheet(
                "single",
                "label printer, one label of 50 x 25 mm a page",
                page=(50.0, 25.0),
                label=(50.0, 25.0),
                columns=1,
                rows=1,
            ),
        )
    }
)
LEAST_LABEL_MM = (28.0, 12.0)


def roll(width: float, printable: float, length: float) -> Sheet:
    """A continuous roll of a width, of which so much can be printed, cut at a length.

    All in millimetres. Errors: `labels.size`.
    """
    if not (LEAST_LABEL_MM[0] <= printable <= width <= 120.0):
        raise Refused(
            "labels.size",
            f"A roll's printable width is {LEAST_LABEL_MM[0]:.0f} mm at least and no "
            "more than its width, which is 120 mm at most: measure both.",
        )
    if not LEAST_LABEL_MM[1] <= length <= 120.0:
        raise Refused(
            "labels.size",
            f"A label is {LEAST_LABEL_MM[1]:.0f} to 120 mm long: key another length.",
        )
    return Sheet(
        "roll",
        f"roll {width:g} mm wide, cut at {length:g} mm",
        page=(width, length),
        label=(printable, length),
        columns=1,
        rows=1,
        margin=((width - printable) / 2, 0.0),
    )


def own_sheet(
    page: tuple[float, float],
    label: tuple[float, float],
    grid: tuple[int, int],
    margin: tuple[float, float],
    pitch: tuple[float, float],
) -> Sheet:
    """A sheet by its own dimensions: (across, down) each, millimetres and counts.

    Errors: `labels.size` where the labels overlap or do not fit on the page.
    """
    sheet = Sheet("own", "own sheet", page, label, *grid, margin, pitch)
    for way, name in ((0, "across"), (1, "down")):
        count = grid[way]
        if label[way] < LEAST_LABEL_MM[way]:
            raise Refused(
                "labels.size",
                f"A label is {LEAST_LABEL_MM[way]:.0f} mm {name} at least, so that its "
                "code can be read.",
            )
        if count > 1 and pitch[way] < label[way]:
            raise Refused(
                "labels.size",
                f"The labels overlap {name}: the pitch, {pitch[way]:g} mm, is less than "
                f"the label, {label[way]:g} mm.",
            )
        used = margin[way] + (count - 1) * pitch[way] + label[way]
        if used > page[way] + 0.05:
            raise Refused(
                "labels.size",
                f"The labels do not fit {name}: they take {used:g} mm of {page[way]:g}.",
            )
    return sheet


# Cards lie so far apart that one pull of the trigger cannot take the neighbour.
CARDS = Sheet(
    "cards",
    "A4 sheet of cards, at least 20 mm between codes",
    page=(210.0, 297.0),
    label=(58.0, 22.0),
    columns=3,
    rows=8,
    margin=(12.0, 14.0),
    pitch=(64.0, 34.0),
)


def sheet_called(key: str) -> Sheet:
    """Errors: `labels.sheet`."""
    sheet = SHEETS.get(key)
    if sheet is None:
        raise Refused(
            "labels.sheet",
            f"'{key[:20]}' is no sheet here: choose {', '.join(SHEETS)}.",
            {"sheet": key[:20]},
        )
    return sheet
