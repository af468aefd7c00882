"""What a count took back of one unlikely act is no evidence of how records stray."""

from django.db import migrations

FEW, TIMES, TENTH = 250, 10, 10


def set_apart(apps, schema_editor):
    """The differences that such counts found, without what they took back."""
    side = schema_editor.connection.alias  # a shop that moves has two
    found, acts, moves = (
        apps.get_model("inventory", name).objects.using(side)
        for name in ("CountFound", "Act", "Movement")
    )
    for row in found.filter(difference__lt=-FEW).select_related("bin"):
        counts = acts.filter(bin=row.bin_id, verb="count", pk__lt=row.act_id)
        standing = counts.filter(undone_by=None).order_by("-pk").first()
        came = moves.filter(
            target=row.bin.place_id,
            act__gt=standing.pk if standing else 0,
            act__lt=row.act_id,
            act__undone_by=None,
            act__undoes=None,
        )
        for moved in came.order_by("pk"):
            net, held = moved.quantity, moved.target_after - moved.quantity
            is_odd = net > max(FEW, TIMES * held)
            if is_odd and abs(row.difference + net) * TENTH < net:
                row.difference += net
                row.moved -= net
                row.save(update_fields=["difference", "moved"])
                break


class Migration(migrations.Migration):
    """A running figure, reckoned anew."""

    dependencies = [("inventory", "0044_sign_in_events")]
    operations = [migrations.RunPython(set_apart, migrations.RunPython.noop)]
