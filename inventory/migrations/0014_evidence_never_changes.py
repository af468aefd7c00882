"""The database refuses to change the record of a closed assembly, or its pictures."""

from django.db import migrations

TABLES = ("inventory_closeup", "inventory_photograph")

SQLITE = {
    f"{table}_no_{verb}": (
        f"CREATE TRIGGER {table}_no_{verb} BEFORE {verb.upper()} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is evidence: it is never changed'); END"
    )
    for table in TABLES
    for verb in ("update", "delete")
}
# The function is that of the movements.
POSTGRES = {
    f"{table}_never_changed": (
        f"CREATE TRIGGER {table}_never_changed "
        f"BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION gripcount_never_changed()"
    )
    for table in TABLES
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
            table = name.removesuffix("_never_changed")
            schema_editor.execute(f"DROP TRIGGER {name} ON {table}")
    else:
        for name in SQLITE:
            schema_editor.execute(f"DROP TRIGGER {name}")


class Migration(migrations.Migration):
    """Evidence is append-only, held by triggers."""

    dependencies = [("inventory", "0013_tools_of_a_size")]
    operations = [migrations.RunPython(make, drop)]
