"""That a competence or a skill was ended knowingly: nobody is asked to renew it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0006_comparisons"),
    ]

    operations = [
        migrations.AddField(
            model_name="competence",
            name="ended",
            field=models.BooleanField(default=False, help_text="Ended knowingly: nobody is asked to renew it."),
        ),
        migrations.AddField(
            model_name="skill",
            name="ended",
            field=models.BooleanField(default=False, help_text="Ended knowingly: nobody is asked to renew it."),
        ),
    ]
