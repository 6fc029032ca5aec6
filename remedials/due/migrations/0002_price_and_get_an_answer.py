"""The first step of a remedial says that it ends with an answer."""

from pathlib import Path

from django.db import migrations

SQL = Path(__file__).parent.parent / "sql"
BEFORE, AFTER = ((SQL / f"due_list_{number}.sql").read_text() for number in (1, 2))


class Migration(migrations.Migration):
    dependencies = [("due", "0001_start"), ("works", "0002_power_off_may_be_unknown")]
    operations = [migrations.RunSQL(f"DROP VIEW due_list;\n{AFTER}", f"DROP VIEW due_list;\n{BEFORE}")]
