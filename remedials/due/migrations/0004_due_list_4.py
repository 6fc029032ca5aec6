"""The fourth text of the due list: what is booked says so, visits to confirm and to settle, getting in, keys, who is alone."""

from pathlib import Path

from django.db import migrations, models

SQL = Path(__file__).parent.parent / "sql"


class Migration(migrations.Migration):
    dependencies = [
        ("due", "0003_due_list_3"),
        ("visits", "0002_diary_access_planner"),
        ("works", "0006_parts_ready_date"),
    ]
    operations = [
        migrations.RunSQL(
            ["DROP VIEW due_list;", (SQL / "due_list_4.sql").read_text()],
            ["DROP VIEW due_list;", (SQL / "due_list_3.sql").read_text()],
        ),
        migrations.AddField("duerow", "shows_until", models.DateField(null=True)),
        migrations.AddField("duerow", "visit", models.UUIDField(null=True)),
    ]
