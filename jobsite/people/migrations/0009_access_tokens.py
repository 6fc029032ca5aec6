"""Personal tokens, by which another program acts for a person: a new table, nothing of what is there changes."""

import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0008_proof"),
    ]

    operations = [
        migrations.CreateModel(
            name="AccessToken",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("token_hash", models.BinaryField(max_length=32, unique=True)),
                ("name", models.TextField(help_text="Which program has it, in the person's words.")),
                ("scope", models.TextField(choices=[("read", "reads only"), ("write", "reads and changes")])),
                ("made_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("last_used_at", models.DateTimeField(help_text="To five minutes.", null=True)),
                ("ended_at", models.DateTimeField(null=True)),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="access_tokens",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["user", "-made_at"], name="token_of_user")],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("scope__in", ["read", "write"])), name="token_scope"),
                    models.CheckConstraint(condition=models.Q(("name", ""), _negated=True), name="token_named"),
                    models.CheckConstraint(
                        condition=models.Q(("expires_at__gt", models.F("made_at"))), name="token_expires_after_start"
                    ),
                ],
            },
        ),
    ]
