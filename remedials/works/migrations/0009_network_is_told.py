"""Whether the network operator is told of a work."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0023_papers_of_reports_and_works"),
        ("premises", "0015_verification_seen_earlier"),
        ("works", "0008_recall_decisions"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="remedial",
            name="network",
            field=models.TextField(
                blank=True,
                choices=[
                    ("", "nothing"),
                    ("generation", "generation or a battery"),
                    ("charging-point", "a charging point"),
                ],
                default="",
                help_text="What the network operator is told of; empty: nothing.",
            ),
        ),
        migrations.AddConstraint(
            model_name="remedial",
            constraint=models.CheckConstraint(
                condition=models.Q(("network__in", ["", "generation", "charging-point"])), name="remedial_network"
            ),
        ),
    ]
