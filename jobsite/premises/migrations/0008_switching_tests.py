"""Switching tests: what was off, and which boards were seen dead or alive."""

import django.db.models.deletion
import jobsite.ids
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0007_possible_feeds"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="BoardSeen",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                ("state", models.TextField(choices=[("dead", "dead"), ("alive", "alive")])),
            ],
        ),
        migrations.CreateModel(
            name="SwitchingTest",
            fields=[
                ("id", models.UUIDField(default=jobsite.ids.new_id, primary_key=True, serialize=False)),
                (
                    "others_off",
                    models.BooleanField(
                        default=False,
                        help_text="Second sources and other feeds were off as well, changeovers on the normal feed.",
                    ),
                ),
                ("at", models.DateTimeField()),
                ("noted_at", models.DateTimeField()),
                ("together_with", models.TextField(blank=True, default="")),
                ("note", models.TextField(blank=True, default="")),
                ("withdrawn_at", models.DateTimeField(null=True)),
                ("withdrawn_why", models.TextField(blank=True, default="")),
            ],
        ),
        migrations.AddField(
            model_name="boardseen",
            name="board",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="premises.board"),
        ),
        migrations.AddField(
            model_name="switchingtest",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="switchingtest",
            name="off_circuit",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="premises.circuit",
            ),
        ),
        migrations.AddField(
            model_name="switchingtest",
            name="off_supply",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="premises.supply",
            ),
        ),
        migrations.AddField(
            model_name="switchingtest",
            name="site",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="switching_tests", to="premises.site"
            ),
        ),
        migrations.AddField(
            model_name="switchingtest",
            name="withdrawn_by",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="boardseen",
            name="test",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="seen", to="premises.switchingtest"
            ),
        ),
        migrations.AddIndex(
            model_name="switchingtest",
            index=models.Index(fields=["site", "-at"], name="switching_of_site"),
        ),
        migrations.AddConstraint(
            model_name="switchingtest",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("off_circuit__isnull", False), ("off_supply__isnull", True)),
                    models.Q(("off_circuit__isnull", True), ("off_supply__isnull", False)),
                    _connector="OR",
                ),
                name="switching_of_one_device",
            ),
        ),
        migrations.AddConstraint(
            model_name="switchingtest",
            constraint=models.CheckConstraint(
                condition=models.Q(("at__lte", models.F("noted_at"))), name="switching_noted_afterwards"
            ),
        ),
        migrations.AddConstraint(
            model_name="switchingtest",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("withdrawn_at__isnull", True), ("withdrawn_by__isnull", True), ("withdrawn_why", "")),
                    models.Q(
                        ("withdrawn_at__isnull", False),
                        ("withdrawn_by__isnull", False),
                        models.Q(("withdrawn_why", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="switching_withdrawn_with_a_reason",
            ),
        ),
        migrations.AddConstraint(
            model_name="boardseen",
            constraint=models.UniqueConstraint(fields=("test", "board"), name="board_seen_once_a_test"),
        ),
        migrations.AddConstraint(
            model_name="boardseen",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["dead", "alive"])), name="board_seen_state"
            ),
        ),
    ]
