"""Of whom the firm asks a second step when they sign in: a new column with a default, in the database too."""

from django.contrib.postgres.operations import AddConstraintNotValid
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("firm", "0006_proof"),
    ]

    operations = [
        migrations.AddField(
            model_name="firm",
            name="second_step_for",
            field=models.TextField(
                choices=[
                    ("nobody", "nobody: everybody may set one up, nobody must"),
                    ("managers", "managers"),
                    ("desk", "managers and the office"),
                    ("everybody", "everybody"),
                ],
                db_default="managers",
                default="managers",
                help_text="Who must use a second step to sign in.",
            ),
        ),
        AddConstraintNotValid(
            model_name="firm",
            constraint=models.CheckConstraint(
                condition=models.Q(("second_step_for__in", ["nobody", "managers", "desk", "everybody"])),
                name="firm_second_step_for",
            ),
        ),
    ]
