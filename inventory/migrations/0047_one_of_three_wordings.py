"""How sizes are said is one of three wordings: inches, millimetres beside, or before."""

from django.db import migrations, models


def chosen(apps, schema_editor):
    """Shops that had millimetres beside inches keep them."""
    side = schema_editor.connection.alias  # a shop that moves has two
    rows = apps.get_model("inventory", "Wording").objects.using(side)
    rows.filter(millimetres=True).update(lengths="beside")


class Migration(migrations.Migration):
    dependencies = [("inventory", "0046_wording")]

    operations = [
        migrations.AddField(
            model_name="wording",
            name="lengths",
            field=models.CharField(default="inches", max_length=12),
        ),
        migrations.RunPython(chosen, migrations.RunPython.noop),
        migrations.RemoveField(model_name="wording", name="millimetres"),
    ]
