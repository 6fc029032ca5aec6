"""Possible feeds: candidates of which one is true. They may form a loop on paper, but never leave the site or lack a phase."""

import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models

FUNCTION = """
CREATE OR REPLACE FUNCTION premises_hold_supply(of_site uuid) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    found text;
    mark text := 'premises.s' || replace(of_site::text, '-', '');
BEGIN
    -- Once a change: the first trigger of many looks, the others find nothing changed since.
    IF current_setting(mark, true) IS DISTINCT FROM 'changed' THEN RETURN; END IF;
    PERFORM set_config(mark, '', true);

    -- Two people moving boards of one site at once must see each other's move: whoever comes second waits here. Not
    -- FOR UPDATE: each holds the site already by the rows it wrote (their foreign keys), and both would wait for ever.
    PERFORM 1 FROM premises_site WHERE id = of_site FOR NO KEY UPDATE;

    SELECT b.designation INTO found FROM premises_feed f JOIN premises_board b ON b.id = f.board_id
        LEFT JOIN premises_circuit c ON c.id = f.from_circuit_id
        LEFT JOIN premises_board cb ON cb.id = c.board_id
        LEFT JOIN premises_supply s ON s.id = f.from_supply_id
        WHERE f.site_id = of_site
        AND (b.site_id <> of_site OR c.site_id <> of_site OR cb.site_id <> of_site OR s.site_id <> of_site) LIMIT 1;
    IF found IS NOT NULL THEN
        RAISE EXCEPTION 'The feed of % leaves the site.', found
            USING ERRCODE = 'check_violation', CONSTRAINT = 'feed_stays_on_site';
    END IF;

    -- Of the possible feeds of a board one at most is true: they form no loop until one of them is recorded as its feed.
    WITH RECURSIVE upstream (start, board) AS (
        SELECT f.board_id, c.board_id FROM premises_feed f JOIN premises_circuit c ON c.id = f.from_circuit_id
            WHERE f.site_id = of_site {but_possible}
        UNION
        SELECT u.start, c.board_id FROM upstream u JOIN premises_feed f ON f.board_id = u.board
            JOIN premises_circuit c ON c.id = f.from_circuit_id {where_not_possible}
    )
    SELECT b.designation INTO found FROM upstream u JOIN premises_board b ON b.id = u.start
        WHERE u.start = u.board ORDER BY b.sort LIMIT 1;
    IF found IS NOT NULL THEN
        RAISE EXCEPTION '% would feed itself.', found
            USING ERRCODE = 'check_violation', CONSTRAINT = 'feed_no_loop';
    END IF;

    SELECT b.designation INTO found FROM premises_feed f JOIN premises_board b ON b.id = f.board_id
        LEFT JOIN premises_circuit c ON c.id = f.from_circuit_id
        LEFT JOIN premises_board cb ON cb.id = c.board_id
        LEFT JOIN premises_supply s ON s.id = f.from_supply_id
        WHERE f.site_id = of_site AND b.retired_at IS NULL AND NOT b.phases <@ CASE
            WHEN s.id IS NOT NULL THEN s.phases
            WHEN c.phase = '3' THEN cb.phases
            ELSE ARRAY[c.phase] END
        ORDER BY b.sort LIMIT 1;
    IF found IS NOT NULL THEN
        RAISE EXCEPTION '% has a phase that its feed lacks.', found
            USING ERRCODE = 'check_violation', CONSTRAINT = 'feed_has_the_phases';
    END IF;

    SELECT b.designation || ', way ' || c.way INTO found FROM premises_circuit c JOIN premises_board b ON b.id = c.board_id
        WHERE b.site_id = of_site AND (c.site_id <> b.site_id OR (c.phase <> '3' AND NOT ARRAY[c.phase] <@ b.phases))
        AND c.retired_at IS NULL LIMIT 1;
    IF found IS NOT NULL THEN
        RAISE EXCEPTION '% is on a phase that its board lacks.', found
            USING ERRCODE = 'check_violation', CONSTRAINT = 'circuit_on_its_boards_phase';
    END IF;
END $$;
"""
AS_BEFORE = FUNCTION.replace("{but_possible}", "").replace("{where_not_possible}", "")
MAKE = FUNCTION.replace("{but_possible}", "AND f.kind <> 'may-be'").replace(
    "{where_not_possible}", "WHERE f.kind <> 'may-be'"
)


class Migration(migrations.Migration):
    dependencies = [("premises", "0006_verifications")]

    operations = [
        migrations.RunSQL(MAKE, AS_BEFORE),
        pgtrigger.migrations.RemoveTrigger(
            model_name="feed",
            name="feed_holds",
        ),
        pgtrigger.migrations.RemoveTrigger(
            model_name="feed",
            name="feed_changed",
        ),
        migrations.AlterField(
            model_name="feed",
            name="kind",
            field=models.TextField(
                choices=[("normal", "normal feed"), ("may-be", "possible feed"), ("alternative", "alternative feed")],
                default="normal",
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="feed",
            trigger=pgtrigger.compiler.Trigger(
                name="feed_changed",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    func="PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;",
                    hash="9bc32d7bc66395cfd21a01f08d35702f98c14e4b",
                    operation='INSERT OR UPDATE OF "board_id", "from_circuit_id", "from_supply_id", "site_id", "kind"',
                    pgid="pgtrigger_feed_changed_963b7",
                    table="premises_feed",
                    when="BEFORE",
                ),
            ),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name="feed",
            trigger=pgtrigger.compiler.Trigger(
                name="feed_holds",
                sql=pgtrigger.compiler.UpsertTriggerSql(
                    constraint="CONSTRAINT",
                    func="PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;",
                    hash="d333889f7875b6f5798c46e71abd054cad103c80",
                    operation='INSERT OR UPDATE OF "board_id", "from_circuit_id", "from_supply_id", "site_id", "kind"',
                    pgid="pgtrigger_feed_holds_40128",
                    table="premises_feed",
                    timing="DEFERRABLE INITIALLY DEFERRED",
                    when="AFTER",
                ),
            ),
        ),
        migrations.AddConstraint(
            model_name="feed",
            constraint=models.CheckConstraint(
                condition=models.Q(("verified", False), models.Q(("kind", "may-be"), _negated=True), _connector="OR"),
                name="feed_possible_not_verified",
            ),
        ),
    ]
