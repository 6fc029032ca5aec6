"""An issued report of a site that was recorded twice goes over as it is: only the unit that it names becomes the other's.

The operation that makes two sites one says so for its transaction (`premises.merging`); nothing else may change even then.
"""

from django.db import migrations

MAKE = """
CREATE OR REPLACE FUNCTION inspections_frozen() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' AND current_setting('premises.merging', true) = 'yes'
        -- A stored column that is worked out from others has no value yet here.
        AND to_jsonb(OLD) - 'unit_id' - 'telling' = to_jsonb(NEW) - 'unit_id' - 'telling' THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'An issued report is frozen: no % of its % (a correction is a reissue)', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'check_violation';
END $$;

CREATE OR REPLACE FUNCTION inspections_frozen_with_report() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' AND current_setting('premises.merging', true) = 'yes'
        AND to_jsonb(OLD) - 'unit_id' = to_jsonb(NEW) - 'unit_id' THEN
        RETURN NEW;
    END IF;
    IF EXISTS (SELECT 1 FROM inspections_inspection WHERE id = OLD.inspection_id AND state <> 'draft') THEN
        RAISE EXCEPTION 'An issued report is frozen: no % of its % (a correction is a reissue)', TG_OP, TG_TABLE_NAME
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END;
END $$;
"""

UNMAKE = """
CREATE OR REPLACE FUNCTION inspections_frozen() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'An issued report is frozen: no % of its % (a correction is a reissue)', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'check_violation';
END $$;

CREATE OR REPLACE FUNCTION inspections_frozen_with_report() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT 1 FROM inspections_inspection WHERE id = OLD.inspection_id AND state <> 'draft') THEN
        RAISE EXCEPTION 'An issued report is frozen: no % of its % (a correction is a reissue)', TG_OP, TG_TABLE_NAME
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [("inspections", "0020_rows_said_to_be_earlier")]
    operations = [migrations.RunSQL(MAKE, UNMAKE)]
