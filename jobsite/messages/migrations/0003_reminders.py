"""Numbers, reminders that a customer may stop and hears once a week at most, mail that came back."""

import django.contrib.postgres.constraints
import django.contrib.postgres.fields.ranges
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("post", "0002_completed_when_sent"),
    ]

    operations = [
        migrations.RunSQL("CREATE SEQUENCE post_message_number START WITH 1001", "DROP SEQUENCE post_message_number"),
        migrations.RemoveConstraint(
            model_name="message",
            name="message_state",
        ),
        migrations.AddField(
            model_name="message",
            name="about",
            field=models.TextField(
                default="", help_text="What a reminder is about, whichever time it is: kind and key."
            ),
        ),
        migrations.AddField(
            model_name="message",
            name="number",
            field=models.BigIntegerField(
                db_default=models.Func(models.Value("post_message_number"), function="nextval"),
                editable=False,
                help_text="What the office calls it; the database gives it.",
                unique=True,
            ),
        ),
        migrations.AddField(
            model_name="message",
            name="quiet_until",
            field=models.DateTimeField(help_text="No other reminder about it to the same party before.", null=True),
        ),
        migrations.AddField(
            model_name="message",
            name="reminder",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="message",
            name="returned_at",
            field=models.DateTimeField(null=True),
        ),
        migrations.AddField(
            model_name="message",
            name="returned_why",
            field=models.TextField(default="", help_text="What the mail server said that sent it back."),
        ),
        migrations.AddField(
            model_name="message",
            name="why",
            field=models.TextField(default="", help_text="The rule by which it was written, in words for the office."),
        ),
        migrations.AlterField(
            model_name="message",
            name="error",
            field=models.TextField(default="", help_text="What went wrong, or why it was no longer needed."),
        ),
        migrations.AlterField(
            model_name="message",
            name="state",
            field=models.TextField(
                choices=[
                    ("waiting", "waiting to be sent"),
                    ("sending", "being sent"),
                    ("sent", "sent"),
                    ("failed", "could not be sent"),
                    ("unknown", "not known whether it was sent"),
                    ("dropped", "no longer needed"),
                    ("returned", "came back"),
                ],
                default="waiting",
            ),
        ),
        migrations.AddIndex(
            model_name="message",
            index=models.Index(fields=["reason_kind", "reason_ref"], name="message_of_reason"),
        ),
        migrations.AddConstraint(
            model_name="message",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("state__in", ["waiting", "sending", "sent", "failed", "unknown", "dropped", "returned"])
                ),
                name="message_state",
            ),
        ),
        migrations.AddConstraint(
            model_name="message",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "returned"), _negated=True), ("returned_at__isnull", False), _connector="OR"
                ),
                name="message_returned_has_time",
            ),
        ),
        migrations.AddConstraint(
            model_name="message",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("reminder", False),
                    models.Q(
                        ("danger", False),
                        ("quiet_until__gt", models.F("written_at")),
                        ("to_kind", "customer"),
                        models.Q(("about", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="message_reminder_about",
            ),
        ),
        migrations.AddConstraint(
            model_name="message",
            constraint=django.contrib.postgres.constraints.ExclusionConstraint(
                condition=models.Q(("reminder", True)),
                expressions=[
                    (models.F("about"), "="),
                    (models.F("to_id"), "="),
                    (
                        models.Func(
                            "written_at",
                            "quiet_until",
                            function="tstzrange",
                            output_field=django.contrib.postgres.fields.ranges.DateTimeRangeField(),
                        ),
                        "&&",
                    ),
                ],
                name="message_reminder_once_a_week",
            ),
        ),
    ]
