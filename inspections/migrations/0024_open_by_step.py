"""Open observations and inspections to come by their day, as the due list reads them."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0023_papers_of_reports_and_works"),
        ("premises", "0015_verification_seen_earlier"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddIndex(
            model_name="inspectiondue",
            index=models.Index(fields=["due_on"], name="inspection_due_on"),
        ),
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(
                condition=models.Q(("draft", False), ("ended", "")), fields=["step_by"], name="observation_open_by_step"
            ),
        ),
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(
                condition=models.Q(("code", "C1"), ("draft", False), ("ended", ""), ("made_safe", False)),
                fields=["step_by"],
                name="observation_danger_by_step",
            ),
        ),
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(
                condition=models.Q(("draft", False), ("ended", ""), models.Q(("code", "C3"), _negated=True)),
                fields=["step_by"],
                name="observation_grave_by_step",
            ),
        ),
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(
                condition=models.Q(("draft", False), ("ended", ""), models.Q(("code", "C3"), _negated=True)),
                fields=["owner"],
                name="observation_grave_of_owner",
            ),
        ),
    ]
