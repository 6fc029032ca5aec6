"""The seventh text of the due list: work on two dangers is led by the one that nobody made safe.

It was led by the one recorded first; where that was made safe, nothing reminded of the other.
"""

from pathlib import Path

from django.db import migrations

SQL = Path(__file__).parent.parent / "sql"


class Migration(migrations.Migration):
    dependencies = [("due", "0009_due_list_6")]
    operations = [
        migrations.RunSQL(
            ["DROP VIEW due_list;", (SQL / "due_list_7.sql").read_text()],
            ["DROP VIEW due_list;", (SQL / "due_list_6.sql").read_text()],
        ),
    ]
