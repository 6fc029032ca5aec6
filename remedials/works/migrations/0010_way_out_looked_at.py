"""Of work that others did: who of ours inspected it since, and when."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("ledger", "0002_done_once"),
        ("works", "0009_network_is_told"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="wayout",
            name="looked_by",
            field=models.ForeignKey(
                help_text="The qualified person of ours who inspected the others' work; empty: accepted on paper alone.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="wayout",
            name="looked_on",
            field=models.DateField(null=True),
        ),
        migrations.AddConstraint(
            model_name="wayout",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("looked_by__isnull", True), ("looked_on__isnull", True)),
                    models.Q(("looked_by__isnull", False), ("looked_on__isnull", False), ("stage", "by-others")),
                    _connector="OR",
                ),
                name="way_out_looked_at",
            ),
        ),
    ]
