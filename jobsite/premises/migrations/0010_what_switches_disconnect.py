"""What a main switch disconnects, and a customer's isolator at the intake: what isolation rests on."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0009_board_documents"),
    ]

    operations = [
        migrations.AddField(
            model_name="board",
            name="main_switch_kind",
            field=models.TextField(
                blank=True,
                choices=[
                    ("", "not known"),
                    ("all", "all live conductors, the neutral too"),
                    ("lines", "the line conductors only"),
                    ("control", "a contactor or an electronic control: does not isolate"),
                    ("none", "there is none"),
                ],
                default="",
            ),
        ),
        migrations.AddField(
            model_name="supply",
            name="isolator",
            field=models.TextField(
                blank=True, default="", help_text="The customer's own, before the boards, in words."
            ),
        ),
        migrations.AddField(
            model_name="supply",
            name="isolator_kind",
            field=models.TextField(
                blank=True,
                choices=[
                    ("", "not known"),
                    ("all", "all live conductors, the neutral too"),
                    ("lines", "the line conductors only"),
                    ("control", "a contactor or an electronic control: does not isolate"),
                    ("none", "there is none"),
                ],
                default="",
            ),
        ),
        migrations.AddConstraint(
            model_name="board",
            constraint=models.CheckConstraint(
                condition=models.Q(("main_switch_kind__in", ["", "all", "lines", "control", "none"])),
                name="board_main_switch",
            ),
        ),
        migrations.AddConstraint(
            model_name="supply",
            constraint=models.CheckConstraint(
                condition=models.Q(("isolator_kind__in", ["", "all", "lines", "control", "none"])),
                name="supply_isolator",
            ),
        ),
    ]
