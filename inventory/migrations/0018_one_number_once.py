"""Of scans that came under one number of a device, the first keeps it."""

from django.db import migrations
from django.db.models import Count, Min


def keep_the_first(apps, schema_editor):
    """Take the number from the others: two devices thought that they were one."""
    side = schema_editor.connection.alias  # a shop that moves has two
    scans = apps.get_model("inventory", "Scan").objects.using(side)
    numbered = scans.exclude(device="").exclude(seq=None)
    twice = numbered.order_by().values("device", "seq")
    for row in twice.annotate(times=Count("pk"), first=Min("at")).filter(times__gt=1):
        same = scans.filter(device=row["device"], seq=row["seq"])
        first = same.filter(at=row["first"]).order_by("pk").first()
        same.exclude(pk=first.pk).update(seq=None)


class Migration(migrations.Migration):
    """Before the number may stand once only."""

    dependencies = [("inventory", "0017_turns_and_letters")]
    operations = [migrations.RunPython(keep_the_first, migrations.RunPython.noop)]
