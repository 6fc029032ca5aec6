import jobsite.ids
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="Message",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "occasion",
                    models.TextField(help_text="What it is about, for whom and which time: once each.", unique=True),
                ),
                ("to_kind", models.TextField(choices=[("staff", "staff"), ("customer", "customer")])),
                ("to_id", models.UUIDField(help_text="The person or party; their rooms are above this one.")),
                ("address", models.EmailField(max_length=254)),
                ("subject", models.TextField()),
                ("body", models.TextField()),
                ("danger", models.BooleanField(default=False)),
                ("site", models.UUIDField(null=True)),
                (
                    "reason_kind",
                    models.TextField(
                        default="", help_text="The kind of due row it stands for, asked again before sending."
                    ),
                ),
                ("reason_ref", models.UUIDField(null=True)),
                (
                    "state",
                    models.TextField(
                        choices=[
                            ("waiting", "waiting to be sent"),
                            ("sending", "being sent"),
                            ("sent", "sent"),
                            ("failed", "could not be sent"),
                            ("unknown", "not known whether it was sent"),
                            ("dropped", "no longer needed"),
                        ],
                        default="waiting",
                    ),
                ),
                ("attempts", models.IntegerField(default=0)),
                ("written_at", models.DateTimeField()),
                ("next_try_at", models.DateTimeField()),
                ("claimed_at", models.DateTimeField(null=True)),
                ("settled_at", models.DateTimeField(null=True)),
                ("error", models.TextField(default="")),
            ],
            options={
                "indexes": [
                    models.Index(
                        condition=models.Q(("state", "waiting")), fields=["next_try_at"], name="message_to_send"
                    ),
                    models.Index(fields=["site", "written_at"], name="message_of_site"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("state__in", ["waiting", "sending", "sent", "failed", "unknown", "dropped"])
                        ),
                        name="message_state",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("state__in", ["waiting", "sending"]), ("settled_at__isnull", False), _connector="OR"
                        ),
                        name="message_settled_has_time",
                    ),
                ],
            },
        ),
    ]
