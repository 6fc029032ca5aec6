"""The rows that were there before are looked at, apart and without a lock that others wait for."""

from django.contrib.postgres.operations import ValidateConstraint
from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("firm", "0007_second_step"),
    ]

    operations = [ValidateConstraint(model_name="firm", name="firm_second_step_for")]
