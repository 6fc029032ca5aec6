import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.functions.text
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="User",
            fields=[
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("email", models.EmailField(max_length=254, unique=True)),
                ("name", models.TextField()),
                ("phone", models.TextField(blank=True, default="")),
                (
                    "roles",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.TextField(
                            choices=[("office", "office"), ("engineer", "engineer"), ("manager", "manager")]
                        ),
                        default=list,
                        size=None,
                    ),
                ),
                (
                    "subcontractor",
                    models.BooleanField(default=False, help_text="Sees only the sites of their own visits."),
                ),
                ("is_active", models.BooleanField(default=True)),
                ("version", models.IntegerField(default=1)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(django.db.models.functions.text.Lower("email"), name="user_email_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("roles__contained_by", ["office", "engineer", "manager"]),
                            models.Q(("roles", []), _negated=True),
                        ),
                        name="user_has_known_roles",
                    ),
                    models.CheckConstraint(condition=models.Q(("name", ""), _negated=True), name="user_has_a_name"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Instrument",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("name", models.TextField()),
                ("serial_number", models.TextField(unique=True)),
                ("checked_on", models.DateField(blank=True, null=True)),
                ("check_due", models.DateField(blank=True, null=True)),
                ("archived_at", models.DateTimeField(blank=True, null=True)),
                ("version", models.IntegerField(default=1)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("serial_number", ""), _negated=True), name="instrument_has_serial_number"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Competence",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "kind",
                    models.TextField(
                        choices=[("qualified", "qualified person: reviews codes and proof, issues reports")],
                        default="qualified",
                    ),
                ),
                ("since", models.DateField()),
                ("until", models.DateField(blank=True, null=True)),
                ("evidence", models.TextField()),
                (
                    "recorded_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="competences",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("until__isnull", True), ("until__gte", models.F("since")), _connector="OR"),
                        name="competence_ends_after_start",
                    ),
                    models.UniqueConstraint(fields=("user", "kind", "since"), name="competence_once_a_day"),
                ],
            },
        ),
        migrations.CreateModel(
            name="PrivateLink",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("token_hash", models.BinaryField(max_length=32, unique=True)),
                ("purpose", models.TextField(choices=[("status", "read how the site stands")])),
                ("site", models.UUIDField()),
                ("unit", models.UUIDField(null=True)),
                ("party", models.UUIDField(null=True)),
                ("sent_to", models.TextField(default="", help_text="Whom it was given to, in the office's words.")),
                ("made_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("withdrawn_at", models.DateTimeField(null=True)),
                ("last_used_at", models.DateTimeField(null=True)),
                ("uses", models.IntegerField(default=0)),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["site"], name="link_of_site")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("expires_at__gt", models.F("made_at"))), name="link_expires_after_start"
                    )
                ],
            },
        ),
    ]
