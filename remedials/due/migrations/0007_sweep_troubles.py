"""What the sweep left out because it could not be read or written."""

import jobsite.ids
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("due", "0006_undertaken_from"),
    ]

    operations = [
        migrations.CreateModel(
            name="Trouble",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("part", models.TextField(help_text="Which part of the sweep met it.")),
                ("what", models.TextField(help_text="What it is about, in words and keys.")),
                ("error", models.TextField()),
                ("first_at", models.DateTimeField()),
                ("last_at", models.DateTimeField()),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("part", "what"), name="trouble_once")],
            },
        ),
    ]
