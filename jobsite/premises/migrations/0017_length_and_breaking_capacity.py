"""How long a circuit is and what its device can break: readings are judged by both."""

from django.contrib.postgres.operations import AddConstraintNotValid
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0016_proof"),
    ]

    operations = [
        migrations.AddField(
            model_name="circuit",
            name="breaking_capacity_ka",
            field=models.DecimalField(blank=True, decimal_places=1, max_digits=5, null=True),
        ),
        migrations.AddField(
            model_name="circuit",
            name="length_m",
            field=models.DecimalField(blank=True, decimal_places=1, max_digits=6, null=True),
        ),
        AddConstraintNotValid(
            model_name="circuit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("breaking_capacity_ka__isnull", True), ("breaking_capacity_ka__gt", 0), _connector="OR"
                ),
                name="circuit_breaks",
            ),
        ),
        AddConstraintNotValid(
            model_name="circuit",
            constraint=models.CheckConstraint(
                condition=models.Q(("length_m__isnull", True), ("length_m__gt", 0), _connector="OR"),
                name="circuit_length",
            ),
        ),
    ]
