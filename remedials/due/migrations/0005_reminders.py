"""What people have in hand, the settings of reminding, and closing letters."""

import datetime
import django.contrib.postgres.fields
import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("due", "0004_due_list_4"),
        ("ledger", "0002_done_once"),
        ("premises", "0015_verification_seen_earlier"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="ReminderRule",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "sort",
                    models.TextField(
                        choices=[
                            ("c1", "c1"),
                            ("c1-safe", "c1-safe"),
                            ("c2", "c2"),
                            ("fi", "fi"),
                            ("c3", "c3"),
                            ("report", "report"),
                            ("inspection", "inspection"),
                            ("paper", "paper"),
                            ("notification", "notification"),
                            ("letter", "letter"),
                            ("visit", "visit"),
                            ("quote", "quote"),
                            ("desk", "desk"),
                            ("own", "own"),
                            ("chase", "chase"),
                        ],
                        unique=True,
                    ),
                ),
                ("before", models.IntegerField()),
                ("every", models.IntegerField()),
                ("qualified_after", models.IntegerField(null=True)),
                ("manager_after", models.IntegerField(null=True)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "sort__in",
                                [
                                    "c1",
                                    "c1-safe",
                                    "c2",
                                    "fi",
                                    "c3",
                                    "report",
                                    "inspection",
                                    "paper",
                                    "notification",
                                    "letter",
                                    "visit",
                                    "quote",
                                    "desk",
                                    "own",
                                    "chase",
                                ],
                            )
                        ),
                        name="reminder_sort",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("before__gte", 0), ("before__lte", 365), ("every__gte", 1), ("every__lte", 90)
                        ),
                        name="reminder_days",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("qualified_after__isnull", True), ("qualified_after__gte", 0), _connector="OR"),
                            models.Q(("manager_after__isnull", True), ("manager_after__gte", 0), _connector="OR"),
                        ),
                        name="reminder_passed_on_later",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Reminding",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("only", models.BooleanField(default=True, unique=True)),
                ("digest_at", models.TimeField(default=datetime.time(7, 0))),
                (
                    "working_days",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.IntegerField(), help_text="1 is Monday.", size=None
                    ),
                ),
                ("bank_holidays_off", models.BooleanField(default=True, help_text="Those of the firm's nation.")),
                ("quiet_from", models.TimeField(default=datetime.time(20, 0))),
                ("quiet_until", models.TimeField(default=datetime.time(7, 0))),
                (
                    "inspection_days",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.IntegerField(),
                        help_text="Days before a due inspection on which to write.",
                        size=None,
                    ),
                ),
                (
                    "inspection_overdue_every",
                    models.IntegerField(default=7, help_text="Days between letters once it is overdue."),
                ),
                ("version", models.IntegerField(default=1)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("only", True)), name="reminding_is_one"),
                    models.CheckConstraint(
                        condition=models.Q(("inspection_overdue_every__gte", 7)), name="reminding_at_most_weekly"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Leaving",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("number", models.BigIntegerField(unique=True)),
                (
                    "why",
                    models.TextField(
                        choices=[
                            ("left", "the customer goes elsewhere"),
                            ("sold", "sold, the new owner is not ours"),
                            ("died", "the customer has died"),
                            ("silent", "the customer does not answer"),
                        ]
                    ),
                ),
                (
                    "to_name",
                    models.TextField(help_text="Whom the letter is for: the customer, their estate, their agent."),
                ),
                ("to_address", models.TextField(blank=True, default="", help_text="Postal or e-mail address.")),
                ("reason", models.TextField()),
                ("open_items", models.JSONField(help_text="What was open that day, as the letter lists it.")),
                ("deliver_by", models.DateField()),
                ("delivered_on", models.DateField(null=True)),
                ("delivered_how", models.TextField(blank=True, default="")),
                ("delivered_to", models.TextField(blank=True, default="")),
                ("written_at", models.DateTimeField()),
                (
                    "taken_back_at",
                    models.DateTimeField(help_text="The letter was not sent after all, or they came back.", null=True),
                ),
                ("version", models.IntegerField(default=1)),
                (
                    "letter",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "proof",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="leavings", to="premises.site"
                    ),
                ),
                (
                    "written_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("taken_back_at__isnull", True)), fields=("site",), name="leaving_one_stands"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("delivered_on__isnull", True),
                            models.Q(
                                models.Q(("delivered_how", ""), _negated=True),
                                models.Q(("delivered_to", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="leaving_says_how_delivered",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("why__in", ["left", "sold", "died", "silent"])), name="leaving_why"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="NoReminders",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("address", models.TextField(help_text="The address that said so.")),
                ("said_at", models.DateTimeField()),
                ("lifted_at", models.DateTimeField(null=True)),
                (
                    "noted_by",
                    models.ForeignKey(
                        help_text="Empty: they said so by the link.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "party",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="premises.party"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("lifted_at__isnull", True)),
                        fields=("party",),
                        name="no_reminders_one_stands",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Undertaking",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("kind", models.TextField()),
                ("ref", models.UUIDField()),
                ("until", models.DateField()),
                ("reason", models.TextField()),
                ("at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="premises.site"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("ended_at__isnull", True)),
                        fields=("kind", "ref"),
                        name="undertaking_one_stands",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("reason", ""), _negated=True), name="undertaking_says_why"
                    ),
                ],
            },
        ),
    ]
