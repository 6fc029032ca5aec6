import jobsite.ids
import pgtrigger.compiler
import pgtrigger.migrations
from django.contrib.postgres.operations import BtreeGistExtension, TrigramExtension, UnaccentExtension
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        BtreeGistExtension(),
        TrigramExtension(),
        UnaccentExtension(),
        migrations.CreateModel(
            name="StoredFile",
            fields=[
                ("hash", models.TextField(primary_key=True, serialize=False)),
                ("size", models.BigIntegerField()),
                ("media_type", models.TextField()),
                (
                    "received_hash",
                    models.TextField(
                        help_text="SHA-256 of the bytes as they arrived, before a photograph was cleaned."
                    ),
                ),
                ("stored_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="Words",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("entry", models.UUIDField()),
                ("name", models.TextField()),
                ("text", models.TextField()),
                ("salt", models.BinaryField(max_length=16)),
            ],
        ),
        migrations.CreateModel(
            name="Chain",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("length", models.BigIntegerField(default=0)),
                ("head", models.BinaryField(max_length=32)),
                ("closed_into", models.UUIDField(null=True)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("length__gte", 0)), name="chain_length_not_negative")
                ],
            },
        ),
        migrations.CreateModel(
            name="Entry",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("chain", models.UUIDField()),
                ("number", models.BigIntegerField()),
                ("operation", models.UUIDField()),
                ("at", models.DateTimeField()),
                ("actor_kind", models.TextField(choices=[("person", "Person"), ("clock", "Clock"), ("link", "Link")])),
                ("actor", models.UUIDField()),
                ("verb", models.TextField()),
                ("subject_kind", models.TextField()),
                ("subject", models.UUIDField()),
                ("facts", models.JSONField()),
                ("previous", models.BinaryField(max_length=32)),
                ("hash", models.BinaryField(max_length=32)),
            ],
            options={
                "indexes": [models.Index(fields=["subject"], name="entry_by_subject")],
                "constraints": [
                    models.UniqueConstraint(fields=("chain", "number"), name="entry_one_place_in_its_chain"),
                    models.CheckConstraint(
                        condition=models.Q(("actor_kind__in", ["person", "clock", "link"])), name="entry_actor_kind"
                    ),
                ],
            },
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="entry",
            trigger=pgtrigger.compiler.Trigger(
                name="append_only",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                    hash="bd80cdea55986d8dc4a873a0796f1dd071e72f1d",
                    operation="UPDATE OR DELETE",
                    pgid="pgtrigger_append_only_af900",
                    table="ledger_entry",
                    when="BEFORE",
                ),
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="entry",
            trigger=pgtrigger.compiler.Trigger(
                name="no_truncate",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    func="RAISE EXCEPTION 'the ledger is append-only';",
                    hash="bcaaa52fd96436cde68a1b72b4ce53f78ae67d86",
                    level="STATEMENT",
                    operation="TRUNCATE",
                    pgid="pgtrigger_no_truncate_43bbd",
                    table="ledger_entry",
                    when="BEFORE",
                ),
            ),
        ),
        migrations.AddConstraint(
            model_name="storedfile",
            constraint=models.CheckConstraint(condition=models.Q(("size__gt", 0)), name="stored_file_not_empty"),
        ),
        migrations.AddConstraint(
            model_name="words",
            constraint=models.UniqueConstraint(fields=("entry", "name"), name="words_once_an_entry"),
        ),
    ]
