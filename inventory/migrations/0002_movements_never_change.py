"""The database itself refuses to change or delete an act or a movement."""

from django.db import migrations

TABLES = ("inventory_act", "inventory_movement")

SQLITE = {
    f"{table}_no_{verb}": (
        f"CREATE TRIGGER {table}_no_{verb} BEFORE {verb.upper()} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is never changed: "
        "post a correction'); END"
    )
    for table in TABLES
    for verb in ("update", "delete")
}
POSTGRES_FUNCTION = """
CREATE FUNCTION gripcount_never_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is never changed: post a correction', TG_TABLE_NAME
        USING ERRCODE = 'restrict_violation';
END $$
"""
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
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(POSTGRES_FUNCTION, params=None)
        wanted = POSTGRES
    else:
        wanted = SQLITE
    for sql in wanted.values():
        schema_editor.execute(sql, params=None)


def drop(apps, schema_editor):
    """Take them away again."""
    if schema_editor.connection.vendor == "postgresql":
        for name in POSTGRES:
            table = name.removesuffix("_never_changed")
            schema_editor.execute(f"DROP TRIGGER {name} ON {table}")
        schema_editor.execute("DROP FUNCTION gripcount_never_changed()")
    else:
        for name in SQLITE:
            schema_editor.execute(f"DROP TRIGGER {name}")


class Migration(migrations.Migration):
    """Append-only tables, held by triggers."""

    dependencies = [("inventory", "0001_tables")]
    operations = [migrations.RunPython(make, drop)]
