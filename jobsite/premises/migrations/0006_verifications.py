"""Who noted a label, and what was verified with what stood there before."""

import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0005_names_of_what_is_there"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="board",
            name="label_noted_by",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="board",
            name="label_noted_on",
            field=models.DateField(null=True),
        ),
        migrations.AddField(
            model_name="circuit",
            name="label_noted_by",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="circuit",
            name="label_noted_on",
            field=models.DateField(null=True),
        ),
        migrations.CreateModel(
            name="Verification",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("designation", models.TextField()),
                (
                    "how",
                    models.TextField(
                        choices=[
                            ("traced", "traced"),
                            ("switched", "switched off and seen"),
                            ("read", "read from the cable"),
                            ("told", "told"),
                        ]
                    ),
                ),
                ("at", models.DateTimeField()),
                ("designation_before", models.TextField(blank=True, default="")),
                (
                    "how_before",
                    models.TextField(
                        blank=True,
                        choices=[
                            ("traced", "traced"),
                            ("switched", "switched off and seen"),
                            ("read", "read from the cable"),
                            ("told", "told"),
                        ],
                        default="",
                    ),
                ),
                ("on_before", models.DateField(null=True)),
                ("taken_back_at", models.DateTimeField(null=True)),
                (
                    "board",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="verifications",
                        to="premises.board",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "by_before",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "circuit",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="verifications",
                        to="premises.circuit",
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="verifications", to="premises.site"
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
                "indexes": [
                    models.Index(fields=["circuit", "-at"], name="verification_of_circuit"),
                    models.Index(fields=["board", "-at"], name="verification_of_board"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("board__isnull", False), ("circuit__isnull", True)),
                            models.Q(("board__isnull", True), ("circuit__isnull", False)),
                            _connector="OR",
                        ),
                        name="verification_of_one_thing",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("designation", ""), _negated=True), name="verification_says_what"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("how__in", ["traced", "switched", "read", "told"])), name="verification_how"
                    ),
                ],
            },
        ),
    ]
