"""The due list as a view; its text lies beside, numbered, and is never edited afterwards."""

from pathlib import Path

from django.db import migrations, models

SQL = Path(__file__).parent.parent / "sql" / "due_list_1.sql"


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0001_start"),
        ("premises", "0002_hold_supply"),
        ("inspections", "0001_start"),
        ("works", "0001_start"),
        ("visits", "0001_start"),
    ]
    operations = [
        migrations.CreateModel(
            name="DueRow",
            fields=[
                (
                    "pk",
                    models.CompositePrimaryKey(
                        "kind", "ref", blank=True, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("kind", models.TextField()),
                ("ref", models.UUIDField()),
                ("observation", models.UUIDField(null=True)),
                ("remedial", models.UUIDField(null=True)),
                ("board", models.UUIDField(null=True)),
                ("code", models.TextField()),
                ("rank", models.IntegerField()),
                ("made_safe", models.BooleanField()),
                ("loose", models.BooleanField()),
                ("subject", models.TextField()),
                ("next_step", models.TextField()),
                ("rule", models.TextField()),
                ("waits_on", models.TextField()),
                ("due", models.DateField()),
                ("shows_from", models.DateField()),
                ("first_recorded_on", models.DateField(null=True)),
                ("remedy_by", models.DateField(null=True)),
            ],
            options={"db_table": "due_list", "managed": False},
        ),
        migrations.RunSQL(SQL.read_text(), "DROP VIEW due_list;"),
    ]
