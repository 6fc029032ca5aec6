import jobsite.ids
from decimal import Decimal
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="Heartbeat",
            fields=[
                ("name", models.TextField(primary_key=True, serialize=False)),
                ("at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="Progress",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("what", models.TextField()),
                (
                    "state",
                    models.TextField(
                        choices=[
                            ("waiting", "waiting"),
                            ("running", "running"),
                            ("done", "done"),
                            ("failed", "failed"),
                        ],
                        default="waiting",
                    ),
                ),
                ("done", models.BigIntegerField(default=0)),
                ("total", models.BigIntegerField(default=0)),
                ("sentence", models.TextField(blank=True, default="")),
                ("changed_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="Sequence",
            fields=[
                ("name", models.TextField(primary_key=True, serialize=False)),
                ("last", models.BigIntegerField(default=0)),
            ],
        ),
        migrations.CreateModel(
            name="Firm",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("only", models.BooleanField(default=True, unique=True)),
                ("name", models.TextField(default="Your firm")),
                ("address", models.TextField(blank=True, default="")),
                ("phone", models.TextField(blank=True, default="")),
                ("email", models.TextField(blank=True, default="")),
                ("version", models.IntegerField(default=1)),
            ],
            options={
                "constraints": [models.CheckConstraint(condition=models.Q(("only", True)), name="firm_is_one")],
            },
        ),
        migrations.CreateModel(
            name="Policy",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("holds_from", models.DateField(unique=True)),
                ("c1_days", models.IntegerField(default=7)),
                ("c2_days", models.IntegerField(default=28)),
                ("fi_days", models.IntegerField(default=28)),
                ("decide_days", models.IntegerField(default=3, help_text="Days to decide what an observation needs.")),
                (
                    "step_days",
                    models.IntegerField(default=5, help_text="Days for the office's next step on a remedial."),
                ),
                ("look_again_days", models.IntegerField(default=7)),
                ("inspection_notice_days", models.IntegerField(default=90)),
                ("loop_factor", models.DecimalField(decimal_places=2, default=Decimal("0.80"), max_digits=3)),
                ("reason", models.TextField(blank=True, default="")),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("c1_days__gte", 1),
                            ("c2_days__gte", 1),
                            ("decide_days__gte", 1),
                            ("fi_days__gte", 1),
                            ("step_days__gte", 1),
                        ),
                        name="policy_days_positive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("loop_factor__gt", 0), ("loop_factor__lte", 1)), name="policy_loop_factor"
                    ),
                ],
            },
        ),
    ]
