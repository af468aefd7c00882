"""What stands of the record after undoes of undoes, and what counts teach."""

from collections import defaultdict
from importlib import import_module

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q


def rows_of(apps, schema_editor, *names):
    """The rows of these models where the tables are made: not always in the shop itself."""
    side = schema_editor.connection.alias
    return [apps.get_model("inventory", name).objects.using(side) for name in names]


def chains(apps, schema_editor):
    """Name what each undo takes back, and what each correction began with."""
    acts, moves = rows_of(apps, schema_editor, "Act", "Movement")
    first, depth = {}, {}
    for pk, undone in acts.order_by("pk").values_list("pk", "undoes"):
        first[pk] = first.get(undone, pk)
        depth[pk] = depth.get(undone, -1) + 1
        if depth[pk] % 2:
            acts.filter(pk=pk).update(takes_back=first[pk])
    began = {}
    rows = moves.exclude(corrects=None).order_by("pk")
    for pk, was in rows.values_list("pk", "corrects"):
        began[pk] = began.get(was, was)
        moves.filter(pk=pk).update(original=began[pk])


def asked(apps, schema_editor):
    """Why bins ask to be counted, and what their counts that stand found."""
    bins, told, found, acts, moves = rows_of(
        apps, schema_editor, "Bin", "CountAsked", "CountFound", "Act", "Movement"
    )
    for row in bins.all():
        if row.count_it:
            told.create(bin=row, reason=row.count_reason)
        net, booked, moved = (defaultdict(int) for _ in range(3))
        at_it = moves.filter(Q(source=row.place_id) | Q(target=row.place_id))
        for act, source, pieces, *kinds in at_it.values_list(
            "act", "source", "quantity", "source__kind", "target__kind"
        ):
            signed = -pieces if source == row.place_id else pieces
            net[act] += signed
            if "count_difference" in kinds:
                booked[act] += signed
            else:
                moved[act] += pieces
        here = acts.filter(Q(pk__in=list(net)) | Q(bin=row)).order_by("pk")
        counts = set(here.filter(bin=row, verb="count").values_list("pk", flat=True))
        last, since, rows = played(list(here), counts, net, booked, moved)
        for act, difference, pieces in rows:
            found.create(act_id=act, bin=row, difference=difference, moved=pieces)
        bins.filter(pk=row.pk).update(last_count=last, moved_since=since)


def played(acts, counts, net, booked, moved):
    """The last count, the pieces moved since, and what each count found."""
    first, undone = {}, defaultdict(int)
    for act in acts:
        first[act.pk] = first.get(act.undoes_id, act.pk)
        undone[first[act.pk]] += act.undoes_id is not None
    balance, recorded, since, last, newest, found = 0, 0, 0, None, None, []
    for act in acts:
        recorded += net[act.pk]
        if act.undoes_id or undone[act.pk] % 2:
            continue
        is_late = net[act.pk] == 0 and newest is not None and act.at < newest
        if act.pk not in counts:
            since += moved[act.pk]
            balance += net[act.pk] - (0 if is_late else booked[act.pk])
            balance = max(0, balance)
            continue
        stated = balance + net[act.pk] if act.counted is None else recorded
        stated = balance if is_late else stated
        if last is not None and act.reason != "opening stock":
            found.append((act.pk, stated - balance, since))
        if act.counted is not None:
            newest = max(act.at, newest or act.at)
        balance, since, last = stated, 0, act.pk
    return last, since, found


def refigure(apps, schema_editor):
    """The kept sums are summed anew: they take back what was taken back."""
    (kept,) = rows_of(apps, schema_editor, "KeptSum")
    kept.all().delete()


def with_open_record(change):
    """Change the record once, its guards away meanwhile."""

    def run(apps, schema_editor):
        (acts,) = rows_of(apps, schema_editor, "Act")
        if not acts.exclude(undoes=None).exists():
            return
        guards = import_module("inventory.migrations.0002_movements_never_change")
        is_server = schema_editor.connection.vendor == "postgresql"
        for name in guards.POSTGRES if is_server else guards.SQLITE:
            table = f" ON {name.removesuffix('_never_changed')}" if is_server else ""
            schema_editor.execute(f"DROP TRIGGER {name}{table}")
        change(apps, schema_editor)
        if is_server:
            schema_editor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for sql in (guards.POSTGRES if is_server else guards.SQLITE).values():
            schema_editor.execute(sql, params=None)

    return run


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0023_lists_and_hands"),
    ]

    operations = [
        migrations.AddField(
            model_name="act",
            name="takes_back",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="taken_back_by",
                to="inventory.act",
            ),
        ),
        migrations.AddField(
            model_name="movement",
            name="original",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="corrections",
                to="inventory.movement",
            ),
        ),
        migrations.CreateModel(
            name="CountAsked",
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
                ("reason", models.CharField(max_length=160)),
                ("missing", models.PositiveIntegerField(null=True)),
                (
                    "act",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.act",
                    ),
                ),
                (
                    "answered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.act",
                    ),
                ),
                (
                    "bin",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="counts_asked",
                        to="inventory.bin",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "counts asked",
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="CountFound",
            fields=[
                (
                    "act",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        primary_key=True,
                        related_name="+",
                        serialize=False,
                        to="inventory.act",
                    ),
                ),
                ("difference", models.IntegerField()),
                ("moved", models.PositiveBigIntegerField()),
                (
                    "bin",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="counts_found",
                        to="inventory.bin",
                    ),
                ),
            ],
        ),
        migrations.RunPython(with_open_record(chains), migrations.RunPython.noop),
        migrations.RunPython(asked, migrations.RunPython.noop),
        migrations.RunPython(refigure, migrations.RunPython.noop),
    ]
