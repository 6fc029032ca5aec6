"""A circuit is held to the phases of its board when it is entered, too."""

import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0003_look_once"),
    ]

    operations = [
        pgtrigger.migrations.RemoveTrigger(
            model_name="circuit",
            name="circuit_holds",
        ),
        pgtrigger.migrations.RemoveTrigger(
            model_name="circuit",
            name="circuit_changed",
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="circuit",
            trigger=pgtrigger.compiler.Trigger(
                name="circuit_changed",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    func="PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;",
                    hash="e6997009447591c6a0a77088b8ff6605e75c0938",
                    operation='INSERT OR UPDATE OF "phase", "board_id", "site_id"',
                    pgid="pgtrigger_circuit_changed_99a33",
                    table="premises_circuit",
                    when="BEFORE",
                ),
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="circuit",
            trigger=pgtrigger.compiler.Trigger(
                name="circuit_holds",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    constraint="CONSTRAINT",
                    func="PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;",
                    hash="96babedcca958b0d333382208aa4610924d351f8",
                    operation='INSERT OR UPDATE OF "phase", "board_id", "site_id"',
                    pgid="pgtrigger_circuit_holds_de53a",
                    table="premises_circuit",
                    timing="DEFERRABLE INITIALLY DEFERRED",
                    when="AFTER",
                ),
            ),
        ),
    ]
