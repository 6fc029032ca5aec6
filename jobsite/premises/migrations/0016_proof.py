"""When a customer's personal data were erased."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0015_verification_seen_earlier"),
    ]

    operations = [
        migrations.AddField(
            model_name="party",
            name="erased_at",
            field=models.DateTimeField(help_text="When name, address, e-mail and telephone were erased.", null=True),
        ),
    ]
