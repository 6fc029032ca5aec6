"""What a reading must always say: where it was taken, and one thing."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("inspections", "0010_readings_know_their_board")]

    operations = [
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("board__isnull", False), ("supply__isnull", True)),
                    models.Q(("board__isnull", True), ("circuit__isnull", True), ("supply__isnull", False)),
                    _connector="OR",
                ),
                name="reading_at_one_place",
            ),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("no_trip", False), ("ok__isnull", True), ("value__isnull", False)),
                    models.Q(
                        ("above_range", False),
                        ("no_trip", True),
                        ("ok__isnull", True),
                        ("quantity", "rcd-time"),
                        ("value__isnull", True),
                    ),
                    models.Q(
                        ("above_range", False),
                        ("no_trip", False),
                        ("ok__isnull", False),
                        ("quantity__in", ["polarity", "functional-check"]),
                        ("value__isnull", True),
                    ),
                    _connector="OR",
                ),
                name="reading_says_one_thing",
            ),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("value__isnull", True), ("value__gte", 0), _connector="OR"),
                    models.Q(("limit_least__isnull", True), ("limit_least__gte", 0), _connector="OR"),
                    models.Q(("limit_most__isnull", True), ("limit_most__gt", 0), _connector="OR"),
                ),
                name="reading_positive",
            ),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "quantity__in",
                        [
                            "r1-r2",
                            "r2",
                            "bonding",
                            "ring-r1",
                            "ring-rn",
                            "ring-r2",
                            "ring-cross-rn",
                            "ring-cross-r2",
                            "insulation-resistance",
                            "polarity",
                            "loop-impedance",
                            "loop-impedance-board",
                            "loop-impedance-origin",
                            "rcd-time",
                            "electrode-resistance",
                            "fault-current",
                            "functional-check",
                        ],
                    )
                ),
                name="reading_quantity",
            ),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("multiple", ""),
                    models.Q(("multiple__in", ["0.5", "1", "2", "5"]), ("quantity", "rcd-time")),
                    _connector="OR",
                ),
                name="reading_multiple",
            ),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(("instrument__isnull", False), ("ok__isnull", False), _connector="OR"),
                name="reading_by_an_instrument",
            ),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(("verdict__in", ["pass", "warning", "fail", "noted"])), name="reading_verdict"
            ),
        ),
    ]
