"""A version that was sent is frozen by the database too: what it says is neither changed nor taken away, only replaced."""

from django.db import migrations

MAKE = """
CREATE FUNCTION quotes_frozen() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'A quote that was sent is frozen: no % of its % (a change is its next version)', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'check_violation';
END $$;

-- The number is what people speak of: it stays with its quote.
CREATE TRIGGER quote_number_stays BEFORE UPDATE ON quotes_quote FOR EACH ROW
    WHEN (OLD.number IS DISTINCT FROM NEW.number) EXECUTE FUNCTION quotes_frozen();

-- After it was sent a version only ends, in the ways that the table of its states allows.
CREATE TRIGGER offer_frozen BEFORE UPDATE ON quotes_offer FOR EACH ROW WHEN (
    OLD.number IS DISTINCT FROM NEW.number OR OLD.quote_id IS DISTINCT FROM NEW.quote_id
    OR (OLD.state = 'draft' AND NEW.state NOT IN ('draft', 'sent'))
    OR (OLD.state = 'sent' AND NEW.state = 'draft')
    OR (OLD.state = 'answered' AND NEW.state NOT IN ('answered', 'sent'))
    OR (OLD.state IN ('superseded', 'withdrawn') AND ROW(NEW.state, NEW.ended_at, NEW.ended_by_id, NEW.end_reason)
        IS DISTINCT FROM ROW(OLD.state, OLD.ended_at, OLD.ended_by_id, OLD.end_reason))
    OR (OLD.state <> 'draft' AND
        ROW(OLD.consumer, OLD.vat_registered, OLD.reverse_charge, OLD.customer_vat_number, OLD.cis_reportable, OLD.end_user,
            OLD.text_before, OLD.text_after, OLD.valid_until, OLD.work_until, OLD.made_by_id, OLD.made_at, OLD.sent_by_id,
            OLD.sent_at, OLD.sent_how, OLD.sent_to, OLD.said, OLD.fingerprint, OLD.file_id)
        IS DISTINCT FROM
        ROW(NEW.consumer, NEW.vat_registered, NEW.reverse_charge, NEW.customer_vat_number, NEW.cis_reportable, NEW.end_user,
            NEW.text_before, NEW.text_after, NEW.valid_until, NEW.work_until, NEW.made_by_id, NEW.made_at, NEW.sent_by_id,
            NEW.sent_at, NEW.sent_how, NEW.sent_to, NEW.said, NEW.fingerprint, NEW.file_id))
) EXECUTE FUNCTION quotes_frozen();
CREATE TRIGGER offer_kept BEFORE DELETE ON quotes_offer FOR EACH ROW
    WHEN (OLD.state <> 'draft') EXECUTE FUNCTION quotes_frozen();

-- Whether the version of a line was sent stands in another row, held meanwhile: sending it waits, or is waited for.
CREATE FUNCTION quotes_frozen_with_offer() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    offers uuid[] := ARRAY[]::uuid[];
BEGIN
    IF TG_TABLE_NAME = 'quotes_line' THEN
        IF TG_OP <> 'INSERT' THEN offers := offers || OLD.offer_id; END IF;
        IF TG_OP <> 'DELETE' THEN offers := offers || NEW.offer_id; END IF;
    ELSE
        IF TG_OP <> 'INSERT' THEN offers := offers || (SELECT offer_id FROM quotes_line WHERE id = OLD.line_id); END IF;
        IF TG_OP <> 'DELETE' THEN offers := offers || (SELECT offer_id FROM quotes_line WHERE id = NEW.line_id); END IF;
    END IF;
    PERFORM 1 FROM quotes_offer WHERE id = ANY (offers) AND state <> 'draft' FOR SHARE;
    IF FOUND THEN
        RAISE EXCEPTION 'A quote that was sent is frozen: no % of its % (a change is its next version)',
            TG_OP, TG_TABLE_NAME USING ERRCODE = 'check_violation';
    END IF;
    RETURN CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END;
END $$;
CREATE TRIGGER line_added BEFORE INSERT ON quotes_line FOR EACH ROW EXECUTE FUNCTION quotes_frozen_with_offer();
-- Where it is goes over with a site that was recorded twice: what was said of it stays in the version's own words.
CREATE TRIGGER line_frozen BEFORE UPDATE ON quotes_line FOR EACH ROW WHEN (
    (to_jsonb(OLD) - 'site_id') IS DISTINCT FROM (to_jsonb(NEW) - 'site_id')
) EXECUTE FUNCTION quotes_frozen_with_offer();
CREATE TRIGGER line_kept BEFORE DELETE ON quotes_line FOR EACH ROW EXECUTE FUNCTION quotes_frozen_with_offer();
CREATE TRIGGER line_remedial_frozen BEFORE INSERT OR UPDATE OR DELETE ON quotes_lineremedial FOR EACH ROW
    EXECUTE FUNCTION quotes_frozen_with_offer();
"""

UNMAKE = """
DROP TRIGGER line_remedial_frozen ON quotes_lineremedial;
DROP TRIGGER line_kept ON quotes_line;
DROP TRIGGER line_frozen ON quotes_line;
DROP TRIGGER line_added ON quotes_line;
DROP FUNCTION quotes_frozen_with_offer();
DROP TRIGGER offer_kept ON quotes_offer;
DROP TRIGGER offer_frozen ON quotes_offer;
DROP TRIGGER quote_number_stays ON quotes_quote;
DROP FUNCTION quotes_frozen();
"""


class Migration(migrations.Migration):
    dependencies = [("quotes", "0002_line_site_and_visits")]
    operations = [migrations.RunSQL(MAKE, UNMAKE)]
