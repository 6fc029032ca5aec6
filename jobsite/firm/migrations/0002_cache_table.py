"""The table of the database cache, which counts wrong passwords where there is no Redis."""

from django.core.management import call_command
from django.db import migrations


def make(apps, schema_editor):
    call_command("createcachetable", database=schema_editor.connection.alias, verbosity=0)


class Migration(migrations.Migration):
    dependencies = [("firm", "0001_start")]
    operations = [migrations.RunPython(make, migrations.RunPython.noop)]
