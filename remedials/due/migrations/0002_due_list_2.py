"""The second text of the due list: codes that wait for a qualified person, papers that the law asks for."""

from pathlib import Path

from django.db import migrations

SQL = Path(__file__).parent.parent / "sql"


class Migration(migrations.Migration):
    dependencies = [
        ("due", "0001_start"),
        ("inspections", "0014_codes_by"),
    ]
    operations = [
        migrations.RunSQL(
            ["DROP VIEW due_list;", (SQL / "due_list_2.sql").read_text()],
            ["DROP VIEW due_list;", (SQL / "due_list_1.sql").read_text()],
        ),
    ]
