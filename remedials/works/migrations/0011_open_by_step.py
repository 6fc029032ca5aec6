"""Open remedials by the day of their next step, as the due list reads them."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0024_open_by_step"),
        ("premises", "0015_verification_seen_earlier"),
        ("works", "0010_way_out_looked_at"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddIndex(
            model_name="remedial",
            index=models.Index(
                condition=models.Q(("stage__in", ["to-price", "quoted", "approved", "booked", "done"])),
                fields=["step_by"],
                name="remedial_open_by_step",
            ),
        ),
    ]
