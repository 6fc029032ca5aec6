"""A unit or a supply that was taken out gives its name free, as a board does."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0004_circuits_held_from_the_start"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="supply",
            name="supply_name_once_a_site",
        ),
        migrations.RemoveConstraint(
            model_name="unit",
            name="unit_name_once_a_site",
        ),
        migrations.AddConstraint(
            model_name="supply",
            constraint=models.UniqueConstraint(
                condition=models.Q(("retired_at__isnull", True)),
                fields=("site", "sort"),
                name="supply_name_once_a_site",
            ),
        ),
        migrations.AddConstraint(
            model_name="unit",
            constraint=models.UniqueConstraint(
                condition=models.Q(("retired_at__isnull", True)),
                fields=("site", "sort"),
                name="unit_name_once_a_site",
            ),
        ),
    ]
