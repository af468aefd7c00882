"""The ledger's own UPDATEs of a scan, in plain SQL: what the ORM would say, at once.

Every function runs inside the transaction of an act that has locked the balances it names.
"""

from django.db import connection


def move(item: int, quantity: int, source: int, target: int) -> None:
    """Take a quantity of an item from one place's balance and add it to another's."""
    _run(
        "UPDATE inventory_balance SET quantity = quantity"
        " + CASE place_id WHEN %s THEN %s ELSE %s END"
        " WHERE item_id = %s AND place_id IN (%s, %s)",
        source,
        -quantity,
        quantity,
        item,
        source,
        target,
    )


def remember_moved(quantity: int, source: int, target: int) -> None:
    """Add what moved to the running figure of the bins at these places.

    A bin that somebody works at is in use, also when it was retired.
    """
    _run(
        "UPDATE inventory_bin SET moved_since = moved_since + %s, retired_at = NULL"
        " WHERE place_id IN (%s, %s)",
        quantity,
        source,
        target,
    )


def want_again(item: int, *, wide: bool) -> bool:
    """Wish once more that an item be looked at; false where it never was wished."""
    return (
        _run(
            "UPDATE inventory_recheck SET wanted = wanted + 1, wide = wide OR %s"
            " WHERE item_id = %s",
            wide,
            item,
        )
        > 0
    )


def _run(statement: str, *values: int) -> int:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return int(cursor.rowcount)
