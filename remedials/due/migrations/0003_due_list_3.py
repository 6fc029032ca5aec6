"""The third text of the due list: quotes before they lapse, questions about them, danger notices that a refusal asks for."""

from pathlib import Path

from django.db import migrations, models

SQL = Path(__file__).parent.parent / "sql"


class Migration(migrations.Migration):
    dependencies = [
        ("due", "0002_due_list_2"),
        ("quotes", "0003_sent_is_frozen"),
        ("works", "0005_answers_may_be_taken_back"),
    ]
    operations = [
        migrations.RunSQL(
            ["DROP VIEW due_list;", (SQL / "due_list_3.sql").read_text()],
            ["DROP VIEW due_list;", (SQL / "due_list_2.sql").read_text()],
        ),
        migrations.AddField("duerow", "quote", models.UUIDField(null=True)),
    ]
