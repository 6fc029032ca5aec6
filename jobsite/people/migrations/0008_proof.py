"""A private link may open all of a customer's sites."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0007_ended_knowingly"),
    ]

    operations = [
        migrations.AlterField(
            model_name="privatelink",
            name="purpose",
            field=models.TextField(
                choices=[
                    ("status", "read how the site stands"),
                    ("quote", "read and answer a quote"),
                    ("visit", "say whether the time of a visit suits"),
                    ("times", "choose the time of a visit"),
                    ("portfolio", "read how all of a customer's sites stand"),
                    ("copy", "read a report without personal data"),
                ]
            ),
        ),
        migrations.AlterField(
            model_name="privatelink",
            name="site",
            field=models.UUIDField(null=True),
        ),
        migrations.AddIndex(
            model_name="privatelink",
            index=models.Index(condition=models.Q(("party__isnull", False)), fields=["party"], name="link_of_party"),
        ),
        migrations.AddConstraint(
            model_name="privatelink",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("party__isnull", False),
                        ("purpose", "portfolio"),
                        ("site__isnull", True),
                        ("unit__isnull", True),
                    ),
                    models.Q(models.Q(("purpose", "portfolio"), _negated=True), ("site__isnull", False)),
                    _connector="OR",
                ),
                name="link_opens_something",
            ),
        ),
    ]
