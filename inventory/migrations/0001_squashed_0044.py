"""All tables as 0001 to 0044 leave them, at once, for a shop that begins today.

A shop that has some of those goes on with them one by one. A test holds both to the
same tables.
"""

from decimal import Decimal
from importlib import import_module

import django.contrib.auth.models
import django.contrib.auth.validators
import django.core.validators
import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

GUARDS = (
    "0002_movements_never_change",
    "0014_evidence_never_changes",
    "0020_scans_never_change",
)


def make(apps, schema_editor):
    """The triggers that refuse every change of the record."""
    for name in GUARDS:
        import_module(f"inventory.migrations.{name}").make(apps, schema_editor)


def drop(apps, schema_editor):
    """Take them away again."""
    for name in reversed(GUARDS):
        import_module(f"inventory.migrations.{name}").drop(apps, schema_editor)


class Migration(migrations.Migration):
    """The first tables, and the triggers that hold them."""

    initial = True
    replaces = [
        ("inventory", "0001_tables"),
        ("inventory", "0002_movements_never_change"),
        ("inventory", "0003_seams_of_the_plan"),
        ("inventory", "0004_how_a_count_is_known"),
        ("inventory", "0005_order_plan"),
        ("inventory", "0006_substitution"),
        ("inventory", "0007_late_scans"),
        ("inventory", "0008_close_ups"),
        ("inventory", "0009_label_setup"),
        ("inventory", "0010_wear_weights"),
        ("inventory", "0011_papers_photographed"),
        ("inventory", "0012_wide_rechecks"),
        ("inventory", "0013_tools_of_a_size"),
        ("inventory", "0014_evidence_never_changes"),
        ("inventory", "0015_lenders"),
        ("inventory", "0016_labelled_bins"),
        ("inventory", "0017_turns_and_letters"),
        ("inventory", "0018_one_number_once"),
        ("inventory", "0019_numbers_and_checks"),
        ("inventory", "0020_scans_never_change"),
        ("inventory", "0021_running_figures"),
        ("inventory", "0022_kept_sums"),
        ("inventory", "0023_lists_and_hands"),
        ("inventory", "0024_what_stands"),
        ("inventory", "0030_things_by_hand"),
        ("inventory", "0031_guessed_grams"),
        ("inventory", "0032_first_steps"),
        ("inventory", "0033_headers"),
        ("inventory", "0034_reopenings"),
        ("inventory", "0035_called_as_written"),
        ("inventory", "0036_supplier_web"),
        ("inventory", "0037_lengths_of_two"),
        ("inventory", "0038_list_headers"),
        ("inventory", "0039_loans_and_numbers"),
        ("inventory", "0040_bits_by_word"),
        ("inventory", "0041_backups"),
        ("inventory", "0042_sign_in_tries"),
        ("inventory", "0043_roles"),
        ("inventory", "0044_sign_in_events"),
    ]

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        migrations.CreateModel(
            name="Bit",
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
                ("number", models.PositiveIntegerField(unique=True)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("fitted", "fitted"),
                            ("dull", "dull"),
                            ("broken", "broken"),
                            ("resharpened", "resharpened"),
                            ("set_aside", "set aside"),
                        ],
                        default="fitted",
                        max_length=12,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Build",
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
                ("name", models.CharField(max_length=80, unique=True)),
            ],
        ),
        migrations.CreateModel(
            name="Item",
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
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("solid_rivet", "solid rivet"),
                            ("blind_rivet", "blind rivet"),
                            ("pin_rivet", "pin rivet"),
                            ("screw", "screw"),
                            ("bolt", "bolt"),
                            ("nut", "nut"),
                            ("washer", "washer"),
                            ("cotter_pin", "cotter pin"),
                            ("drill", "drill"),
                            ("countersink", "countersink cutter"),
                            ("reamer", "reamer"),
                            ("deburring", "deburring cutter"),
                            ("temporary_fastener", "temporary fastener"),
                            ("dimple_die", "dimple die set"),
                            ("driving_set", "driving set"),
                            ("sealant", "sealant"),
                            ("primer", "primer"),
                            ("abrasive", "abrasive"),
                            ("other", "other"),
                        ],
                        max_length=20,
                    ),
                ),
                ("key", models.CharField(max_length=240, unique=True)),
                ("words", models.CharField(max_length=160)),
                ("callout", models.CharField(blank=True, max_length=120)),
                ("size", models.CharField(blank=True, max_length=120)),
                ("form", models.CharField(blank=True, max_length=120)),
                ("head", models.CharField(blank=True, max_length=40)),
                ("alloy", models.CharField(blank=True, max_length=20)),
                (
                    "diameter_in",
                    models.DecimalField(
                        blank=True, decimal_places=5, max_digits=8, null=True
                    ),
                ),
                (
                    "length_in",
                    models.DecimalField(
                        blank=True, decimal_places=5, max_digits=8, null=True
                    ),
                ),
                ("unit", models.CharField(default="pcs", max_length=4)),
                ("spoilage_class", models.CharField(blank=True, max_length=60)),
                (
                    "piece_mass_mg",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=10, null=True
                    ),
                ),
                ("mass_is_weighed", models.BooleanField(default=False)),
                ("recognised", models.BooleanField(default=True)),
                ("traits", models.JSONField(blank=True, default=dict)),
                (
                    "became",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="was",
                        to="inventory.item",
                    ),
                ),
            ],
            options={
                "ordering": [
                    "kind",
                    "diameter_in",
                    "head",
                    "alloy",
                    "length_in",
                    "key",
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("unit__in", ["pcs", "ml", "g", "mm"])),
                        name="item_unit_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("piece_mass_mg", None),
                            ("piece_mass_mg__gt", 0),
                            _connector="OR",
                        ),
                        name="item_mass_is_positive",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ListHeader",
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
                ("mark", models.CharField(max_length=64, unique=True)),
                ("columns", models.JSONField()),
                ("guessing", models.BooleanField()),
            ],
        ),
        migrations.CreateModel(
            name="SignInTries",
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
                ("mark", models.CharField(max_length=64, unique=True)),
                ("times", models.JSONField(default=list)),
                ("seen_at", models.DateTimeField(db_index=True)),
            ],
        ),
        migrations.CreateModel(
            name="Turn",
            fields=[
                (
                    "name",
                    models.CharField(max_length=20, primary_key=True, serialize=False),
                ),
                ("until", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="User",
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
                ("password", models.CharField(max_length=128, verbose_name="password")),
                (
                    "last_login",
                    models.DateTimeField(
                        blank=True, null=True, verbose_name="last login"
                    ),
                ),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={
                            "unique": "A user with that username already exists."
                        },
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[
                            django.contrib.auth.validators.UnicodeUsernameValidator()
                        ],
                        verbose_name="username",
                    ),
                ),
                (
                    "first_name",
                    models.CharField(
                        blank=True, max_length=150, verbose_name="first name"
                    ),
                ),
                (
                    "last_name",
                    models.CharField(
                        blank=True, max_length=150, verbose_name="last name"
                    ),
                ),
                (
                    "email",
                    models.EmailField(
                        blank=True, max_length=254, verbose_name="email address"
                    ),
                ),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                (
                    "date_joined",
                    models.DateTimeField(
                        default=django.utils.timezone.now, verbose_name="date joined"
                    ),
                ),
                (
                    "kept_role",
                    models.CharField(
                        choices=[
                            ("reader", "reader"),
                            ("helper", "helper"),
                            ("builder", "builder"),
                        ],
                        default="builder",
                        max_length=10,
                    ),
                ),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            options={
                "verbose_name": "user",
                "verbose_name_plural": "users",
                "abstract": False,
            },
            managers=[
                ("objects", django.contrib.auth.models.UserManager()),
            ],
        ),
        migrations.CreateModel(
            name="Act",
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
                ("scan_id", models.CharField(max_length=36, null=True, unique=True)),
                ("fingerprint", models.CharField(max_length=64)),
                (
                    "verb",
                    models.CharField(
                        choices=[
                            ("pull", "pulled"),
                            ("return", "returned"),
                            ("count", "counted"),
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
                ("at", models.DateTimeField()),
                ("counted", models.PositiveIntegerField(null=True)),
                (
                    "doubt",
                    models.DecimalField(decimal_places=2, max_digits=9, null=True),
                ),
                ("reason", models.CharField(blank=True, max_length=160)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "takes_back",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="taken_back_by",
                        to="inventory.act",
                    ),
                ),
                (
                    "undoes",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="undone_by",
                        to="inventory.act",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Assembly",
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
                ("position", models.PositiveIntegerField()),
                ("name", models.CharField(max_length=80)),
                ("how_many", models.PositiveIntegerField(default=1)),
                ("origin", models.CharField(blank=True, default="", max_length=80)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("planned", "planned"),
                            ("in_work", "in work"),
                            ("closed", "closed"),
                        ],
                        default="planned",
                        max_length=10,
                    ),
                ),
                ("started_at", models.DateTimeField(blank=True, null=True)),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "closed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "started_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "assemblies",
                "ordering": ["stage__position", "position", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("how_many__gt", 0)),
                        name="assembly_is_made_at_least_once",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("started_at", None), ("started_by", None)),
                            models.Q(
                                ("started_at__isnull", False),
                                ("started_by__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="assembly_started_at_and_by",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_at", None), ("closed_by", None)),
                            models.Q(
                                ("closed_at__isnull", False),
                                ("closed_by__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="assembly_closed_at_and_by",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_at__isnull", False), ("state", "closed")),
                            models.Q(
                                models.Q(("state", "closed"), _negated=True),
                                ("closed_at", None),
                            ),
                            _connector="OR",
                        ),
                        name="assembly_closed_when_closed",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Bench",
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
                ("key", models.CharField(max_length=60, unique=True)),
                ("state", models.JSONField(default=dict)),
                ("changed_at", models.DateTimeField()),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Bin",
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
                ("number", models.PositiveIntegerField(unique=True)),
                ("spot", models.CharField(blank=True, max_length=80)),
                ("keep_level", models.PositiveIntegerField(blank=True, null=True)),
                ("count_it", models.BooleanField(default=False)),
                ("count_reason", models.CharField(blank=True, max_length=160)),
                ("counted_at", models.DateTimeField(blank=True, null=True)),
                ("moved_since", models.PositiveBigIntegerField(default=0)),
                ("labelled", models.BooleanField(default=False)),
                (
                    "tare_g",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=8, null=True
                    ),
                ),
                ("retired_at", models.DateTimeField(blank=True, null=True)),
                (
                    "last_count",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.act",
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bins",
                        to="inventory.item",
                    ),
                ),
            ],
            options={
                "ordering": ["number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("number__lte", 9999)),
                        name="bin_number_fits_its_code",
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="act",
            name="bin",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="acts",
                to="inventory.bin",
            ),
        ),
        migrations.CreateModel(
            name="BitEvent",
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
                (
                    "event",
                    models.CharField(
                        choices=[
                            ("fitted", "fitted"),
                            ("dull", "dull"),
                            ("broken", "broken"),
                            ("resharpened", "resharpened"),
                            ("set_aside", "set aside"),
                        ],
                        max_length=12,
                    ),
                ),
                ("holes", models.DecimalField(decimal_places=1, max_digits=9)),
                ("at", models.DateTimeField()),
                ("back_at", models.DateTimeField(blank=True, null=True)),
                (
                    "back_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "bit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="events",
                        to="inventory.bit",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="BitWork",
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
                ("closed_at", models.DateTimeField()),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="bit_works",
                        to="inventory.assembly",
                    ),
                ),
                (
                    "bit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="works",
                        to="inventory.bit",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="CloseUp",
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
                ("at", models.DateTimeField()),
                ("note", models.TextField(blank=True)),
                ("record", models.JSONField()),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="close_ups",
                        to="inventory.assembly",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
            },
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
            name="Device",
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
                ("name", models.CharField(max_length=60, unique=True)),
                ("token_hash", models.CharField(max_length=64, unique=True)),
                (
                    "scope",
                    models.CharField(
                        choices=[
                            ("scan", "scan only"),
                            ("read", "read only"),
                            ("all", "everything"),
                        ],
                        default="all",
                        max_length=10,
                    ),
                ),
                ("made_at", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="devices",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Drilling",
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
                ("hole_size", models.CharField(max_length=20)),
                ("holes_each", models.PositiveIntegerField()),
                ("operation", models.CharField(default="full", max_length=10)),
                ("every_nth", models.PositiveSmallIntegerField(default=0)),
                ("days_held", models.PositiveSmallIntegerField(default=0)),
                ("origin", models.CharField(blank=True, default="", max_length=80)),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="drillings",
                        to="inventory.assembly",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="Recheck",
            fields=[
                (
                    "item",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        primary_key=True,
                        serialize=False,
                        to="inventory.item",
                    ),
                ),
                ("wanted", models.PositiveBigIntegerField(default=1)),
                ("done", models.PositiveBigIntegerField(default=0)),
                ("wide", models.BooleanField(default=False)),
                ("attempts", models.PositiveIntegerField(default=0)),
            ],
        ),
        migrations.CreateModel(
            name="Callout",
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
                ("text", models.CharField(max_length=120, unique=True)),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="callouts",
                        to="inventory.item",
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="bit",
            name="item",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="bits",
                to="inventory.item",
            ),
        ),
        migrations.CreateModel(
            name="ItemChange",
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
                ("at", models.DateTimeField()),
                ("said", models.CharField(max_length=400)),
                ("before", models.JSONField(default=dict)),
                ("moved", models.JSONField(default=dict)),
                ("is_back", models.BooleanField(default=False)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="changes",
                        to="inventory.item",
                    ),
                ),
                (
                    "other",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="changes_by_others",
                        to="inventory.item",
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
            },
        ),
        migrations.CreateModel(
            name="KeptSum",
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
                ("figure", models.CharField(max_length=10)),
                ("place", models.PositiveBigIntegerField(default=0)),
                ("other", models.PositiveBigIntegerField(default=0)),
                ("what", models.PositiveBigIntegerField(default=0)),
                ("who", models.PositiveBigIntegerField(default=0)),
                ("day", models.CharField(blank=True, max_length=10)),
                ("total", models.BigIntegerField(default=0)),
            ],
            options={
                "verbose_name_plural": "kept sums",
                "constraints": [
                    models.UniqueConstraint(
                        fields=("figure", "place", "other", "what", "who", "day"),
                        name="kept_sum_once",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="LabelSetup",
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
                ("chosen", models.JSONField(default=dict)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("pk", 1)), name="label_setup_is_one_row"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="LedgerCheck",
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
                ("at", models.DateTimeField()),
                ("found", models.JSONField(default=list)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("pk", 1)), name="ledger_check_is_one_row"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Lot",
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
                ("name", models.CharField(max_length=60)),
                ("paper", models.CharField(blank=True, max_length=60)),
                ("expires_on", models.DateField(blank=True, null=True)),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="inventory.item",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("item", "name"), name="lot_once_an_item"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Movement",
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
                ("quantity", models.PositiveIntegerField()),
                ("source_after", models.IntegerField()),
                ("target_after", models.IntegerField()),
                (
                    "act",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="inventory.act",
                    ),
                ),
                (
                    "corrects",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrected_by",
                        to="inventory.movement",
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="inventory.item",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="inventory.lot",
                    ),
                ),
                (
                    "original",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrections",
                        to="inventory.movement",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gt", 0)),
                        name="movement_quantity_is_positive",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="LotInBin",
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
                (
                    "bin",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="inventory.bin",
                    ),
                ),
                (
                    "emptied_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.act",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bins",
                        to="inventory.lot",
                    ),
                ),
                (
                    "since",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.movement",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("emptied_by", None)),
                        fields=("bin", "lot"),
                        name="lot_open_once_a_bin",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Need",
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
                ("callout", models.CharField(blank=True, max_length=120)),
                ("each", models.PositiveIntegerField()),
                ("origin", models.CharField(blank=True, default="", max_length=80)),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="needs",
                        to="inventory.assembly",
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="needs",
                        to="inventory.item",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("assembly", "callout", "item", "origin"),
                        name="need_once_an_assembly_and_list",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("each__gt", 0)), name="need_asks_something"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Offer",
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
                ("pack", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "pack_grams",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=9, null=True
                    ),
                ),
                (
                    "price",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=10, null=True
                    ),
                ),
                ("most_packs", models.PositiveIntegerField(blank=True, null=True)),
                ("lead_days", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("life_days", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("their_number", models.CharField(blank=True, max_length=60)),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="offers",
                        to="inventory.item",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("pack", None), ("pack_grams", None), _connector="OR"
                        ),
                        name="offer_pack_has_pieces_or_weight",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("price", None), ("price__gte", 0), _connector="OR"
                        ),
                        name="offer_price_not_negative",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Order",
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
                ("number", models.PositiveIntegerField(unique=True)),
                ("reference", models.CharField(blank=True, max_length=60)),
                ("placed_on", models.DateField()),
                ("expected_on", models.DateField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("number__lte", 9999)),
                        name="order_number_fits_its_code",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderLine",
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
                ("packs", models.PositiveIntegerField()),
                ("pack_pieces", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "pack_grams",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=9, null=True
                    ),
                ),
                ("dropped_at", models.DateTimeField(blank=True, null=True)),
                (
                    "dropped_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="order_lines",
                        to="inventory.item",
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="inventory.order",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("packs__gt", 0)),
                        name="order_line_asks_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("pack_pieces__gt", 0),
                            ("pack_grams__gt", 0),
                            _connector="OR",
                        ),
                        name="order_line_pack_has_pieces_or_weight",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("dropped_at", None), ("dropped_by", None)),
                            models.Q(
                                ("dropped_at__isnull", False),
                                ("dropped_by__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="order_line_dropped_at_and_by",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="OrderPlan",
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
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "waiting for the worker"),
                            ("solving", "being worked out"),
                            ("done", "worked out"),
                            ("failed", "not worked out"),
                            ("cancelled", "stopped"),
                        ],
                        default="waiting",
                        max_length=10,
                    ),
                ),
                (
                    "turn",
                    models.PositiveSmallIntegerField(default=1, null=True, unique=True),
                ),
                ("asked_at", models.DateTimeField()),
                ("days_ahead", models.PositiveSmallIntegerField()),
                ("limit_seconds", models.PositiveSmallIntegerField()),
                ("tries", models.PositiveSmallIntegerField(default=0)),
                ("beat_at", models.DateTimeField(null=True)),
                ("elapsed", models.FloatField(default=0)),
                ("finished_at", models.DateTimeField(null=True)),
                ("sentence", models.TextField(blank=True)),
                (
                    "total",
                    models.DecimalField(decimal_places=2, max_digits=12, null=True),
                ),
                (
                    "bound",
                    models.DecimalField(decimal_places=2, max_digits=12, null=True),
                ),
                ("gap", models.DecimalField(decimal_places=6, max_digits=9, null=True)),
                ("proven", models.BooleanField(default=False)),
                ("found", models.JSONField(default=dict)),
                ("ordered_at", models.DateTimeField(null=True)),
                (
                    "asked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "ordered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("state__in", ["waiting", "solving"]), ("turn", 1)
                            ),
                            models.Q(
                                ("state__in", ["done", "failed", "cancelled"]),
                                ("turn", None),
                            ),
                            _connector="OR",
                        ),
                        name="order_plan_has_its_turn_while_open",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("ordered_at", None), ("ordered_by", None)),
                            models.Q(
                                ("ordered_at__isnull", False),
                                ("ordered_by__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="order_plan_ordered_at_and_by",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Photograph",
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
                ("at", models.DateTimeField()),
                ("caption", models.CharField(blank=True, max_length=160)),
                ("sha256", models.CharField(max_length=64)),
                (
                    "assembly",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photographs",
                        to="inventory.assembly",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photographs",
                        to="inventory.lot",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("assembly", None), ("lot__isnull", False)),
                            models.Q(("assembly__isnull", False), ("lot", None)),
                            _connector="OR",
                        ),
                        name="photograph_of_one_thing",
                    ),
                    models.UniqueConstraint(
                        fields=("assembly", "sha256"),
                        name="photograph_once_an_assembly",
                    ),
                    models.UniqueConstraint(
                        fields=("lot", "sha256"), name="photograph_once_a_lot"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Place",
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
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("bin", "bin"),
                            ("assembly", "assembly in work"),
                            ("borrower", "borrower"),
                            ("lender", "lender"),
                            ("supplier", "supplier"),
                            ("scrap", "scrap"),
                            ("unplanned", "used outside the plan"),
                            ("count_difference", "count difference"),
                            ("merged", "merged items"),
                        ],
                        max_length=20,
                    ),
                ),
                ("name", models.CharField(max_length=160)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                ["count_difference", "merged", "scrap", "unplanned"],
                            )
                        ),
                        fields=("kind",),
                        name="place_single_kinds_once",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("kind__in", ["borrower", "lender"])),
                        fields=("kind", "name"),
                        name="place_of_a_person_once",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="movement",
            name="source",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="went",
                to="inventory.place",
            ),
        ),
        migrations.AddField(
            model_name="movement",
            name="target",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="came",
                to="inventory.place",
            ),
        ),
        migrations.CreateModel(
            name="DueBack",
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
                ("due_on", models.DateField()),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.item",
                    ),
                ),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.place",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("place", "item"), name="due_once_a_person_and_item"
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="bin",
            name="place",
            field=models.OneToOneField(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="bin",
                to="inventory.place",
            ),
        ),
        migrations.CreateModel(
            name="Balance",
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
                ("open_ended", models.BooleanField()),
                ("quantity", models.IntegerField(default=0)),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="balances",
                        to="inventory.item",
                    ),
                ),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="balances",
                        to="inventory.place",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("place", "item"), name="balance_once_a_place_and_item"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("open_ended", True), ("quantity__gte", 0), _connector="OR"
                        ),
                        name="balance_not_below_zero",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="assembly",
            name="place",
            field=models.OneToOneField(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="assembly",
                to="inventory.place",
            ),
        ),
        migrations.CreateModel(
            name="PlanChange",
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
                ("said", models.CharField(blank=True, max_length=240)),
                ("file_name", models.CharField(blank=True, max_length=160)),
                ("sha256", models.CharField(blank=True, max_length=64)),
                ("changes", models.PositiveIntegerField()),
                ("sentences", models.JSONField(default=list)),
                ("patch", models.JSONField(null=True)),
                ("at", models.DateTimeField()),
                ("taken_back_at", models.DateTimeField(null=True)),
                (
                    "build",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="plan_changes",
                        to="inventory.build",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "taken_back_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("taken_back_at", None), ("taken_back_by", None)),
                            models.Q(
                                ("taken_back_at__isnull", False),
                                ("taken_back_by__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="plan_change_taken_back_at_and_by",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="PriceBreak",
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
                ("from_packs", models.PositiveIntegerField()),
                ("price", models.DecimalField(decimal_places=2, max_digits=10)),
                (
                    "offer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="breaks",
                        to="inventory.offer",
                    ),
                ),
            ],
            options={
                "ordering": ["from_packs"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("offer", "from_packs"), name="break_once_a_count"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("from_packs__gt", 1), ("price__gte", 0)),
                        name="break_from_two_packs_on",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Receipt",
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
                ("pieces", models.PositiveIntegerField()),
                ("closes", models.BooleanField(default=False)),
                (
                    "guessed_grams",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=9, null=True
                    ),
                ),
                (
                    "act",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="receipt",
                        to="inventory.act",
                    ),
                ),
                (
                    "line",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="receipts",
                        to="inventory.orderline",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="Reopening",
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
                ("at", models.DateTimeField()),
                ("note", models.CharField(blank=True, max_length=400)),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reopenings",
                        to="inventory.assembly",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
            },
        ),
        migrations.CreateModel(
            name="Scan",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("raw", models.CharField(max_length=512)),
                ("fingerprint", models.CharField(max_length=64)),
                ("outcome", models.JSONField()),
                ("at", models.DateTimeField()),
                ("happened_at", models.DateTimeField(null=True)),
                ("device", models.CharField(blank=True, max_length=36)),
                ("seq", models.PositiveIntegerField(null=True)),
                (
                    "act",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="scans",
                        to="inventory.act",
                    ),
                ),
                (
                    "bench",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="scans",
                        to="inventory.bench",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "indexes": [
                    models.Index(
                        condition=models.Q(("act__isnull", False)),
                        fields=["bench", "-act"],
                        name="scan_that_acted",
                    )
                ],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(
                            models.Q(("device", ""), _negated=True),
                            ("seq__isnull", False),
                        ),
                        fields=("device", "seq"),
                        name="scan_once_a_number",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Seam",
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
                ("callout", models.CharField(max_length=120)),
                ("given", models.JSONField()),
                ("rivets", models.PositiveIntegerField()),
                ("rule", models.TextField()),
                ("days_held", models.PositiveSmallIntegerField(null=True)),
                ("origin", models.CharField(blank=True, default="", max_length=80)),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="seams",
                        to="inventory.assembly",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("rivets__gt", 0)), name="seam_has_rivets"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Shop",
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
                ("name", models.CharField(default="The workshop", max_length=80)),
                (
                    "mail_to",
                    models.EmailField(
                        blank=True,
                        help_text="Where alerts go; empty: to the owner's address.",
                        max_length=254,
                    ),
                ),
                (
                    "stage_confidence",
                    models.DecimalField(
                        decimal_places=3,
                        default=Decimal("0.95"),
                        max_digits=4,
                        validators=[
                            django.core.validators.MinValueValidator(Decimal("0.5")),
                            django.core.validators.MaxValueValidator(Decimal("0.999")),
                        ],
                    ),
                ),
                (
                    "pace_days",
                    models.PositiveSmallIntegerField(
                        default=28,
                        help_text="Days an undated stage is taken to last: a guess.",
                        validators=[django.core.validators.MinValueValidator(1)],
                    ),
                ),
                (
                    "lead_days",
                    models.PositiveSmallIntegerField(
                        default=5,
                        help_text="Lead time where no supplier states one: a guess.",
                    ),
                ),
                (
                    "bit_life_holes",
                    models.PositiveSmallIntegerField(
                        default=300,
                        help_text="Equivalent holes a bit lasts: a guess until the record speaks.",
                        validators=[django.core.validators.MinValueValidator(1)],
                    ),
                ),
                (
                    "currency",
                    models.CharField(
                        blank=True,
                        help_text="A word beside every price; may be empty.",
                        max_length=12,
                    ),
                ),
                (
                    "cut_cost",
                    models.DecimalField(
                        decimal_places=2,
                        default=Decimal("0.25"),
                        help_text="What cutting one rivet down is worth to you: a guess.",
                        max_digits=7,
                        validators=[
                            django.core.validators.MinValueValidator(Decimal("0"))
                        ],
                    ),
                ),
                (
                    "opening_weight",
                    models.DecimalField(
                        decimal_places=2,
                        default=Decimal("0.20"),
                        help_text="Wear of opening a punched hole, in full holes: a guess.",
                        max_digits=4,
                        validators=[
                            django.core.validators.MinValueValidator(Decimal("0"))
                        ],
                    ),
                ),
                (
                    "removal_weight",
                    models.DecimalField(
                        decimal_places=2,
                        default=Decimal("2.50"),
                        help_text="Wear of drilling a rivet out, in full holes: a guess.",
                        max_digits=4,
                        validators=[
                            django.core.validators.MinValueValidator(Decimal("0"))
                        ],
                    ),
                ),
                (
                    "seen_at",
                    models.DateTimeField(
                        blank=True,
                        help_text="When somebody last opened a page.",
                        null=True,
                    ),
                ),
                (
                    "letter_came_at",
                    models.DateTimeField(
                        blank=True,
                        help_text="When somebody said that a letter arrived.",
                        null=True,
                    ),
                ),
                (
                    "build_days",
                    models.CharField(
                        blank=True,
                        help_text="Days with a morning letter, 1 is Monday.",
                        max_length=7,
                    ),
                ),
                (
                    "summed_on",
                    models.DateField(
                        blank=True,
                        help_text="The day of the last morning letter.",
                        null=True,
                    ),
                ),
                (
                    "sum_is_due",
                    models.BooleanField(
                        default=False,
                        help_text="After an absence: a letter sums up what is open.",
                    ),
                ),
                (
                    "backup_folder",
                    models.CharField(
                        blank=True,
                        help_text="On the machine that serves: a stick or a share. Each backup is copied there too.",
                        max_length=200,
                    ),
                ),
                (
                    "steps_over",
                    models.BooleanField(
                        default=False, help_text="The first steps are no longer shown."
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("pk", 1)), name="shop_is_one_row"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SignInEvent",
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
                (
                    "how",
                    models.CharField(
                        choices=[
                            ("came", "signed in"),
                            ("wrong", "wrong name or password"),
                            ("often", "tried too often"),
                        ],
                        max_length=6,
                    ),
                ),
                ("account", models.CharField(max_length=150)),
                ("at", models.DateTimeField(db_index=True)),
                ("address", models.CharField(blank=True, max_length=45)),
                ("device", models.CharField(blank=True, max_length=120)),
                ("session", models.CharField(blank=True, max_length=40)),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                (
                    "ended_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Stage",
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
                ("position", models.PositiveIntegerField()),
                ("name", models.CharField(max_length=80)),
                ("planned_start", models.DateField(blank=True, null=True)),
                ("skipped", models.BooleanField(default=False)),
                ("origin", models.CharField(blank=True, default="", max_length=80)),
                (
                    "build",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="stages",
                        to="inventory.build",
                    ),
                ),
            ],
            options={
                "ordering": ["position", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("build", "name"), name="stage_name_once_a_build"
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="assembly",
            name="stage",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="assemblies",
                to="inventory.stage",
            ),
        ),
        migrations.CreateModel(
            name="Substitution",
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
                ("quantity", models.PositiveIntegerField()),
                (
                    "why",
                    models.CharField(
                        choices=[
                            ("cut_down", "a longer one cut down to length"),
                            (
                                "half_up",
                                "half a length longer, where its driven head is still good",
                            ),
                            ("repair", "the next shank, for a hole that has grown"),
                            ("blind", "a blind rivet, where no bar reaches"),
                        ],
                        max_length=10,
                    ),
                ),
                ("approval", models.CharField(blank=True, max_length=160)),
                (
                    "act",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.act",
                    ),
                ),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="substitutions",
                        to="inventory.assembly",
                    ),
                ),
                (
                    "needed",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.item",
                    ),
                ),
                (
                    "used",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.item",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gt", 0)),
                        name="substitution_is_of_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("why", "blind"), _negated=True),
                            models.Q(("approval", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="substitution_by_a_blind_rivet_is_approved",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Supplier",
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
                ("name", models.CharField(max_length=80, unique=True)),
                ("lead_days", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "shipping",
                    models.DecimalField(
                        decimal_places=2, default=Decimal("0"), max_digits=9
                    ),
                ),
                (
                    "hazard_fee",
                    models.DecimalField(
                        decimal_places=2, default=Decimal("0"), max_digits=9
                    ),
                ),
                (
                    "free_from",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=9, null=True
                    ),
                ),
                (
                    "minimum",
                    models.DecimalField(
                        decimal_places=2, default=Decimal("0"), max_digits=9
                    ),
                ),
                ("web", models.URLField(blank=True)),
                ("account", models.CharField(blank=True, max_length=60)),
                (
                    "place",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="supplier",
                        to="inventory.place",
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("shipping__gte", 0),
                            ("hazard_fee__gte", 0),
                            ("minimum__gte", 0),
                        ),
                        name="supplier_terms_not_negative",
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="order",
            name="supplier",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="orders",
                to="inventory.supplier",
            ),
        ),
        migrations.AddField(
            model_name="offer",
            name="supplier",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="offers",
                to="inventory.supplier",
            ),
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
        migrations.CreateModel(
            name="Alert",
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
                ("subject", models.CharField(max_length=80)),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("short", "short before a stage"),
                            ("keep_level", "under the keep level"),
                            ("pool", "too few temporary fasteners"),
                            ("drills", "too few drills"),
                            ("tools", "no die, cutter or set of a size"),
                            ("shelf_life", "shelf life ends"),
                            ("overdue", "order overdue"),
                            ("lent", "lent or borrowed past its day"),
                            ("count", "bin to be counted"),
                            ("late", "stage late"),
                            ("unreckoned", "a forecast that fails"),
                            ("record", "the record does not add up"),
                            ("backup", "no fresh backup"),
                        ],
                        max_length=20,
                    ),
                ),
                ("episode", models.PositiveIntegerField()),
                ("title", models.CharField(max_length=200)),
                ("sentence", models.TextField()),
                ("act_by", models.DateField(blank=True, null=True)),
                ("data", models.JSONField(default=dict)),
                ("link", models.CharField(blank=True, max_length=120)),
                ("raised_at", models.DateTimeField()),
                ("updated_at", models.DateTimeField()),
                ("cleared_at", models.DateTimeField(blank=True, null=True)),
                ("seen_at", models.DateTimeField(blank=True, null=True)),
                ("snoozed_until", models.DateTimeField(blank=True, null=True)),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                ("letter", models.CharField(blank=True, max_length=36)),
                ("leased_until", models.DateTimeField(blank=True, null=True)),
                ("attempts", models.PositiveIntegerField(default=0)),
                (
                    "seen_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["act_by", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("subject", "cause", "episode"),
                        name="alert_once_an_episode",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("cleared_at", None)),
                        fields=("subject", "cause"),
                        name="alert_open_once",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("seen_at", None), ("seen_by", None)),
                            models.Q(
                                ("seen_at__isnull", False), ("seen_by__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="alert_seen_at_and_by",
                    ),
                ],
            },
        ),
        migrations.AddIndex(
            model_name="movement",
            index=models.Index(fields=["source", "item"], name="movement_from"),
        ),
        migrations.AddIndex(
            model_name="movement",
            index=models.Index(fields=["target", "item"], name="movement_to"),
        ),
        migrations.AddConstraint(
            model_name="movement",
            constraint=models.CheckConstraint(
                condition=models.Q(("source", models.F("target")), _negated=True),
                name="movement_goes_somewhere_else",
            ),
        ),
        migrations.AddConstraint(
            model_name="assembly",
            constraint=models.UniqueConstraint(
                fields=("stage", "name"), name="assembly_name_once_a_stage"
            ),
        ),
        migrations.AddConstraint(
            model_name="offer",
            constraint=models.UniqueConstraint(
                condition=models.Q(("pack__isnull", False)),
                fields=("item", "supplier", "pack"),
                name="offer_once_a_pack_of_pieces",
            ),
        ),
        migrations.AddConstraint(
            model_name="offer",
            constraint=models.UniqueConstraint(
                condition=models.Q(("pack_grams__isnull", False)),
                fields=("item", "supplier", "pack_grams"),
                name="offer_once_a_pack_of_grams",
            ),
        ),
        migrations.AddConstraint(
            model_name="offer",
            constraint=models.UniqueConstraint(
                condition=models.Q(("pack", None), ("pack_grams", None)),
                fields=("item", "supplier"),
                name="offer_once_without_a_pack",
            ),
        ),
        migrations.RunPython(make, drop),
    ]
