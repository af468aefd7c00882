"""How a shop's pages and scans grow with its record: at 2,000 movements, and at many.

Twenty builds and 5,000 bins in a scratch database of the shop's own engine; every work
is done as a browser, a bench or the worker asks for it.
"""

import time
import uuid
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

from django.conf import settings

from inventory.management.measures.shape import PASSES, AtMost, Measure, MeasuredRow

if TYPE_CHECKING:
    from django.test import Client

    from inventory.management.measures.growth_shop import Filled

FEW, COUNT = 2000, 60_000
MOST_SECONDS, MOST_LOOK = 0.3, 5.0
Work = Callable[[], object]


def take(count: int = COUNT) -> tuple[MeasuredRow, ...]:
    """Seconds of each work at so many movements, as times the same at 2,000."""
    from inventory.management.measures import growth_shop, scratch

    plan = (Path(settings.ROOT) / "fixtures" / "plan.csv").read_bytes()
    with scratch.scratch():
        shop = growth_shop.furnish(plan)
        growth_shop.fill(shop, FEW)
        before = measured(shop)
        growth_shop.fill(shop, max(count, FEW))
        return tuple(rows(before, measured(shop), shop.movements))


def measured(shop: "Filled") -> dict[str, float]:
    """Seconds of each work, the median of a few, once all that moved is settled."""
    found = {}
    for name, work in works(shop):
        work()
        found[name] = median(_seconds(work) for _ in range(PASSES))
    return found


def works(shop: "Filled") -> Iterator[tuple[str, Work]]:
    """What people and the worker do, the look at everything first."""
    from django.test import Client
    from django.utils import timezone

    from inventory.alerts.actions import settle_all

    client = Client(headers={"host": "localhost"})
    client.force_login(shop.by[0])
    item, bin = shop.bins[0].item_id, shop.bins[0].number
    yield "look at everything", lambda: settle_all(now=timezone.now())
    for name, page in (
        ("first page", "/"),
        ("bins", "/bins/"),
        ("one bin", f"/bins/{bin}/"),
        ("plan", "/plan/"),
        ("one item", f"/items/{item}/"),
        ("why", f"/items/{item}/why/"),
    ):
        yield name, partial(_answered, client.get, page)

    yield "scan", partial(_scan, client, shop)


def _scan(client: "Client", shop: "Filled") -> None:
    """An assembly's sheet, a bin, the bin again: a pull, taken back with its transaction.

    So the record stays as it was filled; what forcing it to the disk takes is no growth.
    """
    from django.db import transaction

    from inventory.planning.models import Need
    from inventory.planning.queries import current_build
    from inventory.trade import codes

    need = Need.objects.filter(assembly__stage__build=current_build()).first()
    assert need is not None
    bin = next(each for each in shop.bins if each.item_id == need.item_id)
    sheet, label = codes.make("S", need.assembly_id), codes.make("B", bin.number)
    with transaction.atomic():
        for at, code in enumerate((sheet, label, label)):
            body = {"id": str(uuid.uuid4()), "code": code, "ms": 3000 * at}
            how = {"content_type": "application/json"}
            answer = _answered(client.post, "/api/v1/scans", body, **how)
        assert answer.json()["kind"] == "committed", answer.content
        transaction.set_rollback(True)


def rows(
    before: dict[str, float], after: dict[str, float], movements: int
) -> Iterator[MeasuredRow]:
    """Each work's seconds at the end, beside those at the beginning."""
    for name, seconds in after.items():
        yield AtMost(
            name=f"growth: {name}",
            figure=seconds,
            unit="s",
            ratio=seconds / before[name],
            against=f"the same at {FEW:,} movements ({before[name]:.3f} s)",
            target=MOST_LOOK if name.startswith("look") else MOST_SECONDS,
            how=f"{movements:,} movements, a scratch shop; once before, then the median "
            f"of {PASSES}",
        )


def _answered(ask: Callable[..., Any], *what: object, **how: object) -> Any:
    answer = ask(*what, **how)
    assert answer.status_code == 200, answer.content
    return answer


def _seconds(work: Work) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


MEASURE = Measure(
    name="growth",
    tells="how pages, looks and scans grow with the record",
    take=take,
    options=("count",),
)
