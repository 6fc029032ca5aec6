"""A report of a defect may say that it is dangerous now, before anybody competent has coded it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("inspections", "0003_uncoded_by_index")]

    operations = [
        migrations.AddField(
            model_name="observation",
            name="may_be_dangerous",
            field=models.BooleanField(
                default=False,
                help_text="Whoever took in the report thought that it may be dangerous now; it is no code.",
            ),
        ),
    ]
