"""What happened at the door, and a number by which everything of a person ends: a new table, a new column with a default."""

import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0009_access_tokens"),
    ]

    operations = [
        migrations.AddField(
            model_name="user",
            name="sign_in_epoch",
            field=models.IntegerField(
                db_default=0, default=0, help_text="One more ends every session and every link that sets a password."
            ),
        ),
        migrations.CreateModel(
            name="SignIn",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("at", models.DateTimeField()),
                (
                    "what",
                    models.TextField(
                        choices=[
                            ("in", "signed in"),
                            ("out", "signed out"),
                            ("wrong-password", "wrong password"),
                            ("wrong-code", "wrong code"),
                            ("shut", "too many wrong tries: not let in"),
                        ]
                    ),
                ),
                ("means", models.TextField(blank=True, default="", help_text="Such as: password, authenticator app.")),
                ("address", models.GenericIPAddressField(null=True)),
                ("device", models.TextField(blank=True, default="", help_text="How the browser calls itself.")),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sign_ins",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["user", "-at"], name="sign_ins_of_user")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("what__in", ["in", "out", "wrong-password", "wrong-code", "shut"])),
                        name="sign_in_what",
                    )
                ],
            },
        ),
    ]
