"""Readings of every quantity, at circuits, boards and supplies; the limit is what a reading may be at most."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0008_notices_as_given"),
        ("people", "0001_start"),
        ("premises", "0006_verifications"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="reading",
            name="reading_positive",
        ),
        migrations.RemoveConstraint(
            model_name="reading",
            name="reading_verdict",
        ),
        migrations.RenameField(model_name="reading", old_name="limit", new_name="limit_most"),
        migrations.AddField(
            model_name="reading",
            name="board",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="readings", to="premises.board"
            ),
        ),
        migrations.AddField(
            model_name="reading",
            name="edition",
            field=models.TextField(blank=True, default="", help_text="A value of standards.editions.Edition."),
        ),
        migrations.AddField(
            model_name="reading",
            name="equipment_connected",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="reading",
            name="inspection",
            field=models.ForeignKey(
                help_text="Whose edition judges it.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="readings",
                to="inspections.inspection",
            ),
        ),
        migrations.AddField(
            model_name="reading",
            name="limit_least",
            field=models.DecimalField(decimal_places=6, help_text="exact, in `unit`", max_digits=16, null=True),
        ),
        migrations.AlterField(
            model_name="reading",
            name="limit_most",
            field=models.DecimalField(decimal_places=6, help_text="exact, in `unit`", max_digits=16, null=True),
        ),
        migrations.AddField(
            model_name="reading",
            name="multiple",
            field=models.TextField(
                blank=True,
                choices=[("0.5", "½ × IΔn"), ("1", "1 × IΔn"), ("2", "2 × IΔn"), ("5", "5 × IΔn")],
                default="",
                help_text="Of IΔn, of an RCD's test.",
            ),
        ),
        migrations.AddField(
            model_name="reading",
            name="no_trip",
            field=models.BooleanField(default=False, help_text="The RCD did not operate."),
        ),
        migrations.AddField(
            model_name="reading",
            name="ok",
            field=models.BooleanField(help_text="The answer to a check without a number.", null=True),
        ),
        migrations.AddField(
            model_name="reading",
            name="places",
            field=models.SmallIntegerField(help_text="Digits after the point, as typed.", null=True),
        ),
        migrations.AddField(
            model_name="reading",
            name="supply",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="readings", to="premises.supply"
            ),
        ),
        migrations.AddField(
            model_name="reading",
            name="test_volts",
            field=models.IntegerField(help_text="Of an insulation test, where it was said.", null=True),
        ),
        migrations.AlterField(
            model_name="reading",
            name="basis",
            field=models.TextField(blank=True, help_text="The rule, factor, table and edition, in words."),
        ),
        migrations.AlterField(
            model_name="reading",
            name="circuit",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="readings", to="premises.circuit"
            ),
        ),
        migrations.AlterField(
            model_name="reading",
            name="instrument",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="readings", to="people.instrument"
            ),
        ),
        migrations.AlterField(
            model_name="reading",
            name="quantity",
            field=models.TextField(
                choices=[
                    ("r1-r2", "continuity R1+R2"),
                    ("r2", "continuity R2"),
                    ("bonding", "continuity of a bonding conductor"),
                    ("ring-r1", "ring line conductor end to end, r1"),
                    ("ring-rn", "ring neutral conductor end to end, rn"),
                    ("ring-r2", "ring protective conductor end to end, r2"),
                    ("ring-cross-rn", "ring cross-connected, line and neutral"),
                    ("ring-cross-r2", "ring cross-connected, line and protective conductor"),
                    ("insulation-resistance", "insulation resistance"),
                    ("polarity", "polarity"),
                    ("loop-impedance", "earth fault loop impedance"),
                    ("loop-impedance-board", "earth fault loop impedance at the board, Zdb"),
                    ("loop-impedance-origin", "external earth fault loop impedance, Ze"),
                    ("rcd-time", "RCD operating time"),
                    ("electrode-resistance", "earth electrode resistance"),
                    ("fault-current", "prospective fault current"),
                    ("functional-check", "functional check"),
                ]
            ),
        ),
        migrations.AlterField(
            model_name="reading",
            name="unit",
            field=models.TextField(blank=True, default="Ω"),
        ),
        migrations.AlterField(
            model_name="reading",
            name="value",
            field=models.DecimalField(decimal_places=6, help_text="in `unit`", max_digits=16, null=True),
        ),
        migrations.AlterField(
            model_name="reading",
            name="verdict",
            field=models.TextField(
                choices=[
                    ("pass", "pass"),
                    ("warning", "pass with a warning"),
                    ("fail", "fail"),
                    ("noted", "noted, nothing to judge it by"),
                ]
            ),
        ),
        migrations.AddIndex(
            model_name="reading",
            index=models.Index(fields=["board", "-taken_at"], name="reading_of_board"),
        ),
        migrations.AddIndex(
            model_name="reading",
            index=models.Index(fields=["instrument", "-taken_at"], name="reading_of_instrument"),
        ),
    ]
