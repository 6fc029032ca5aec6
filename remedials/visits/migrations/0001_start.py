import django.contrib.postgres.constraints
import django.contrib.postgres.fields.ranges
import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("premises", "0002_hold_supply"),
        ("works", "0001_start"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Visit",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("number", models.BigIntegerField(unique=True)),
                ("start", models.DateTimeField()),
                ("end", models.DateTimeField()),
                (
                    "state",
                    models.TextField(choices=[("booked", "booked"), ("cancelled", "cancelled")], default="booked"),
                ),
                ("access", models.TextField(blank=True, default="")),
                (
                    "outage",
                    models.TextField(blank=True, default="", help_text="What goes off, agreed with whom and for when."),
                ),
                ("booked_at", models.DateTimeField()),
                ("cancelled_reason", models.TextField(blank=True, default="")),
                ("version", models.IntegerField(default=1)),
                (
                    "booked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="visits", to="premises.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="VisitLine",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("active", models.BooleanField(default=True)),
                (
                    "remedial",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="works.remedial"
                    ),
                ),
                (
                    "visit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="visits.visit"
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="visit",
            name="remedials",
            field=models.ManyToManyField(related_name="visits", through="visits.VisitLine", to="works.remedial"),
        ),
        migrations.CreateModel(
            name="Attendance",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("start", models.DateTimeField()),
                ("end", models.DateTimeField()),
                ("cancelled", models.BooleanField(default=False)),
                (
                    "engineer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="attendances",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "visit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="attendances", to="visits.visit"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("visit", "engineer"), name="attendance_once"),
                    models.CheckConstraint(
                        condition=models.Q(("end__gt", models.F("start"))), name="attendance_ends_after_start"
                    ),
                    django.contrib.postgres.constraints.ExclusionConstraint(
                        condition=models.Q(("cancelled", False)),
                        expressions=[
                            ("engineer", "="),
                            (
                                models.Func(
                                    models.F("start"),
                                    models.F("end"),
                                    models.Value("[)"),
                                    function="TSTZRANGE",
                                    output_field=django.contrib.postgres.fields.ranges.DateTimeRangeField(),
                                ),
                                "&&",
                            ),
                        ],
                        name="one_place_at_a_time",
                    ),
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="visitline",
            constraint=models.UniqueConstraint(fields=("visit", "remedial"), name="visit_line_once"),
        ),
        migrations.AddConstraint(
            model_name="visitline",
            constraint=models.UniqueConstraint(
                condition=models.Q(("active", True)), fields=("remedial",), name="remedial_one_active_visit"
            ),
        ),
        migrations.AddIndex(
            model_name="visit",
            index=models.Index(fields=["start"], name="visit_by_start"),
        ),
        migrations.AddConstraint(
            model_name="visit",
            constraint=models.CheckConstraint(
                condition=models.Q(("end__gt", models.F("start"))), name="visit_ends_after_start"
            ),
        ),
        migrations.AddConstraint(
            model_name="visit",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["booked", "cancelled"])), name="visit_state"
            ),
        ),
        migrations.AddConstraint(
            model_name="visit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "cancelled"), _negated=True),
                    models.Q(("cancelled_reason", ""), _negated=True),
                    _connector="OR",
                ),
                name="visit_cancelled_why",
            ),
        ),
    ]
