"""Whose turn at sending holds a message, from when the mail server may have it, and what came back."""

import django.db.models.functions.text
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("post", "0003_reminders"),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="message",
            name="message_to_send",
        ),
        migrations.AddField(
            model_name="message",
            name="address_refused",
            field=models.BooleanField(default=False, help_text="The mail server knows nobody of this address."),
        ),
        migrations.AddField(
            model_name="message",
            name="claim",
            field=models.UUIDField(
                help_text="Whose turn at sending it holds it: another one's late word counts nothing.", null=True
            ),
        ),
        migrations.AddField(
            model_name="message",
            name="delayed_why",
            field=models.TextField(default="", help_text="What a mail server said that is still trying to deliver it."),
        ),
        migrations.AddField(
            model_name="message",
            name="handed_at",
            field=models.DateTimeField(help_text="From here on the mail server may have taken it.", null=True),
        ),
        migrations.AddField(
            model_name="message",
            name="instead_of",
            field=models.UUIDField(
                help_text="The message that a person sends anew by this, to another address.", null=True
            ),
        ),
        migrations.AddIndex(
            model_name="message",
            index=models.Index(
                models.OrderBy(models.F("danger"), descending=True),
                models.F("next_try_at"),
                condition=models.Q(("state", "waiting")),
                name="message_in_turn",
            ),
        ),
        migrations.AddIndex(
            model_name="message",
            index=models.Index(
                condition=models.Q(("state", "sending")), fields=["claimed_at"], name="message_being_sent"
            ),
        ),
        migrations.AddIndex(
            model_name="message",
            index=models.Index(
                condition=models.Q(("handed_at__isnull", False)), fields=["-settled_at"], name="message_handed_over"
            ),
        ),
        migrations.AddIndex(
            model_name="message",
            index=models.Index(
                django.db.models.functions.text.Lower("address"),
                models.OrderBy(models.F("written_at"), descending=True),
                name="message_to_address",
            ),
        ),
        migrations.AddIndex(
            model_name="message",
            index=models.Index(fields=["to_id", "-written_at"], name="message_to_somebody"),
        ),
        migrations.AddIndex(
            model_name="message",
            index=models.Index(fields=["-written_at", "-id"], name="message_latest_first"),
        ),
    ]
