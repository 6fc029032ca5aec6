"""The function by which the database holds a site's supply together, called by triggers at the end of a transaction."""

from django.db import migrations

MAKE = """
CREATE FUNCTION premises_hold_supply(of_site uuid) RETURNS void LANGUAGE plpgsql AS $$
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

    WITH RECURSIVE upstream (start, board) AS (
        SELECT f.board_id, c.board_id FROM premises_feed f JOIN premises_circuit c ON c.id = f.from_circuit_id
            WHERE f.site_id = of_site
        UNION
        SELECT u.start, c.board_id FROM upstream u JOIN premises_feed f ON f.board_id = u.board
            JOIN premises_circuit c ON c.id = f.from_circuit_id
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


class Migration(migrations.Migration):
    dependencies = [("premises", "0001_start")]
    operations = [migrations.RunSQL(MAKE, "DROP FUNCTION premises_hold_supply(uuid);")]
