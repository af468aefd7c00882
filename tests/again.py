"""A set-up that many tests want: made once, and from then on written back row by row."""

from functools import wraps

from django.apps import apps
from django.db import connection, transaction

from inventory.catalog.models import Item
from inventory.ledger.models import Place
from inventory.people.models import User


def made_once(make):
    """`make(owner, ...)` runs once on an empty shop; later its rows are written back.

    They are the owner's of that test, whoever was the first one's; without an owner the
    shop is to have nobody yet. Where something stands already, or the owner's number is
    somebody's of the rows, `make` runs as it is.
    """
    kept, others = [], set()

    @wraps(make)
    def again(owner=None, *more):
        if kept and is_bare() and (owner is None or owner.pk not in others):
            write_back(owner, *kept)
            return
        known = [[owner]] if owner else []
        was_empty = not kept and [rows for _table, rows in every_table()] == known
        make(owner, *more)
        if was_empty:
            tables = [written(*each, owner) for each in every_table()]
            kept.extend([owner and owner.pk, tables])
            others.update(User.objects.values_list("pk", flat=True))
            others.discard(owner and owner.pk)

    return again


def is_bare():
    """Whether nothing stands anywhere yet, nor is known; looked up quickly."""
    return not (Item.objects.exists() or Place.objects.exists())


def every_table():
    """The shop's tables that hold something, with their rows."""
    models = apps.get_app_config("inventory").get_models(include_auto_created=True)
    tables = (
        (model._meta, list(model._base_manager.order_by("pk"))) for model in models
    )
    return [(table, rows) for table, rows in tables if rows]


def written(table, rows, owner):
    """The statement that writes such rows, their values, and which name a person."""
    fields = table.local_concrete_fields
    quote = connection.ops.quote_name
    line = (
        f"INSERT INTO {quote(table.db_table)} "  # noqa: S608
        f"({', '.join(quote(field.column) for field in fields)}) "
        f"VALUES ({', '.join(['%s'] * len(fields))})"
    )
    values = [
        [
            field.get_db_prep_save(getattr(row, field.attname), connection)
            for field in fields
        ]
        for row in rows
        if row != owner
    ]
    return line, values, [field.related_model is User for field in fields]


def write_back(owner, first_owner, tables):
    """All rows in one piece; what was the first owner's is this one's."""
    with transaction.atomic(), connection.cursor() as cursor:
        for line, rows, names_person in tables:
            cursor.executemany(
                line,
                [
                    [
                        owner.pk
                        if owner and is_person and value == first_owner
                        else value
                        for is_person, value in zip(names_person, row, strict=True)
                    ]
                    for row in rows
                ],
            )
