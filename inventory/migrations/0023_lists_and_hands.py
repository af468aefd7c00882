"""Which list each line of a plan came from, and each change of it, to be taken back.

A plan of today came from one list: the file that was imported last.
"""

from pathlib import PurePath

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def name_the_list(apps, schema_editor):
    """Everything that stands came from the last file of its build."""
    side = schema_editor.connection.alias  # a shop that moves has two

    def of(model):
        return apps.get_model("inventory", model).objects.using(side)

    for build in of("Build").all():
        last = of("PlanChange").filter(build=build)
        row = last.order_by("-pk").first()
        name = " ".join(PurePath(row.file_name).stem.split()) if row else ""
        name = name[:80] or "plan"
        of("Stage").filter(build=build).update(origin=name)
        of("Assembly").filter(stage__build=build).update(origin=name)
        for model in ("Need", "Seam", "Drilling"):
            of(model).filter(assembly__stage__build=build).update(origin=name)


ORIGIN = ("stage", "assembly", "need", "seam", "drilling")


class Migration(migrations.Migration):
    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("inventory", "0022_kept_sums"),
    ]

    operations = [
        migrations.RenameModel("PlanImport", "PlanChange"),
        migrations.AlterModelOptions("planchange", {"ordering": ["-pk"]}),
        migrations.AlterField(
            "planchange",
            "build",
            models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="plan_changes",
                to="inventory.build",
            ),
        ),
        migrations.AlterField(
            "planchange", "file_name", models.CharField(blank=True, max_length=160)
        ),
        migrations.AlterField(
            "planchange", "sha256", models.CharField(blank=True, max_length=64)
        ),
        migrations.AddField(
            "planchange", "said", models.CharField(blank=True, max_length=240)
        ),
        migrations.AddField("planchange", "sentences", models.JSONField(default=list)),
        migrations.AddField("planchange", "patch", models.JSONField(null=True)),
        migrations.AddField(
            "planchange", "taken_back_at", models.DateTimeField(null=True)
        ),
        migrations.AddField(
            "planchange",
            "taken_back_by",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddConstraint(
            "planchange",
            models.CheckConstraint(
                condition=models.Q(taken_back_at=None, taken_back_by=None)
                | models.Q(taken_back_at__isnull=False, taken_back_by__isnull=False),
                name="plan_change_taken_back_at_and_by",
            ),
        ),
        *(
            migrations.AddField(
                model, "origin", models.CharField(blank=True, default="", max_length=80)
            )
            for model in ORIGIN
        ),
        migrations.AddField(
            "seam", "days_held", models.PositiveSmallIntegerField(null=True)
        ),
        migrations.AlterField(
            "need", "callout", models.CharField(blank=True, max_length=120)
        ),
        migrations.RemoveConstraint("need", "need_callout_once_an_assembly"),
        migrations.AddConstraint(
            "need",
            models.UniqueConstraint(
                fields=("assembly", "callout", "item", "origin"),
                name="need_once_an_assembly_and_list",
            ),
        ),
        migrations.RunPython(name_the_list, migrations.RunPython.noop),
    ]
