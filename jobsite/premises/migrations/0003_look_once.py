"""The supply of a site is looked over once a transaction, however many of its rows changed."""

import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("premises", "0002_hold_supply"),
    ]

    operations = [
        pgtrigger.migrations.AddTrigger(
            model_name="board",
            trigger=pgtrigger.compiler.Trigger(
                name="board_changed",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    func="PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;",
                    hash="57632a1a25640b6c90e435afaac9d6c9be26aac7",
                    operation='UPDATE OF "phases", "site_id"',
                    pgid="pgtrigger_board_changed_0d81c",
                    table="premises_board",
                    when="BEFORE",
                ),
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="circuit",
            trigger=pgtrigger.compiler.Trigger(
                name="circuit_changed",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    func="PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;",
                    hash="abb02ac7ca2ea2bf2a701f9b7a3d7e9e2b0145ea",
                    operation='UPDATE OF "phase", "board_id", "site_id"',
                    pgid="pgtrigger_circuit_changed_99a33",
                    table="premises_circuit",
                    when="BEFORE",
                ),
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="feed",
            trigger=pgtrigger.compiler.Trigger(
                name="feed_changed",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    func="PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;",
                    hash="b3d3cfc424caedde028c9b8d3bed15f4ef4a89e9",
                    operation='INSERT OR UPDATE OF "board_id", "from_circuit_id", "from_supply_id", "site_id"',
                    pgid="pgtrigger_feed_changed_963b7",
                    table="premises_feed",
                    when="BEFORE",
                ),
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="supply",
            trigger=pgtrigger.compiler.Trigger(
                name="supply_changed",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    func="PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;",
                    hash="15ef69b45b4401c802e4693ec0304d915a19f9ca",
                    operation='UPDATE OF "phases", "site_id"',
                    pgid="pgtrigger_supply_changed_b70a3",
                    table="premises_supply",
                    when="BEFORE",
                ),
            ),
        ),
    ]
