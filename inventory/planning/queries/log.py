"""The builder's log: what went into each assembly, by whom, when, and what was mended."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.ledger.queries.acts import Deed, taken_back_at
from inventory.ledger.queries.lots import Photograph, photographs, recalled_places
from inventory.planning.models import Assembly, Build, CloseUp, Stage
from inventory.planning.queries.closing import Happened, history_of, record_of

MOST_CORRECTIONS = 200


@dataclass(frozen=True)
class Entry:
    """One assembly's part of the log.

    `record` is that of its last closing, where it is closed; else as it stands now.
    """

    assembly: Assembly
    closed: CloseUp | None
    record: dict[str, Any]
    history: Sequence[Happened]
    corrections: Sequence[Deed]
    photographs: Sequence[Photograph]

    @property
    def went_in(self) -> list[dict[str, Any]]:
        """What was drawn, used or spoiled."""
        return [
            each
            for each in self.record["items"]
            if each["need"] or each["used"] or each["spoiled"]
        ]

    @property
    def papers(self) -> list[dict[str, Any]]:
        """The certificates of its lots; the oldest closings kept none."""
        return list(self.record.get("papers", []))

    @property
    def tells_history(self) -> bool:
        """Whether more happened than one closing without a word."""
        return len(self.history) > 1 or any(each.note for each in self.history)

    @property
    def days(self) -> list[date]:
        """On which something was done for it."""
        return [date.fromisoformat(each) for each in self.record["days"]]


@dataclass(frozen=True)
class StageLog:
    """A stage with the assemblies that were begun in it."""

    stage: Stage
    entries: Sequence[Entry]


def stages_begun(build: Build | None) -> list[Stage]:
    """The stages with a part in the log."""
    rows = Stage.objects.filter(build=build, assemblies__started_at__isnull=False)
    return list(rows.distinct().order_by("position"))


def is_in_log(build: Build | None, photograph: Photograph) -> bool:
    """Whether a picture is of an assembly in the log, or of a lot that may be in one."""
    begun = Assembly.objects.filter(stage__build=build, started_at__isnull=False)
    if photograph.lot is None:
        return begun.filter(photographs=photograph).exists()
    return begun.filter(place__in=recalled_places(photograph.lot)).exists()


def log_of(build: Build | None, stage: int | None = None) -> list[StageLog]:
    """The log of an aircraft, or of one of its stages, in the plan's order."""
    rows = Assembly.objects.filter(stage__build=build, started_at__isnull=False)
    if stage is not None:
        rows = rows.filter(stage=stage)
    found: dict[int, StageLog] = {}
    for row in rows.select_related("stage__build", "place", "started_by", "closed_by"):
        part = found.setdefault(row.stage_id, StageLog(row.stage, []))
        found[row.stage_id] = StageLog(part.stage, [*part.entries, entry_of(row)])
    return list(found.values())


def entry_of(assembly: Assembly) -> Entry:
    """One assembly in the log."""
    closed = None
    if assembly.closed_at is not None:
        closed = assembly.close_ups.select_related("by").first()
    place = assembly.place_id
    return Entry(
        assembly,
        closed,
        closed.record if closed else record_of(assembly),
        history_of(assembly),
        taken_back_at(place, MOST_CORRECTIONS) if place else [],
        photographs(assembly=assembly.pk),
    )
