"""Reports that were taken in before have a day for their codes too: three days, counted starting with the day of issue."""

from django.db import migrations

FILL = """
UPDATE inspections_inspection SET codes_by = (issued_at AT TIME ZONE 'Europe/London')::date + 2
WHERE other_firm AND issued_at IS NOT NULL AND codes_by IS NULL
"""


class Migration(migrations.Migration):
    dependencies = [("inspections", "0013_occupancy_and_papers")]
    operations = [migrations.RunSQL(FILL, migrations.RunSQL.noop)]
