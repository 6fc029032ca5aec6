"""Papers of reports, completed works and written requests: what started each, which documents, who has it."""

import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0022_noticed_on"),
        ("ledger", "0002_done_once"),
        ("premises", "0015_verification_seen_earlier"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="PaperDocument",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("name", models.TextField()),
                ("made_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="PaperRequest",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "asked_by",
                    models.TextField(
                        choices=[
                            ("authority-asks", "the local authority"),
                            ("prospective-tenant-asks", "somebody who may become the tenant"),
                        ]
                    ),
                ),
                ("who", models.TextField()),
                ("asked_on", models.DateField()),
                ("how", models.TextField(blank=True, default="", help_text="By letter, by e-mail; their reference.")),
                ("recorded_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="PaperSupply",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("form", models.UUIDField(help_text="The form that recorded it: one for several people.")),
                ("to", models.TextField()),
                (
                    "came",
                    models.TextField(
                        choices=[("emailed", "e-mailed"), ("given", "given"), ("refused", "refused to take it")]
                    ),
                ),
                (
                    "how",
                    models.TextField(
                        choices=[
                            ("email", "by e-mail"),
                            ("hand", "by hand"),
                            ("post", "by post"),
                            ("door", "through the letterbox"),
                            ("agent", "through the landlord or the agent"),
                            ("online", "on their own website, or through the firm's scheme"),
                            ("other", "in another way"),
                        ]
                    ),
                ),
                ("on", models.DateField()),
                ("note", models.TextField(blank=True, default="")),
                ("file_name", models.TextField(blank=True, default="")),
                ("message", models.UUIDField(null=True)),
                ("recorded_at", models.DateTimeField()),
                ("taken_back_at", models.DateTimeField(null=True)),
                ("taken_back_why", models.TextField(blank=True, default="")),
            ],
            options={
                "ordering": ["on", "recorded_at", "pk"],
            },
        ),
        migrations.RemoveConstraint(
            model_name="paper",
            name="paper_answer",
        ),
        migrations.AddField(
            model_name="observation",
            name="done_on",
            field=models.DateField(
                help_text="The day of the work that ended it, where that was not `ended_on`.", null=True
            ),
        ),
        migrations.AddField(
            model_name="paper",
            name="about",
            field=models.TextField(blank=True, default=""),
        ),
        migrations.AddField(
            model_name="paper",
            name="event_on",
            field=models.DateField(null=True),
        ),
        migrations.AddField(
            model_name="paper",
            name="inspection",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="papers",
                to="inspections.inspection",
            ),
        ),
        migrations.AddField(
            model_name="paper",
            name="named",
            field=models.TextField(blank=True, default=""),
        ),
        migrations.AddField(
            model_name="paper",
            name="superseded_at",
            field=models.DateTimeField(help_text="Settled once, and owed anew: another row has that.", null=True),
        ),
        migrations.AddField(
            model_name="paper",
            name="superseded_why",
            field=models.TextField(blank=True, default=""),
        ),
        migrations.AddField(
            model_name="paper",
            name="trigger",
            field=models.TextField(default="new-occupation", help_text="A value of standards.duty_rows.Trigger."),
        ),
        migrations.AddField(
            model_name="paper",
            name="work",
            field=models.UUIDField(null=True),
        ),
        migrations.AlterField(
            model_name="paper",
            name="answer",
            field=models.TextField(
                blank=True,
                choices=[
                    ("done", "done"),
                    ("not-needed", "not needed"),
                    ("lapsed", "no longer asked for"),
                    ("past", "its day had passed when it came to us"),
                ],
                default="",
            ),
        ),
        migrations.AddField(
            model_name="paperdocument",
            name="file",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
            ),
        ),
        migrations.AddField(
            model_name="paperdocument",
            name="made_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="paperdocument",
            name="paper",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="documents", to="inspections.paper"
            ),
        ),
        migrations.AddField(
            model_name="paperrequest",
            name="inspection",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="paper_requests", to="inspections.inspection"
            ),
        ),
        migrations.AddField(
            model_name="paperrequest",
            name="recorded_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="paperrequest",
            name="site",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="paper_requests", to="premises.site"
            ),
        ),
        migrations.AddField(
            model_name="paperrequest",
            name="unit",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="paper_requests", to="premises.unit"
            ),
        ),
        migrations.AddField(
            model_name="paper",
            name="request",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="papers",
                to="inspections.paperrequest",
            ),
        ),
        migrations.AddIndex(
            model_name="paper",
            index=models.Index(fields=["inspection"], name="paper_of_report"),
        ),
        migrations.AddIndex(
            model_name="paper",
            index=models.Index(condition=models.Q(("work__isnull", False)), fields=["work"], name="paper_of_work"),
        ),
        migrations.AddConstraint(
            model_name="paper",
            constraint=models.UniqueConstraint(
                condition=models.Q(("change__isnull", True), ("superseded_at__isnull", True)),
                fields=("inspection", "request", "work", "unit", "duty"),
                name="paper_once",
                nulls_distinct=False,
            ),
        ),
        migrations.AddConstraint(
            model_name="paper",
            constraint=models.CheckConstraint(
                condition=models.Q(("answer__in", ["", "done", "not-needed", "lapsed", "past"])), name="paper_answer"
            ),
        ),
        migrations.AddConstraint(
            model_name="paper",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("superseded_at__isnull", True),
                    models.Q(models.Q(("answer", ""), _negated=True), models.Q(("superseded_why", ""), _negated=True)),
                    _connector="OR",
                ),
                name="paper_superseded_is_settled",
            ),
        ),
        migrations.AddField(
            model_name="papersupply",
            name="document",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="supplies",
                to="inspections.paperdocument",
            ),
        ),
        migrations.AddField(
            model_name="papersupply",
            name="file",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
            ),
        ),
        migrations.AddField(
            model_name="papersupply",
            name="paper",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="supplies", to="inspections.paper"
            ),
        ),
        migrations.AddField(
            model_name="papersupply",
            name="party",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="premises.party"
            ),
        ),
        migrations.AddField(
            model_name="papersupply",
            name="recorded_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddConstraint(
            model_name="paperdocument",
            constraint=models.UniqueConstraint(fields=("paper", "file"), name="paper_document_once"),
        ),
        migrations.AddIndex(
            model_name="paperrequest",
            index=models.Index(fields=["inspection"], name="paper_request_of_report"),
        ),
        migrations.AddConstraint(
            model_name="paperrequest",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("asked_by__in", ["authority-asks", "prospective-tenant-asks"]),
                    models.Q(("who", ""), _negated=True),
                ),
                name="paper_request_says_who",
            ),
        ),
        migrations.AddIndex(
            model_name="papersupply",
            index=models.Index(fields=["paper"], name="paper_supply_of_paper"),
        ),
        migrations.AddConstraint(
            model_name="papersupply",
            constraint=models.CheckConstraint(
                condition=models.Q(("to", ""), _negated=True), name="paper_supply_says_to_whom"
            ),
        ),
        migrations.AddConstraint(
            model_name="papersupply",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("came__in", ["emailed", "given", "refused"]),
                    ("how__in", ["email", "hand", "post", "door", "agent", "online", "other"]),
                ),
                name="paper_supply_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="papersupply",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("taken_back_at__isnull", True), models.Q(("taken_back_why", ""), _negated=True), _connector="OR"
                ),
                name="paper_supply_back_says_why",
            ),
        ),
        migrations.AddConstraint(
            model_name="papersupply",
            constraint=models.UniqueConstraint(fields=("form", "to"), name="paper_supply_once"),
        ),
    ]
