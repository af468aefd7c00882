"""Keeping what movements add up to, so that no page reads them all."""

from django.db import OperationalError, connection, transaction
from django.db.models import Max

from inventory.ledger.models import KeptSum, Movement
from inventory.ledger.queries.sums import KEYS, SUMS
from inventory.ledger.rules import Figure

# Movements at once: SQLite's writers wait meanwhile, some hundredths of a second.
PAGE = 500
# What benches may be kept waiting for it.
LONGEST_MS = 250
_COLUMNS = ", ".join(KEYS)


def keep_sums() -> None:
    """Add what moved since the last time, page by page.

    Whoever else is at it waits for a page, and goes on where that one ended.
    """
    last = _last_movement()
    KeptSum.objects.get_or_create(figure=Figure.UPTO)
    while _keep_page(last):
        pass


def _last_movement() -> int:
    """The last movement before which no other can appear; 0 while somebody writes long.

    PostgreSQL numbers movements before they stand: all that have a number are waited
    for, and none gets one meanwhile. Benches wait behind that, so it may not take long:
    behind a large import the sums are left to the next time.
    """
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            if connection.features.has_select_for_update:
                cursor.execute(f"SET LOCAL lock_timeout = {LONGEST_MS}")
                cursor.execute("LOCK TABLE inventory_movement IN SHARE MODE")
            return Movement.objects.aggregate(last=Max("pk"))["last"] or 0
    except OperationalError:
        return 0


def _keep_page(last: int) -> bool:
    """Whether more is left."""
    with transaction.atomic():
        mark = KeptSum.objects.select_for_update().get(figure=Figure.UPTO)
        upto = min(mark.total + PAGE, last)
        for figure in SUMS:
            _add(figure, mark.total, upto)
        KeptSum.objects.filter(pk=mark.pk, total__lt=upto).update(total=upto)
    return upto < last


def _add(figure: Figure, after: int, upto: int) -> None:
    rows = Movement.objects.filter(pk__gt=after, pk__lte=upto)
    for sums in SUMS[figure]:
        query = sums(rows).values_list(*KEYS, "total").query
        sql, values = query.sql_with_params()
        with connection.cursor() as cursor:
            cursor.execute(
                f"INSERT INTO inventory_keptsum (figure, {_COLUMNS}, total) "
                f"SELECT %s, made.* FROM ({sql}) AS made WHERE 1 = 1 "
                f"ON CONFLICT (figure, {_COLUMNS}) "
                "DO UPDATE SET total = inventory_keptsum.total + excluded.total",
                [figure.value, *values],
            )
