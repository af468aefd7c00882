"""Looks into bins, and what had been pulled of a bin's look-alikes when it was counted."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0049_heartbeat"),
    ]

    operations = [
        migrations.AddField(
            model_name="act",
            name="beside",
            field=models.PositiveBigIntegerField(null=True),
        ),
        migrations.AddField(
            model_name="bin",
            name="last_look",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="inventory.act",
            ),
        ),
        migrations.AddField(
            model_name="bin",
            name="moved_at_look",
            field=models.PositiveBigIntegerField(default=0),
        ),
        migrations.AlterField(
            model_name="act",
            name="verb",
            field=models.CharField(
                choices=[
                    ("pull", "pulled"),
                    ("return", "returned"),
                    ("count", "counted"),
                    ("look", "looked"),
                    ("receive", "received"),
                    ("scrap", "scrapped"),
                    ("lend", "lent"),
                    ("move", "moved"),
                    ("merge", "merged"),
                    ("undo", "undone"),
                ],
                max_length=10,
            ),
        ),
    ]
