"""Remedials in the order of their list: by the day of the next step, those without a day last."""

import datetime

from django.conf import settings
from django.contrib.postgres.operations import AddIndexConcurrently
from django.db import migrations, models
from django.db.models.functions import Coalesce


class Migration(migrations.Migration):
    atomic = False
    dependencies = [
        ("inspections", "0024_open_by_step"),
        ("premises", "0015_verification_seen_earlier"),
        ("works", "0011_open_by_step"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        AddIndexConcurrently(
            model_name="remedial",
            index=models.Index(
                Coalesce("step_by", models.Value(datetime.date(9999, 12, 31))),
                models.F("number"),
                name="remedial_by_step_to_come",
            ),
        ),
    ]
