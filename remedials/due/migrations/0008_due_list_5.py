"""The fifth text of the due list: who has a row in hand; what no site has, papers of the firm, closing letters.

A list reads but the rows that it needs, by indexes of the tables below: therefore it comes after those.
"""

from pathlib import Path

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

SQL = Path(__file__).parent.parent / "sql"


class Migration(migrations.Migration):
    dependencies = [
        ("due", "0007_sweep_troubles"),
        ("people", "0007_ended_knowingly"),
        ("inspections", "0024_open_by_step"),
        ("works", "0011_open_by_step"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations = [
        migrations.RunSQL(
            ["DROP VIEW due_list;", (SQL / "due_list_5.sql").read_text()],
            ["DROP VIEW due_list;", (SQL / "due_list_4.sql").read_text()],
        ),
        migrations.AddField("duerow", "person", models.UUIDField(null=True)),
        migrations.AddField("duerow", "in_hand_until", models.DateField(null=True)),
        migrations.AddField("duerow", "in_hand_why", models.TextField(null=True)),
        migrations.AddField(
            "duerow",
            "own_owner",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField("duerow", "not_before", models.DateField(null=True)),
        migrations.AddField("duerow", "lacking", models.BooleanField(default=False), preserve_default=False),
    ]
