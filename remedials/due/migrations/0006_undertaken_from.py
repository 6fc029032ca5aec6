"""Which owner and day a row had when somebody took it in hand: a later change of either ends that."""

import datetime
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("due", "0005_reminders"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="undertaking",
            name="due_was",
            field=models.DateField(
                default=datetime.date(9999, 12, 31), help_text="The row's own day; 31 December 9999 where it had none."
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="undertaking",
            name="instead_of",
            field=models.ForeignKey(
                help_text="The row's own owner that day.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
    ]
