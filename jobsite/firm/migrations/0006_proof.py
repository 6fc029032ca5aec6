"""Whether customers read the surnames of the firm's people."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("firm", "0005_nation_of_the_firm"),
    ]

    operations = [
        migrations.AddField(
            model_name="firm",
            name="surnames",
            field=models.BooleanField(
                default=False, help_text="Whether customers read the surnames of the firm's people."
            ),
        ),
    ]
