"""A voltage-operated earth leakage breaker is a kind of its own, and has no rated residual current."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0010_what_switches_disconnect"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterField(
            model_name="circuit",
            name="rcd_kind",
            field=models.TextField(
                blank=True,
                choices=[
                    ("AC", "type AC"),
                    ("A", "type A"),
                    ("F", "type F"),
                    ("B", "type B"),
                    ("S", "time-delayed (S)"),
                    ("voltage-operated", "voltage-operated earth leakage breaker, no RCD"),
                    ("unknown", "type not known"),
                ],
                default="",
            ),
        ),
        migrations.AddConstraint(
            model_name="circuit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("rcd_kind", "voltage-operated"), _negated=True), ("rcd_ma__isnull", True), _connector="OR"
                ),
                name="circuit_no_rcd",
            ),
        ),
    ]
