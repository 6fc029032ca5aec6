"""Who moves in, the papers that the law asks for then, and until when another firm's codes are decided."""

import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0012_still_there"),
        ("premises", "0012_more_kinds_and_tenancy"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="inspection",
            name="codes_by",
            field=models.DateField(help_text="Until when a qualified person decides another firm's codes.", null=True),
        ),
        migrations.CreateModel(
            name="OccupancyChange",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("since", models.DateField()),
                ("tenancy_granted_on", models.DateField(blank=True, null=True)),
                ("recorded_at", models.DateTimeField()),
                (
                    "occupier",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="premises.party",
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="occupancy_changes",
                        to="premises.site",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="occupancy_changes",
                        to="premises.unit",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Paper",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("duty", models.TextField()),
                ("what", models.TextField()),
                ("to", models.TextField(blank=True, default="")),
                ("owed_by", models.TextField(blank=True, default="")),
                ("basis", models.TextField()),
                ("due_on", models.DateField()),
                (
                    "answer",
                    models.TextField(blank=True, choices=[("done", "done"), ("not-needed", "not needed")], default=""),
                ),
                ("answered_on", models.DateField(blank=True, null=True)),
                ("how", models.TextField(blank=True, default="")),
                ("version", models.IntegerField(default=1)),
                (
                    "answered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "change",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="papers",
                        to="inspections.occupancychange",
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="papers", to="premises.site"
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="papers", to="premises.unit"
                    ),
                ),
            ],
        ),
        migrations.AddIndex(
            model_name="occupancychange",
            index=models.Index(fields=["unit", "-since"], name="occupancy_of_unit"),
        ),
        migrations.AddIndex(
            model_name="paper",
            index=models.Index(condition=models.Q(("answer", "")), fields=["due_on"], name="paper_due"),
        ),
        migrations.AddConstraint(
            model_name="paper",
            constraint=models.UniqueConstraint(fields=("change", "duty"), name="paper_once_a_change"),
        ),
        migrations.AddConstraint(
            model_name="paper",
            constraint=models.CheckConstraint(
                condition=models.Q(("answer__in", ["", "done", "not-needed"])), name="paper_answer"
            ),
        ),
        migrations.AddConstraint(
            model_name="paper",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("answer", ""), ("answered_on__isnull", True)),
                    models.Q(models.Q(("answer", ""), _negated=True), ("answered_on__isnull", False)),
                    _connector="OR",
                ),
                name="paper_answered_when",
            ),
        ),
        migrations.AddConstraint(
            model_name="paper",
            constraint=models.CheckConstraint(
                condition=models.Q(("answer", ""), models.Q(("how", ""), _negated=True), _connector="OR"),
                name="paper_says_how",
            ),
        ),
    ]
