"""Documents as they were handed out; holds, while which no words are erased."""

import django.db.models.deletion
import jobsite.ids
import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("ledger", "0002_done_once"),
    ]

    operations = [
        migrations.CreateModel(
            name="Document",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("kind", models.TextField()),
                ("title", models.TextField()),
                ("name", models.TextField(help_text="What it is called as a file.")),
                ("site", models.UUIDField(null=True)),
                ("unit", models.UUIDField(null=True)),
                (
                    "party",
                    models.UUIDField(help_text="Whose sites it is about, where it is about all of them.", null=True),
                ),
                (
                    "subject",
                    models.UUIDField(help_text="What else it is about: an inspection, a notice, a quote.", null=True),
                ),
                ("as_of", models.DateField(help_text="The day whose state it tells.", null=True)),
                (
                    "fingerprint",
                    models.TextField(
                        blank=True, default="", help_text="Hash of its facts: its start stands on each page."
                    ),
                ),
                ("said", models.TextField(blank=True, default="")),
                ("actor_kind", models.TextField(choices=[("person", "Person"), ("clock", "Clock"), ("link", "Link")])),
                ("actor", models.UUIDField()),
                ("made_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="Hold",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("site", models.UUIDField(null=True)),
                (
                    "reason",
                    models.TextField(help_text="What for: a claim, an accident, a request of a court or an insurer."),
                ),
                ("placed_by", models.UUIDField()),
                ("placed_at", models.DateTimeField()),
                ("lifted_by", models.UUIDField(null=True)),
                ("lifted_at", models.DateTimeField(null=True)),
                ("lifted_why", models.TextField(blank=True, default="")),
            ],
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="words",
            trigger=pgtrigger.compiler.Trigger(
                name="kept_while_held",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    declare="DECLARE held boolean;",
                    func="\n                    WITH RECURSIVE leads_to(chain) AS (\n                        SELECT chain FROM ledger_entry WHERE id = OLD.entry\n                        UNION\n                        SELECT c.closed_into FROM ledger_chain c JOIN leads_to l ON c.id = l.chain\n                        WHERE c.closed_into IS NOT NULL\n                    )\n                    SELECT EXISTS (\n                        SELECT 1 FROM ledger_hold h\n                        WHERE h.lifted_at IS NULL AND (h.site IS NULL OR h.site IN (SELECT chain FROM leads_to))\n                    ) INTO held;\n                    IF held THEN RAISE EXCEPTION 'these words are held'; END IF;\n                    IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;\n                    RETURN NEW;\n                ",
                    hash="0b953aacd7984f8d341f331a01870b1827b90617",
                    operation="UPDATE OR DELETE",
                    pgid="pgtrigger_kept_while_held_11281",
                    table="ledger_words",
                    when="BEFORE",
                ),
            ),
        ),
        migrations.AddField(
            model_name="document",
            name="file",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="ledger.storedfile"
            ),
        ),
        migrations.AddIndex(
            model_name="hold",
            index=models.Index(condition=models.Q(("lifted_at__isnull", True)), fields=["site"], name="hold_in_force"),
        ),
        migrations.AddConstraint(
            model_name="hold",
            constraint=models.CheckConstraint(condition=models.Q(("reason", ""), _negated=True), name="hold_says_why"),
        ),
        migrations.AddConstraint(
            model_name="hold",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("lifted_at__isnull", True), ("lifted_by__isnull", True), ("lifted_why", "")),
                    models.Q(
                        ("lifted_at__isnull", False),
                        ("lifted_by__isnull", False),
                        models.Q(("lifted_why", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="hold_lifted_by_somebody",
            ),
        ),
        migrations.AddIndex(
            model_name="document",
            index=models.Index(fields=["site", "-made_at"], name="document_of_site"),
        ),
        migrations.AddIndex(
            model_name="document",
            index=models.Index(fields=["party", "-made_at"], name="document_of_party"),
        ),
        migrations.AddConstraint(
            model_name="document",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("kind", ""), _negated=True),
                    models.Q(("title", ""), _negated=True),
                    models.Q(("name", ""), _negated=True),
                ),
                name="document_is_named",
            ),
        ),
        migrations.AddConstraint(
            model_name="document",
            constraint=models.CheckConstraint(
                condition=models.Q(("actor_kind__in", ["person", "clock", "link"])), name="document_actor_kind"
            ),
        ),
        migrations.AddConstraint(
            model_name="document",
            constraint=models.UniqueConstraint(
                condition=models.Q(("said", ""), _negated=True),
                fields=("kind", "site", "unit", "party", "subject", "as_of", "said"),
                name="document_said_once",
                nulls_distinct=False,
            ),
        ),
    ]
