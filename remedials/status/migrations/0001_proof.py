"""How long what is kept, what was erased, and bundles of the record."""

import django.contrib.postgres.fields
import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("firm", "0006_proof"),
        ("ledger", "0003_proof"),
        ("premises", "0016_proof"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Retention",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("kind", models.TextField(unique=True)),
                ("months", models.IntegerField(help_text="None: kept until somebody asks.", null=True)),
                ("why", models.TextField(blank=True, default="")),
                ("version", models.IntegerField(default=1)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("months__isnull", True), ("months__range", (1, 1200)), _connector="OR"),
                        name="retention_months",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Bundle",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "kind",
                    models.TextField(
                        choices=[
                            ("as-of", "as of a date"),
                            ("assessor", "for the firm's assessor"),
                            ("customer", "a customer's own data"),
                        ]
                    ),
                ),
                ("as_of", models.DateTimeField(help_text="What was recorded later is left out.")),
                (
                    "jobs",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.BigIntegerField(),
                        default=list,
                        help_text="The numbers of the remedials picked.",
                        size=None,
                    ),
                ),
                ("reason", models.TextField(help_text="Whom it is for, and why.")),
                ("asked_at", models.DateTimeField()),
                (
                    "asked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "document",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.document"
                    ),
                ),
                (
                    "party",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bundles",
                        to="premises.party",
                    ),
                ),
                (
                    "progress",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="firm.progress"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bundles",
                        to="premises.site",
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["site", "-asked_at"], name="bundle_of_site")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "as-of"), ("party__isnull", True), ("site__isnull", False)),
                            models.Q(
                                ("kind", "assessor"), ("party__isnull", True), models.Q(("jobs", []), _negated=True)
                            ),
                            models.Q(("kind", "customer"), ("party__isnull", False), ("site__isnull", True)),
                            _connector="OR",
                        ),
                        name="bundle_of_something",
                    ),
                    models.CheckConstraint(condition=models.Q(("reason", ""), _negated=True), name="bundle_says_why"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Erasure",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("asked_on", models.DateField()),
                ("erased", models.JSONField(help_text="Kinds of data and how many rows of each.")),
                ("kept", models.JSONField(help_text="Kinds of data that stay, how many, and the reason of each.")),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "party",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="erasures", to="premises.party"
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["party"], name="erasure_of_party")],
            },
        ),
    ]
