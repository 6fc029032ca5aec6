"""The constraints on length and breaking capacity are known to hold for the rows that were there before."""

from django.contrib.postgres.operations import ValidateConstraint
from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0017_length_and_breaking_capacity"),
    ]

    operations = [
        ValidateConstraint(model_name="circuit", name="circuit_breaks"),
        ValidateConstraint(model_name="circuit", name="circuit_length"),
    ]
