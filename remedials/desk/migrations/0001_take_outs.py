"""What managers had taken out of here: its file lies in the storage for some days."""

import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("firm", "0006_proof"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="TakeOut",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "kind",
                    models.TextField(
                        choices=[("workbooks", "workbooks for people"), ("archive", "archive for programs")]
                    ),
                ),
                ("asked_at", models.DateTimeField()),
                ("made_at", models.DateTimeField(null=True)),
                ("size", models.BigIntegerField(default=0, help_text="Bytes.")),
                ("rows", models.BigIntegerField(default=0)),
                (
                    "fingerprint",
                    models.TextField(
                        blank=True,
                        default="",
                        help_text="SHA-256 of an archive's manifest.json, or of the ZIP of workbooks.",
                    ),
                ),
                ("gone_at", models.DateTimeField(help_text="When its file was removed.", null=True)),
                (
                    "asked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "progress",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="firm.progress"
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["-asked_at"], name="take_out_by_age")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("fingerprint", ""), ("gone_at__isnull", True), ("made_at__isnull", True)),
                            models.Q(("made_at__isnull", False), models.Q(("fingerprint", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="take_out_made_or_not",
                    )
                ],
            },
        ),
    ]
