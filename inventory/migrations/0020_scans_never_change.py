"""Scans are never changed either; and on SQLite no row is replaced by another of its id.

`REPLACE INTO` deletes what stands in its way without any delete trigger (SQLite
documentation, 'The ON CONFLICT clause'), so an insert of what exists is refused.
"""

from django.db import migrations

SCANS = "inventory_scan"
# By which columns a new row could push an old one out.
KEYS = {
    "inventory_act": ("id", "scan_id", "undoes_id"),
    "inventory_movement": ("id", "corrects_id"),
    "inventory_closeup": ("id",),
    "inventory_photograph": ("id",),
    SCANS: ("id",),
}

SQLITE = {
    f"{SCANS}_no_{verb}": (
        f"CREATE TRIGGER {SCANS}_no_{verb} BEFORE {verb.upper()} ON {SCANS} "
        f"BEGIN SELECT RAISE(ABORT, '{SCANS} is evidence: it is never changed'); END"
    )
    for verb in ("update", "delete")
} | {
    f"{table}_no_replace": (
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN EXISTS "
        f"(SELECT 1 FROM {table} WHERE {' OR '.join(f'{k} = NEW.{k}' for k in keys)}) "
        f"BEGIN SELECT RAISE(ABORT, '{table} has this row: it is never changed'); END"
    )
    for table, keys in KEYS.items()
}
# The function is that of the movements; this engine knows no REPLACE.
POSTGRES = {
    f"{SCANS}_never_changed": (
        f"CREATE TRIGGER {SCANS}_never_changed "
        f"BEFORE UPDATE OR DELETE OR TRUNCATE ON {SCANS} "
        "FOR EACH STATEMENT EXECUTE FUNCTION gripcount_never_changed()"
    )
}


def make(apps, schema_editor):
    """Create the triggers of this engine."""
    is_server = schema_editor.connection.vendor == "postgresql"
    for sql in (POSTGRES if is_server else SQLITE).values():
        schema_editor.execute(sql, params=None)


def drop(apps, schema_editor):
    """Take them away again."""
    if schema_editor.connection.vendor == "postgresql":
        for name in POSTGRES:
            schema_editor.execute(f"DROP TRIGGER {name} ON {SCANS}")
    else:
        for name in SQLITE:
            schema_editor.execute(f"DROP TRIGGER {name}")


class Migration(migrations.Migration):
    """What a bench beeped is append-only, held by triggers."""

    dependencies = [("inventory", "0019_numbers_and_checks")]
    operations = [migrations.RunPython(make, drop)]
