"""What nobody could read is called as it is written."""

from django.db import migrations
from django.db.models import F

BEFORE = "unread callout "


def called_as_written(apps, schema_editor):
    """Take the two words off where a callout stands behind them."""
    side = schema_editor.connection.alias
    rows = apps.get_model("inventory", "Item").objects.using(side)
    unread = rows.filter(recognised=False, words__startswith=BEFORE)
    unread.exclude(callout="").update(words=F("callout"))


class Migration(migrations.Migration):
    dependencies = [("inventory", "0034_reopenings")]

    operations = [
        migrations.RunPython(called_as_written, migrations.RunPython.noop),
    ]
