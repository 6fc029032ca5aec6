"""The sixth text of the due list, which says the same: what is asked of a quote is planned in a tenth of the time."""

from pathlib import Path

from django.db import migrations

SQL = Path(__file__).parent.parent / "sql"


class Migration(migrations.Migration):
    dependencies = [("due", "0008_due_list_5")]
    operations = [
        migrations.RunSQL(
            ["DROP VIEW due_list;", (SQL / "due_list_6.sql").read_text()],
            ["DROP VIEW due_list;", (SQL / "due_list_5.sql").read_text()],
        ),
    ]
