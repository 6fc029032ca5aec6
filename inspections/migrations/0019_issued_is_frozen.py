"""An issued report is frozen by the database too: what it says is neither changed nor taken away, only replaced."""

from django.db import migrations

MAKE = """
CREATE FUNCTION inspections_frozen() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'An issued report is frozen: no % of its % (a correction is a reissue)', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'check_violation';
END $$;

CREATE TRIGGER inspection_frozen BEFORE UPDATE ON inspections_inspection FOR EACH ROW WHEN (
    OLD.state <> 'draft' AND (
        NEW.state = 'draft' OR (OLD.state = 'replaced' AND NEW.state <> 'replaced') OR
        ROW(OLD.number, OLD.kind, OLD.other_firm, OLD.inspected_on, OLD.edition, OLD.inspector_name, OLD.firm_name,
            OLD.qualified_person_name, OLD.inspector_id, OLD.reference, OLD.extent, OLD.next_due_on, OLD.remedy_limit_days,
            OLD.outcome_written, OLD.issued_at, OLD.issued_by_id, OLD.outcome, OLD.outcome_basis, OLD.replaces_id,
            OLD.reissue_reason, OLD.file_id, OLD.file_name, OLD.recorded_by_id, OLD.recorded_at)
        IS DISTINCT FROM
        ROW(NEW.number, NEW.kind, NEW.other_firm, NEW.inspected_on, NEW.edition, NEW.inspector_name, NEW.firm_name,
            NEW.qualified_person_name, NEW.inspector_id, NEW.reference, NEW.extent, NEW.next_due_on, NEW.remedy_limit_days,
            NEW.outcome_written, NEW.issued_at, NEW.issued_by_id, NEW.outcome, NEW.outcome_basis, NEW.replaces_id,
            NEW.reissue_reason, NEW.file_id, NEW.file_name, NEW.recorded_by_id, NEW.recorded_at)
    )
) EXECUTE FUNCTION inspections_frozen();
CREATE TRIGGER inspection_kept BEFORE DELETE ON inspections_inspection FOR EACH ROW
    WHEN (OLD.state <> 'draft') EXECUTE FUNCTION inspections_frozen();

-- What the report says of a defect; decisions, dates, works and how it ended go on.
CREATE TRIGGER observation_frozen BEFORE UPDATE ON inspections_observation FOR EACH ROW WHEN (
    NOT OLD.draft AND OLD.inspection_id IS NOT NULL AND (
        NEW.draft OR
        ROW(OLD.number, OLD.inspection_id, OLD.unit_id, OLD.place, OLD.item, OLD.text, OLD.code_written, OLD.recorded_on,
            OLD.recorded_at, OLD.recorded_by_id)
        IS DISTINCT FROM
        ROW(NEW.number, NEW.inspection_id, NEW.unit_id, NEW.place, NEW.item, NEW.text, NEW.code_written, NEW.recorded_on,
            NEW.recorded_at, NEW.recorded_by_id)
    )
) EXECUTE FUNCTION inspections_frozen();
CREATE TRIGGER observation_kept BEFORE DELETE ON inspections_observation FOR EACH ROW
    WHEN (NOT OLD.draft AND OLD.inspection_id IS NOT NULL) EXECUTE FUNCTION inspections_frozen();

-- Whether the report of a limitation, or of a unit or board that it covers, is issued stands in another row.
CREATE FUNCTION inspections_frozen_with_report() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT 1 FROM inspections_inspection WHERE id = OLD.inspection_id AND state <> 'draft') THEN
        RAISE EXCEPTION 'An issued report is frozen: no % of its % (a correction is a reissue)', TG_OP, TG_TABLE_NAME
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END;
END $$;
CREATE TRIGGER limitation_frozen BEFORE UPDATE ON inspections_limitation FOR EACH ROW WHEN (
    ROW(OLD.inspection_id, OLD.unit_id, OLD.board_id, OLD.what, OLD.why, OLD.agreed_with)
    IS DISTINCT FROM ROW(NEW.inspection_id, NEW.unit_id, NEW.board_id, NEW.what, NEW.why, NEW.agreed_with)
) EXECUTE FUNCTION inspections_frozen_with_report();
CREATE TRIGGER limitation_kept BEFORE DELETE ON inspections_limitation FOR EACH ROW
    EXECUTE FUNCTION inspections_frozen_with_report();
CREATE TRIGGER units_kept BEFORE UPDATE OR DELETE ON inspections_inspection_units FOR EACH ROW
    EXECUTE FUNCTION inspections_frozen_with_report();
CREATE TRIGGER boards_kept BEFORE UPDATE OR DELETE ON inspections_inspection_boards FOR EACH ROW
    EXECUTE FUNCTION inspections_frozen_with_report();
"""

UNMAKE = """
DROP TRIGGER boards_kept ON inspections_inspection_boards;
DROP TRIGGER units_kept ON inspections_inspection_units;
DROP TRIGGER limitation_kept ON inspections_limitation;
DROP TRIGGER limitation_frozen ON inspections_limitation;
DROP TRIGGER observation_kept ON inspections_observation;
DROP TRIGGER observation_frozen ON inspections_observation;
DROP TRIGGER inspection_kept ON inspections_inspection;
DROP TRIGGER inspection_frozen ON inspections_inspection;
DROP FUNCTION inspections_frozen_with_report();
DROP FUNCTION inspections_frozen();
"""


class Migration(migrations.Migration):
    dependencies = [("inspections", "0018_reissue_reason")]
    operations = [migrations.RunSQL(MAKE, UNMAKE)]
