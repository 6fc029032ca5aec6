"""Readings taken before stand at the board of their circuit too."""

from django.db import migrations

FILL = """
UPDATE inspections_reading SET board_id = c.board_id FROM premises_circuit c
WHERE c.id = inspections_reading.circuit_id AND inspections_reading.board_id IS NULL;
"""


class Migration(migrations.Migration):
    dependencies = [("inspections", "0009_readings_of_every_quantity")]

    operations = [migrations.RunSQL(FILL, migrations.RunSQL.noop)]
