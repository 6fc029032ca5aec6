"""The due list finds what nobody has coded without reading every observation."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0002_made_safe_lifted"),
        ("premises", "0004_circuits_held_from_the_start"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(
                condition=models.Q(("code", ""), ("draft", False), ("ended", "")),
                fields=["step_by"],
                name="observation_uncoded_due",
            ),
        ),
    ]
