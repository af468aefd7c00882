"""Two lengths of a seam are told apart from one with a decimal comma: '10, 12'."""

import re

from django.db import migrations

# As the trade's reading has it since: what may be one number or two is refused.
MAY_BE_ONE = re.compile(
    r"([0-9]+ ?[x\u00d7] ?)?([0-9]+,[0-9]+|[0-9]{1,3},[0-9]{3}\.[0-9]+)( ?(mm|in|\"))?",
    re.IGNORECASE,
)


def told_apart(apps, schema_editor):
    """What stands in a shop was read as two, and stays two."""
    side = schema_editor.connection.alias
    rows = apps.get_model("inventory", "Seam").objects.using(side)
    for row in rows.all():
        given = {
            name: text.replace(",", ", ")
            if name in ("length", "sheets") and MAY_BE_ONE.fullmatch(text.strip())
            else text
            for name, text in row.given.items()
        }
        if given != row.given:
            rows.filter(pk=row.pk).update(given=given)


class Migration(migrations.Migration):
    dependencies = [("inventory", "0036_supplier_web")]

    operations = [migrations.RunPython(told_apart, migrations.RunPython.noop)]
