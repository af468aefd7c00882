"""Reads of the scans as they came: from which device, how many, whether untouched."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Max, OuterRef, Subquery

from inventory.ledger.queries.paging import in_pages
from inventory.ledger.rules import Flaw, Invariant
from inventory.people.models import User
from inventory.scanning.models import Scan
from inventory.scanning.rules import reading


def was_scanned() -> bool:
    """Whether anything was ever scanned or typed at a bench."""
    return Scan.objects.exists()


@dataclass(frozen=True)
class DeviceScans:
    """What came from one device: who scanned last and when, how many never arrived."""

    device: str
    person: str
    last: datetime
    came: int
    missing: int


def device_scans() -> list[DeviceScans]:
    """Every device that scans, the last heard of first; its numbers have no gaps.

    A gap is a scan that lies on the device still, or was lost with it.
    """
    latest = Scan.objects.filter(device=OuterRef("device")).order_by("-at", "-seq")
    rows = list(
        Scan.objects.exclude(device="")
        .values("device")
        .annotate(
            last=Max("at"),
            newest=Max("seq"),
            came=Count("seq", distinct=True),
            by=Subquery(latest.values("by_id")[:1]),
        )
        .order_by("-last")
    )
    names = User.objects.in_bulk([row["by"] for row in rows])
    return [
        DeviceScans(
            row["device"],
            str(names[row["by"]]),
            row["last"],
            row["came"],
            (row["newest"] or 0) - row["came"],
        )
        for row in rows
    ]


def scan_flaws() -> Iterator[Flaw]:
    """Scans that are not what came, or did not do what they say.

    What is missing of a device's numbers is no flaw but a scan on its way.
    """
    for row in in_pages(Scan.objects.select_related("bench", "act")):
        if row.fingerprint != reading.scan_mark(row.bench.key, row.raw):
            yield Flaw(Invariant.ARRIVED, f"scan {row.pk} is not what came")
        if row.act is not None and row.act.scan_id != str(row.pk):
            yield Flaw(Invariant.ONCE, f"scan {row.pk} did not make {row.act}")
