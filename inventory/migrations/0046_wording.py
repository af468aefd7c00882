"""How items that a callout names are called: in inches, or with millimetres beside."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0045_slips_counted_back"),
    ]

    operations = [
        migrations.CreateModel(
            name="Wording",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("millimetres", models.BooleanField(default=False)),
            ],
        ),
    ]
