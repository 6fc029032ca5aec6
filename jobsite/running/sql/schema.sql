-- Made by `make schema`: what these migrations come to.
-- migration: people.0001_start
-- migration: account.0001_initial
-- migration: account.0002_email_max_length
-- migration: account.0003_alter_emailaddress_create_unique_verified_email
-- migration: account.0004_alter_emailaddress_drop_unique_email
-- migration: account.0005_emailaddress_idx_upper_email
-- migration: account.0006_emailaddress_lower
-- migration: account.0007_emailaddress_idx_email
-- migration: account.0008_emailaddress_unique_primary_email_fixup
-- migration: account.0009_emailaddress_unique_primary_email
-- migration: contenttypes.0001_initial
-- migration: contenttypes.0002_remove_content_type_name
-- migration: auth.0001_initial
-- migration: auth.0002_alter_permission_name_max_length
-- migration: auth.0003_alter_user_email_max_length
-- migration: auth.0004_alter_user_username_opts
-- migration: auth.0005_alter_user_last_login_null
-- migration: auth.0006_require_contenttypes_0002
-- migration: auth.0007_alter_validators_add_error_messages
-- migration: auth.0008_alter_user_username_max_length
-- migration: auth.0009_alter_user_last_name_max_length
-- migration: auth.0010_alter_group_name_max_length
-- migration: auth.0011_update_proxy_permissions
-- migration: auth.0012_alter_user_first_name_max_length
-- migration: firm.0001_start
-- migration: firm.0002_cache_table
-- migration: firm.0003_meter_tolerance
-- migration: firm.0004_loop_rounding
-- migration: firm.0005_nation_of_the_firm
-- migration: firm.0006_proof
-- migration: desk.0001_take_outs
-- migration: premises.0001_start
-- migration: ledger.0001_start
-- migration: inspections.0001_start
-- migration: works.0001_start
-- migration: works.0002_power_off_may_be_unknown
-- migration: works.0003_required_readings_of_every_quantity
-- migration: premises.0002_hold_supply
-- migration: premises.0003_look_once
-- migration: premises.0004_circuits_held_from_the_start
-- migration: premises.0005_names_of_what_is_there
-- migration: premises.0006_verifications
-- migration: premises.0007_possible_feeds
-- migration: premises.0008_switching_tests
-- migration: premises.0009_board_documents
-- migration: premises.0010_what_switches_disconnect
-- migration: premises.0011_voltage_operated_breakers
-- migration: premises.0012_more_kinds_and_tenancy
-- migration: premises.0013_sites_merged_and_handed_over
-- migration: premises.0014_board_replaced_by
-- migration: inspections.0002_made_safe_lifted
-- migration: inspections.0003_uncoded_by_index
-- migration: inspections.0004_reported_as_dangerous
-- migration: inspections.0005_meters_compared
-- migration: inspections.0006_words_that_tell
-- migration: inspections.0007_missed_in
-- migration: inspections.0008_notices_as_given
-- migration: inspections.0009_readings_of_every_quantity
-- migration: inspections.0010_readings_know_their_board
-- migration: inspections.0011_readings_say_one_thing
-- migration: inspections.0012_still_there
-- migration: inspections.0013_occupancy_and_papers
-- migration: inspections.0014_codes_by
-- migration: inspections.0015_made_safe_without_photo
-- migration: inspections.0016_intake_put_right
-- migration: inspections.0017_facts_corrected
-- migration: inspections.0018_reissue_reason
-- migration: inspections.0019_issued_is_frozen
-- migration: inspections.0020_rows_said_to_be_earlier
-- migration: inspections.0021_frozen_goes_over
-- migration: inspections.0022_noticed_on
-- migration: works.0004_items_crew_and_answers
-- migration: works.0005_answers_may_be_taken_back
-- migration: works.0006_parts_ready_date
-- migration: works.0007_stints_and_power_steps
-- migration: people.0002_instrument_found_wrong
-- migration: people.0003_links_to_quotes
-- migration: people.0004_skills_hours_leave
-- migration: ledger.0002_done_once
-- migration: people.0005_instrument_checks
-- migration: people.0006_comparisons
-- migration: works.0008_recall_decisions
-- migration: premises.0015_verification_seen_earlier
-- migration: inspections.0023_papers_of_reports_and_works
-- migration: works.0009_network_is_told
-- migration: works.0010_way_out_looked_at
-- migration: inspections.0024_open_by_step
-- migration: works.0011_open_by_step
-- migration: people.0007_ended_knowingly
-- migration: visits.0001_start
-- migration: visits.0002_diary_access_planner
-- migration: quotes.0001_start
-- migration: quotes.0002_line_site_and_visits
-- migration: quotes.0003_sent_is_frozen
-- migration: due.0001_start
-- migration: due.0002_due_list_2
-- migration: due.0003_due_list_3
-- migration: due.0004_due_list_4
-- migration: due.0005_reminders
-- migration: due.0006_undertaken_from
-- migration: due.0007_sweep_troubles
-- migration: due.0008_due_list_5
-- migration: due.0009_due_list_6
-- migration: due.0010_due_list_7
-- migration: firm.0007_second_step
-- migration: firm.0008_second_step_looked_at
-- migration: ledger.0003_proof
-- migration: ledger.0004_entry_by_file
-- migration: mfa.0001_initial
-- migration: mfa.0002_authenticator_timestamps
-- migration: mfa.0003_authenticator_type_uniq
-- migration: people.0008_proof
-- migration: people.0009_access_tokens
-- migration: people.0010_sign_ins
-- migration: post.0001_start
-- migration: post.0002_completed_when_sent
-- migration: post.0003_reminders
-- migration: post.0004_claims_and_returns
-- migration: post.0005_being_sent_counts_as_handed_over
-- migration: premises.0016_proof
-- migration: premises.0017_length_and_breaking_capacity
-- migration: premises.0018_length_and_breaking_capacity_looked_at
-- migration: quotes.0004_names_without_case_and_versions_of_terms
-- migration: quotes.0005_questions_closed_without_a_reply
-- migration: running.0001_start
-- migration: sessions.0001_initial
-- migration: status.0001_proof
-- migration: status.0002_report_copies
-- migration: usersessions.0001_initial
-- migration: visits.0003_times_offered_despite
-- migration: visits.0004_check_ins_that_come_late
-- migration: works.0012_by_step_to_come

SET statement_timeout = 0;
SET lock_timeout = 0;
SET idle_in_transaction_session_timeout = 0;
SET transaction_timeout = 0;
SET client_encoding = 'UTF8';
SET standard_conforming_strings = on;
SELECT pg_catalog.set_config('search_path', '', false);
SET check_function_bodies = false;
SET xmloption = content;
SET client_min_messages = warning;
SET row_security = off;

CREATE EXTENSION IF NOT EXISTS btree_gist WITH SCHEMA public;

CREATE EXTENSION IF NOT EXISTS pg_trgm WITH SCHEMA public;

CREATE EXTENSION IF NOT EXISTS unaccent WITH SCHEMA public;

CREATE FUNCTION public._pgtrigger_should_ignore(trigger_name name) RETURNS boolean
    LANGUAGE plpgsql
    AS $$
                DECLARE
                    _pgtrigger_ignore TEXT[];
                    _result BOOLEAN;
                BEGIN
                    BEGIN
                        SELECT INTO _pgtrigger_ignore
                            CURRENT_SETTING('pgtrigger.ignore');
                        EXCEPTION WHEN OTHERS THEN
                    END;
                    IF _pgtrigger_ignore IS NOT NULL THEN
                        SELECT trigger_name = ANY(_pgtrigger_ignore)
                        INTO _result;
                        RETURN _result;
                    ELSE
                        RETURN FALSE;
                    END IF;
                END;
            $$;

CREATE FUNCTION public.inspections_frozen() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    IF TG_OP = 'UPDATE' AND current_setting('premises.merging', true) = 'yes'
        -- A stored column that is worked out from others has no value yet here.
        AND to_jsonb(OLD) - 'unit_id' - 'telling' = to_jsonb(NEW) - 'unit_id' - 'telling' THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'An issued report is frozen: no % of its % (a correction is a reissue)', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'check_violation';
END $$;

CREATE FUNCTION public.inspections_frozen_with_report() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
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

CREATE FUNCTION public.pgtrigger_append_only_af900() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;
                END;
            $$;

CREATE FUNCTION public.pgtrigger_board_changed_0d81c() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;
                END;
            $$;

CREATE FUNCTION public.pgtrigger_board_holds_cc506() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;
                END;
            $$;

CREATE FUNCTION public.pgtrigger_circuit_changed_99a33() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;
                END;
            $$;

CREATE FUNCTION public.pgtrigger_circuit_holds_de53a() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;
                END;
            $$;

CREATE FUNCTION public.pgtrigger_feed_changed_963b7() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;
                END;
            $$;

CREATE FUNCTION public.pgtrigger_feed_holds_40128() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;
                END;
            $$;

CREATE FUNCTION public.pgtrigger_kept_while_held_11281() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                DECLARE held boolean;
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    
                    WITH RECURSIVE leads_to(chain) AS (
                        SELECT chain FROM ledger_entry WHERE id = OLD.entry
                        UNION
                        SELECT c.closed_into FROM ledger_chain c JOIN leads_to l ON c.id = l.chain
                        WHERE c.closed_into IS NOT NULL
                    )
                    SELECT EXISTS (
                        SELECT 1 FROM ledger_hold h
                        WHERE h.lifted_at IS NULL AND (h.site IS NULL OR h.site IN (SELECT chain FROM leads_to))
                    ) INTO held;
                    IF held THEN RAISE EXCEPTION 'these words are held'; END IF;
                    IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
                    RETURN NEW;
                
                END;
            $$;

CREATE FUNCTION public.pgtrigger_no_truncate_43bbd() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    RAISE EXCEPTION 'the ledger is append-only';
                END;
            $$;

CREATE FUNCTION public.pgtrigger_supply_changed_b70a3() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    PERFORM set_config('premises.s' || replace(NEW.site_id::text, '-', ''), 'changed', true); RETURN NEW;
                END;
            $$;

CREATE FUNCTION public.pgtrigger_supply_holds_e6c19() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
                
                BEGIN
                    IF ("public"._pgtrigger_should_ignore(TG_NAME) IS TRUE) THEN
                        IF (TG_OP = 'DELETE') THEN
                            RETURN OLD;
                        ELSE
                            RETURN NEW;
                        END IF;
                    END IF;
                    PERFORM premises_hold_supply(NEW.site_id); RETURN NULL;
                END;
            $$;

CREATE FUNCTION public.premises_hold_supply(of_site uuid) RETURNS void
    LANGUAGE plpgsql
    AS $$
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
            WHERE f.site_id = of_site AND f.kind <> 'may-be'
        UNION
        SELECT u.start, c.board_id FROM upstream u JOIN premises_feed f ON f.board_id = u.board
            JOIN premises_circuit c ON c.id = f.from_circuit_id WHERE f.kind <> 'may-be'
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

CREATE FUNCTION public.quotes_frozen() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    RAISE EXCEPTION 'A quote that was sent is frozen: no % of its % (a change is its next version)', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'check_violation';
END $$;

CREATE FUNCTION public.quotes_frozen_with_offer() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
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

CREATE FUNCTION public.telling_words(said text) RETURNS text
    LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE
    RETURN regexp_replace(regexp_replace(NORMALIZE(lower(said), NFKD), '[\u0300-\u036f]'::text, ''::text, 'g'::text), '\m(a|an|and|are|at|be|by|can|could|does|for|from|has|have|in|into|is|it|its|may|more|of|on|or|that|the|their|to|under|was|where|which|with|within|no|not|none|without|missing|lacking|absent|fitted|installed)\M'::text, ' '::text, 'g'::text);

SET default_tablespace = '';

SET default_table_access_method = heap;

CREATE TABLE public.account_emailaddress (
    id integer NOT NULL,
    email character varying(254) NOT NULL,
    verified boolean NOT NULL,
    "primary" boolean NOT NULL,
    user_id uuid NOT NULL
);

ALTER TABLE public.account_emailaddress ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.account_emailaddress_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.account_emailconfirmation (
    id integer NOT NULL,
    created timestamp with time zone NOT NULL,
    sent timestamp with time zone,
    key character varying(64) NOT NULL,
    email_address_id integer NOT NULL
);

ALTER TABLE public.account_emailconfirmation ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.account_emailconfirmation_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.auth_group (
    id integer NOT NULL,
    name character varying(150) NOT NULL
);

ALTER TABLE public.auth_group ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.auth_group_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.auth_group_permissions (
    id bigint NOT NULL,
    group_id integer NOT NULL,
    permission_id integer NOT NULL
);

ALTER TABLE public.auth_group_permissions ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.auth_group_permissions_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.auth_permission (
    id integer NOT NULL,
    name character varying(255) NOT NULL,
    content_type_id integer NOT NULL,
    codename character varying(100) NOT NULL
);

ALTER TABLE public.auth_permission ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.auth_permission_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.cache (
    cache_key character varying(255) NOT NULL,
    value text NOT NULL,
    expires timestamp with time zone NOT NULL
);

CREATE TABLE public.desk_takeout (
    id uuid NOT NULL,
    kind text NOT NULL,
    asked_at timestamp with time zone NOT NULL,
    made_at timestamp with time zone,
    size bigint NOT NULL,
    rows bigint NOT NULL,
    fingerprint text NOT NULL,
    gone_at timestamp with time zone,
    asked_by_id uuid NOT NULL,
    progress_id uuid NOT NULL,
    CONSTRAINT take_out_made_or_not CHECK ((((fingerprint = ''::text) AND (gone_at IS NULL) AND (made_at IS NULL)) OR ((made_at IS NOT NULL) AND (NOT (fingerprint = ''::text)))))
);

CREATE TABLE public.django_content_type (
    id integer NOT NULL,
    app_label character varying(100) NOT NULL,
    model character varying(100) NOT NULL
);

ALTER TABLE public.django_content_type ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.django_content_type_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.django_migrations (
    id bigint NOT NULL,
    app character varying(255) NOT NULL,
    name character varying(255) NOT NULL,
    applied timestamp with time zone NOT NULL
);

ALTER TABLE public.django_migrations ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.django_migrations_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.django_session (
    session_key character varying(40) NOT NULL,
    session_data text NOT NULL,
    expire_date timestamp with time zone NOT NULL
);

CREATE TABLE public.due_leaving (
    id uuid NOT NULL,
    number bigint NOT NULL,
    why text NOT NULL,
    to_name text NOT NULL,
    to_address text NOT NULL,
    reason text NOT NULL,
    open_items jsonb NOT NULL,
    deliver_by date NOT NULL,
    delivered_on date,
    delivered_how text NOT NULL,
    delivered_to text NOT NULL,
    written_at timestamp with time zone NOT NULL,
    taken_back_at timestamp with time zone,
    version integer NOT NULL,
    letter_id text,
    owner_id uuid NOT NULL,
    proof_id text,
    site_id uuid NOT NULL,
    written_by_id uuid NOT NULL,
    CONSTRAINT leaving_says_how_delivered CHECK (((delivered_on IS NULL) OR ((NOT (delivered_how = ''::text)) AND (NOT (delivered_to = ''::text))))),
    CONSTRAINT leaving_why CHECK ((why = ANY (ARRAY['left'::text, 'sold'::text, 'died'::text, 'silent'::text])))
);

CREATE TABLE public.due_reminderrule (
    id uuid NOT NULL,
    sort text NOT NULL,
    before integer NOT NULL,
    every integer NOT NULL,
    qualified_after integer,
    manager_after integer,
    CONSTRAINT reminder_days CHECK (((before >= 0) AND (before <= 365) AND (every >= 1) AND (every <= 90))),
    CONSTRAINT reminder_passed_on_later CHECK ((((qualified_after IS NULL) OR (qualified_after >= 0)) AND ((manager_after IS NULL) OR (manager_after >= 0)))),
    CONSTRAINT reminder_sort CHECK ((sort = ANY (ARRAY['c1'::text, 'c1-safe'::text, 'c2'::text, 'fi'::text, 'c3'::text, 'report'::text, 'inspection'::text, 'paper'::text, 'notification'::text, 'letter'::text, 'visit'::text, 'quote'::text, 'desk'::text, 'own'::text, 'chase'::text])))
);

CREATE TABLE public.due_undertaking (
    id uuid NOT NULL,
    kind text NOT NULL,
    ref uuid NOT NULL,
    until date NOT NULL,
    reason text NOT NULL,
    at timestamp with time zone NOT NULL,
    ended_at timestamp with time zone,
    by_id uuid NOT NULL,
    site_id uuid,
    due_was date NOT NULL,
    instead_of_id uuid,
    CONSTRAINT undertaking_says_why CHECK ((NOT (reason = ''::text)))
);

CREATE TABLE public.inspections_dangernotice_observations (
    id bigint NOT NULL,
    dangernotice_id uuid NOT NULL,
    observation_id uuid NOT NULL
);

CREATE TABLE public.inspections_inspection (
    id uuid NOT NULL,
    number bigint NOT NULL,
    kind text NOT NULL,
    other_firm boolean NOT NULL,
    inspected_on date NOT NULL,
    edition text NOT NULL,
    inspector_name text NOT NULL,
    firm_name text NOT NULL,
    qualified_person_name text NOT NULL,
    reference text NOT NULL,
    extent text NOT NULL,
    next_due_on date,
    remedy_limit_days integer,
    outcome_written text NOT NULL,
    state text NOT NULL,
    issued_at timestamp with time zone,
    outcome text NOT NULL,
    outcome_basis text NOT NULL,
    file_name text NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    version integer NOT NULL,
    file_id text,
    inspector_id uuid,
    issued_by_id uuid,
    recorded_by_id uuid NOT NULL,
    replaces_id uuid,
    site_id uuid NOT NULL,
    codes_by date,
    reissue_reason text NOT NULL,
    CONSTRAINT inspection_issued_has_outcome CHECK (((state = 'draft'::text) OR ((issued_at IS NOT NULL) AND (outcome = ANY (ARRAY['satisfactory'::text, 'unsatisfactory'::text]))))),
    CONSTRAINT inspection_kind CHECK ((kind = ANY (ARRAY['periodic'::text, 'initial'::text, 'survey'::text, 'call-out'::text]))),
    CONSTRAINT inspection_next_is_later CHECK (((next_due_on IS NULL) OR (next_due_on > inspected_on))),
    CONSTRAINT inspection_reissue_says_why CHECK (((replaces_id IS NULL) OR (NOT (reissue_reason = ''::text)))),
    CONSTRAINT inspection_state CHECK ((state = ANY (ARRAY['draft'::text, 'issued'::text, 'replaced'::text])))
);

CREATE TABLE public.inspections_inspectiondue (
    unit_id uuid NOT NULL,
    due_on date NOT NULL,
    basis text NOT NULL,
    by_law boolean NOT NULL,
    shows_from date NOT NULL,
    after_id uuid,
    owner_id uuid,
    noticed_on date
);

CREATE TABLE public.inspections_madesafe (
    id uuid NOT NULL,
    how text NOT NULL,
    what text NOT NULL,
    agreed_with text NOT NULL,
    lock text NOT NULL,
    key_holder text NOT NULL,
    at timestamp with time zone NOT NULL,
    look_again_on date NOT NULL,
    ended text NOT NULL,
    ended_at timestamp with time zone,
    by_id uuid NOT NULL,
    looker_id uuid,
    photo_id text,
    observation_id uuid NOT NULL,
    no_photo text NOT NULL,
    CONSTRAINT made_safe_agreed_with CHECK ((NOT (agreed_with = ''::text))),
    CONSTRAINT made_safe_ended_when CHECK ((((ended = ''::text) AND (ended_at IS NULL)) OR ((NOT (ended = ''::text)) AND (ended_at IS NOT NULL)))),
    CONSTRAINT made_safe_key_holder CHECK (((NOT (how = 'locked'::text)) OR (NOT (key_holder = ''::text))))
);

CREATE TABLE public.inspections_observation (
    id uuid NOT NULL,
    number bigint NOT NULL,
    place text NOT NULL,
    item text NOT NULL,
    text text NOT NULL,
    code_written text NOT NULL,
    code text NOT NULL,
    draft boolean NOT NULL,
    reviewed boolean NOT NULL,
    recorded_on date NOT NULL,
    first_recorded_on date NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    reported_by text NOT NULL,
    make_safe_by date,
    remedy_by date,
    remedy_basis text NOT NULL,
    remedy_by_law boolean NOT NULL,
    made_safe boolean NOT NULL,
    step_by date,
    ended text NOT NULL,
    ended_on date,
    ended_reason text NOT NULL,
    version integer NOT NULL,
    board_id uuid,
    circuit_id uuid,
    continues_id uuid,
    inspection_id uuid,
    owner_id uuid,
    recorded_by_id uuid NOT NULL,
    site_id uuid NOT NULL,
    unit_id uuid NOT NULL,
    may_be_dangerous boolean NOT NULL,
    telling text GENERATED ALWAYS AS (public.telling_words(text)) STORED,
    missed_in_id uuid,
    done_on date,
    CONSTRAINT observation_age_runs_from_first CHECK ((first_recorded_on <= recorded_on)),
    CONSTRAINT observation_code CHECK ((code = ANY (ARRAY[''::text, 'C1'::text, 'C2'::text, 'FI'::text, 'C3'::text]))),
    CONSTRAINT observation_ended CHECK ((ended = ANY (ARRAY[''::text, 'remedied'::text, 'no-code'::text, 'finding'::text, 'others'::text, 'continued'::text, 'gone'::text, 'withdrawn'::text]))),
    CONSTRAINT observation_ended_has_date CHECK ((((ended = ''::text) AND (ended_on IS NULL)) OR ((NOT (ended = ''::text)) AND (ended_on IS NOT NULL)))),
    CONSTRAINT observation_says_something CHECK ((NOT (text = ''::text)))
);

CREATE TABLE public.inspections_paper (
    id uuid NOT NULL,
    duty text NOT NULL,
    what text NOT NULL,
    "to" text NOT NULL,
    owed_by text NOT NULL,
    basis text NOT NULL,
    due_on date NOT NULL,
    answer text NOT NULL,
    answered_on date,
    how text NOT NULL,
    version integer NOT NULL,
    answered_by_id uuid,
    change_id uuid,
    owner_id uuid,
    site_id uuid NOT NULL,
    unit_id uuid NOT NULL,
    about text NOT NULL,
    event_on date,
    inspection_id uuid,
    named text NOT NULL,
    superseded_at timestamp with time zone,
    superseded_why text NOT NULL,
    trigger text NOT NULL,
    work uuid,
    request_id uuid,
    CONSTRAINT paper_answer CHECK ((answer = ANY (ARRAY[''::text, 'done'::text, 'not-needed'::text, 'lapsed'::text, 'past'::text]))),
    CONSTRAINT paper_answered_when CHECK ((((answer = ''::text) AND (answered_on IS NULL)) OR ((NOT (answer = ''::text)) AND (answered_on IS NOT NULL)))),
    CONSTRAINT paper_says_how CHECK (((answer = ''::text) OR (NOT (how = ''::text)))),
    CONSTRAINT paper_superseded_is_settled CHECK (((superseded_at IS NULL) OR ((NOT (answer = ''::text)) AND (NOT (superseded_why = ''::text)))))
);

CREATE TABLE public.inspections_reading (
    id uuid NOT NULL,
    quantity text NOT NULL,
    value numeric(16,6),
    above_range boolean NOT NULL,
    unit text NOT NULL,
    limit_most numeric(16,6),
    basis text NOT NULL,
    limit_entered boolean NOT NULL,
    verdict text NOT NULL,
    instrument_in_check boolean NOT NULL,
    taken_at timestamp with time zone NOT NULL,
    circuit_id uuid,
    instrument_id uuid,
    site_id uuid NOT NULL,
    taken_by_id uuid NOT NULL,
    board_id uuid,
    edition text NOT NULL,
    equipment_connected boolean NOT NULL,
    inspection_id uuid,
    limit_least numeric(16,6),
    multiple text NOT NULL,
    no_trip boolean NOT NULL,
    ok boolean,
    places smallint,
    supply_id uuid,
    test_volts integer,
    CONSTRAINT reading_at_one_place CHECK ((((board_id IS NOT NULL) AND (supply_id IS NULL)) OR ((board_id IS NULL) AND (circuit_id IS NULL) AND (supply_id IS NOT NULL)))),
    CONSTRAINT reading_by_an_instrument CHECK (((instrument_id IS NOT NULL) OR (ok IS NOT NULL))),
    CONSTRAINT reading_multiple CHECK (((multiple = ''::text) OR ((multiple = ANY (ARRAY['0.5'::text, '1'::text, '2'::text, '5'::text])) AND (quantity = 'rcd-time'::text)))),
    CONSTRAINT reading_positive CHECK ((((value IS NULL) OR (value >= (0)::numeric)) AND ((limit_least IS NULL) OR (limit_least >= (0)::numeric)) AND ((limit_most IS NULL) OR (limit_most > (0)::numeric)))),
    CONSTRAINT reading_quantity CHECK ((quantity = ANY (ARRAY['r1-r2'::text, 'r2'::text, 'bonding'::text, 'ring-r1'::text, 'ring-rn'::text, 'ring-r2'::text, 'ring-cross-rn'::text, 'ring-cross-r2'::text, 'insulation-resistance'::text, 'polarity'::text, 'loop-impedance'::text, 'loop-impedance-board'::text, 'loop-impedance-origin'::text, 'rcd-time'::text, 'electrode-resistance'::text, 'fault-current'::text, 'functional-check'::text]))),
    CONSTRAINT reading_says_one_thing CHECK ((((NOT no_trip) AND (ok IS NULL) AND (value IS NOT NULL)) OR ((NOT above_range) AND no_trip AND (ok IS NULL) AND (quantity = 'rcd-time'::text) AND (value IS NULL)) OR ((NOT above_range) AND (NOT no_trip) AND (ok IS NOT NULL) AND (quantity = ANY (ARRAY['polarity'::text, 'functional-check'::text])) AND (value IS NULL)))),
    CONSTRAINT reading_verdict CHECK ((verdict = ANY (ARRAY['pass'::text, 'warning'::text, 'fail'::text, 'noted'::text])))
);

CREATE TABLE public.people_competence (
    id uuid NOT NULL,
    kind text NOT NULL,
    since date NOT NULL,
    until date,
    evidence text NOT NULL,
    recorded_by_id uuid,
    user_id uuid NOT NULL,
    ended boolean NOT NULL,
    CONSTRAINT competence_ends_after_start CHECK (((until IS NULL) OR (until >= since)))
);

CREATE TABLE public.people_instrument (
    id uuid NOT NULL,
    name text NOT NULL,
    serial_number text NOT NULL,
    checked_on date,
    check_due date,
    archived_at timestamp with time zone,
    version integer NOT NULL,
    CONSTRAINT instrument_has_serial_number CHECK ((NOT (serial_number = ''::text)))
);

CREATE TABLE public.people_instrumentcheck (
    id uuid NOT NULL,
    checked_on date NOT NULL,
    due date,
    result text NOT NULL,
    by_whom text NOT NULL,
    certificate text NOT NULL,
    note text NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    file_id text,
    instrument_id uuid NOT NULL,
    recorded_by_id uuid NOT NULL,
    kind text NOT NULL,
    CONSTRAINT check_due_after_check CHECK (((((result = 'failed'::text) OR (kind = 'comparison'::text)) AND (due IS NULL)) OR ((NOT (result = 'failed'::text)) AND (due >= checked_on) AND (due IS NOT NULL) AND (kind = 'calibration'::text)))),
    CONSTRAINT check_kind CHECK (((kind = 'calibration'::text) OR ((kind = 'comparison'::text) AND (result = ANY (ARRAY['passed'::text, 'failed'::text]))))),
    CONSTRAINT check_result CHECK ((result = ANY (ARRAY['passed'::text, 'adjusted'::text, 'failed'::text]))),
    CONSTRAINT check_says_by_whom CHECK ((NOT (by_whom = ''::text)))
);

CREATE TABLE public.people_instrumentfault (
    id uuid NOT NULL,
    last_good_on date NOT NULL,
    found_on date NOT NULL,
    what text NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    instrument_id uuid NOT NULL,
    recorded_by_id uuid NOT NULL,
    CONSTRAINT fault_found_after_good CHECK ((found_on >= last_good_on)),
    CONSTRAINT fault_says_what CHECK ((NOT (what = ''::text)))
);

CREATE TABLE public.people_skill (
    id uuid NOT NULL,
    name text NOT NULL,
    sort text NOT NULL,
    since date NOT NULL,
    until date,
    evidence text NOT NULL,
    recorded_by_id uuid,
    user_id uuid NOT NULL,
    ended boolean NOT NULL,
    CONSTRAINT skill_ends_after_start CHECK (((until IS NULL) OR (until >= since))),
    CONSTRAINT skill_named CHECK ((NOT (name = ''::text)))
);

CREATE TABLE public.people_user (
    password character varying(128) NOT NULL,
    last_login timestamp with time zone,
    id uuid NOT NULL,
    email character varying(254) NOT NULL,
    name text NOT NULL,
    phone text NOT NULL,
    roles text[] NOT NULL,
    subcontractor boolean NOT NULL,
    is_active boolean NOT NULL,
    version integer NOT NULL,
    apprentice boolean NOT NULL,
    home_latitude numeric(8,5),
    home_longitude numeric(8,5),
    home_postcode text NOT NULL,
    insured_until date,
    sign_in_epoch integer DEFAULT 0 NOT NULL,
    CONSTRAINT user_has_a_name CHECK ((NOT (name = ''::text))),
    CONSTRAINT user_has_known_roles CHECK (((roles <@ ARRAY['office'::text, 'engineer'::text, 'manager'::text]) AND (NOT (roles = '{}'::text[])))),
    CONSTRAINT user_home_on_earth CHECK ((((home_latitude IS NULL) AND (home_longitude IS NULL)) OR ((home_latitude >= ('-90'::integer)::numeric) AND (home_latitude <= (90)::numeric) AND ((home_longitude >= ('-180'::integer)::numeric) AND (home_longitude <= (180)::numeric)))))
);

CREATE TABLE public.premises_party (
    sort text NOT NULL,
    id uuid NOT NULL,
    name text NOT NULL,
    organisation boolean NOT NULL,
    email character varying(254) NOT NULL,
    phone text NOT NULL,
    address text NOT NULL,
    archived_at timestamp with time zone,
    version integer NOT NULL,
    erased_at timestamp with time zone,
    CONSTRAINT party_has_a_name CHECK ((NOT (name = ''::text)))
);

CREATE TABLE public.premises_site (
    sort text NOT NULL,
    id uuid NOT NULL,
    number bigint NOT NULL,
    name text NOT NULL,
    address text NOT NULL,
    postcode text NOT NULL,
    nation text NOT NULL,
    access_notes text NOT NULL,
    latitude numeric(8,5),
    longitude numeric(8,5),
    archived_at timestamp with time zone,
    version integer NOT NULL,
    customer_id uuid NOT NULL,
    merged_into_id uuid,
    CONSTRAINT site_has_a_name CHECK ((NOT (name = ''::text))),
    CONSTRAINT site_merged_is_archived CHECK (((merged_into_id IS NULL) OR (archived_at IS NOT NULL))),
    CONSTRAINT site_nation CHECK ((nation = ANY (ARRAY['england'::text, 'wales'::text, 'scotland'::text, 'northern-ireland'::text])))
);

CREATE TABLE public.premises_unit (
    sort text NOT NULL,
    id uuid NOT NULL,
    name text NOT NULL,
    kind text NOT NULL,
    tenure text NOT NULL,
    common_parts boolean NOT NULL,
    whole_site boolean NOT NULL,
    retired_at timestamp with time zone,
    version integer NOT NULL,
    site_id uuid NOT NULL,
    tenancy_granted_on date,
    CONSTRAINT unit_kind CHECK ((kind = ANY (ARRAY['house'::text, 'hmo'::text, 'communal'::text, 'commercial'::text, 'educational'::text, 'industrial'::text, 'offices'::text, 'shop'::text, 'laboratory'::text, 'hospital'::text, 'medical'::text, 'cinema'::text, 'church'::text, 'leisure'::text, 'entertainment'::text, 'hotel'::text, 'theatre'::text, 'public-house'::text, 'village-hall'::text, 'agricultural'::text, 'caravan'::text, 'caravan-park'::text, 'highway'::text, 'marina'::text, 'fish-farm'::text, 'swimming-pool'::text, 'launderette'::text, 'petrol-station'::text, 'construction-site'::text, 'other'::text]))),
    CONSTRAINT unit_tenure CHECK ((tenure = ANY (ARRAY['owner-occupied'::text, 'private-rented'::text, 'social-rented'::text, 'not-a-home'::text])))
);

CREATE TABLE public.quotes_line (
    id uuid NOT NULL,
    key uuid NOT NULL,
    "position" integer NOT NULL,
    kind text NOT NULL,
    words text NOT NULL,
    danger text NOT NULL,
    code text NOT NULL,
    cost numeric(12,2) NOT NULL,
    price numeric(12,2) NOT NULL,
    treatment text NOT NULL,
    rate numeric(5,2) NOT NULL,
    vat numeric(12,2) NOT NULL,
    certainty text NOT NULL,
    optional boolean NOT NULL,
    either text NOT NULL,
    needs uuid[] NOT NULL,
    made_at timestamp with time zone NOT NULL,
    offer_id uuid NOT NULL,
    site_id uuid,
    visits integer,
    written_in integer NOT NULL,
    CONSTRAINT line_call_out_counts_visits CHECK ((((kind = 'work'::text) AND (visits IS NULL)) OR ((kind = 'call-out'::text) AND (visits >= 1) AND (visits <= 100)))),
    CONSTRAINT line_certainty CHECK ((certainty = ANY (ARRAY['fixed'::text, 'provisional'::text, 'capped'::text]))),
    CONSTRAINT line_code CHECK ((code = ANY (ARRAY[''::text, 'C1'::text, 'C2'::text, 'C3'::text, 'FI'::text]))),
    CONSTRAINT line_kind CHECK ((kind = ANY (ARRAY['work'::text, 'call-out'::text]))),
    CONSTRAINT line_not_negative CHECK (((cost >= (0)::numeric) AND (price >= (0)::numeric) AND (vat >= (0)::numeric))),
    CONSTRAINT line_says_what CHECK ((NOT (words = ''::text))),
    CONSTRAINT line_treatment CHECK ((treatment = ANY (ARRAY['standard'::text, 'reduced'::text, 'energy-saving'::text])))
);

CREATE TABLE public.quotes_lineremedial (
    id bigint NOT NULL,
    line_id uuid NOT NULL,
    remedial_id uuid NOT NULL
);

CREATE TABLE public.quotes_offer (
    id uuid NOT NULL,
    number integer NOT NULL,
    state text NOT NULL,
    consumer boolean NOT NULL,
    vat_registered boolean NOT NULL,
    reverse_charge boolean NOT NULL,
    customer_vat_number text NOT NULL,
    cis_reportable boolean,
    end_user boolean,
    text_before text NOT NULL,
    text_after text NOT NULL,
    valid_until date,
    work_until date,
    made_at timestamp with time zone NOT NULL,
    sent_at timestamp with time zone,
    sent_how text NOT NULL,
    sent_to text NOT NULL,
    said jsonb NOT NULL,
    fingerprint text NOT NULL,
    ended_at timestamp with time zone,
    end_reason text NOT NULL,
    version integer NOT NULL,
    ended_by_id uuid,
    file_id text,
    made_by_id uuid NOT NULL,
    sent_by_id uuid,
    quote_id uuid NOT NULL,
    CONSTRAINT offer_ended CHECK (((state = ANY (ARRAY['draft'::text, 'sent'::text, 'answered'::text])) OR (ended_at IS NOT NULL))),
    CONSTRAINT offer_reverse_charge_conditions CHECK (((NOT reverse_charge) OR (cis_reportable AND (NOT consumer) AND (NOT end_user) AND vat_registered AND (NOT (customer_vat_number = ''::text))))),
    CONSTRAINT offer_sent_is_complete CHECK (((state = 'draft'::text) OR ((file_id IS NOT NULL) AND (sent_at IS NOT NULL) AND (sent_by_id IS NOT NULL) AND (valid_until IS NOT NULL) AND (NOT (fingerprint = ''::text)) AND (NOT (sent_how = ''::text))))),
    CONSTRAINT offer_state CHECK ((state = ANY (ARRAY['draft'::text, 'sent'::text, 'answered'::text, 'superseded'::text, 'withdrawn'::text]))),
    CONSTRAINT offer_withdrawn_why CHECK (((NOT (state = 'withdrawn'::text)) OR (NOT (end_reason = ''::text))))
);

CREATE TABLE public.quotes_question (
    id uuid NOT NULL,
    line_key uuid,
    reply_by date NOT NULL,
    open boolean NOT NULL,
    asked_at timestamp with time zone NOT NULL,
    owner_id uuid NOT NULL,
    quote_id uuid NOT NULL,
    closed_at timestamp with time zone,
    closed_by_id uuid,
    closed_why text NOT NULL
);

CREATE TABLE public.quotes_quote (
    id uuid NOT NULL,
    number bigint NOT NULL,
    name text NOT NULL,
    chase_on date,
    variation_why text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    made_by_id uuid NOT NULL,
    owner_id uuid NOT NULL,
    party_id uuid NOT NULL,
    variation_of_id uuid,
    CONSTRAINT quote_has_a_name CHECK ((NOT (name = ''::text))),
    CONSTRAINT quote_variation_says_why CHECK (((variation_of_id IS NULL) OR (NOT (variation_why = ''::text))))
);

CREATE TABLE public.quotes_quotesite (
    id bigint NOT NULL,
    quote_id uuid NOT NULL,
    site_id uuid NOT NULL
);

CREATE TABLE public.quotes_remark (
    id uuid NOT NULL,
    text text NOT NULL,
    name text NOT NULL,
    at timestamp with time zone NOT NULL,
    by_id uuid,
    link_id uuid,
    question_id uuid NOT NULL,
    CONSTRAINT remark_by_somebody CHECK (((by_id IS NOT NULL) OR (link_id IS NOT NULL))),
    CONSTRAINT remark_says_something CHECK (((NOT (text = ''::text)) AND (NOT (name = ''::text))))
);

CREATE TABLE public.visits_attempt (
    id uuid NOT NULL,
    how text NOT NULL,
    at timestamp with time zone NOT NULL,
    whom text NOT NULL,
    said text NOT NULL,
    got_in boolean NOT NULL,
    reply text NOT NULL,
    replied_on date,
    next_on date,
    recorded_at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    letter_id text,
    photo_id text,
    site_id uuid NOT NULL,
    unit_id uuid,
    visit_id uuid,
    CONSTRAINT attempt_how CHECK ((how = ANY (ARRAY['visit'::text, 'first-letter'::text, 'second-letter'::text, 'final-letter'::text, 'phone'::text, 'email'::text, 'text'::text, 'spoken'::text]))),
    CONSTRAINT attempt_reply_has_its_day CHECK ((((replied_on IS NULL) AND (reply = ''::text)) OR ((NOT (reply = ''::text)) AND (replied_on IS NOT NULL)))),
    CONSTRAINT attempt_whom CHECK ((NOT (whom = ''::text)))
);

CREATE TABLE public.visits_attendance (
    id bigint NOT NULL,
    start timestamp with time zone NOT NULL,
    "end" timestamp with time zone NOT NULL,
    cancelled boolean NOT NULL,
    engineer_id uuid NOT NULL,
    visit_id uuid NOT NULL,
    CONSTRAINT attendance_ends_after_start CHECK (("end" > start))
);

CREATE TABLE public.visits_checkin (
    id uuid NOT NULL,
    in_at timestamp with time zone NOT NULL,
    out_by timestamp with time zone NOT NULL,
    out_at timestamp with time zone,
    found_safe text NOT NULL,
    site_id uuid NOT NULL,
    user_id uuid NOT NULL,
    visit_id uuid NOT NULL,
    heard_at timestamp with time zone,
    said_at timestamp with time zone,
    CONSTRAINT check_in_out_later CHECK ((out_by > in_at))
);

CREATE TABLE public.visits_confirmation (
    id uuid NOT NULL,
    answered text NOT NULL,
    how text NOT NULL,
    whom text NOT NULL,
    words text NOT NULL,
    start timestamp with time zone NOT NULL,
    at timestamp with time zone NOT NULL,
    recorded_by_id uuid,
    visit_id uuid NOT NULL,
    CONSTRAINT confirmation_complete CHECK (((answered = ANY (ARRAY['asked'::text, 'confirmed'::text, 'cannot'::text])) AND (NOT (whom = ''::text))))
);

CREATE TABLE public.visits_seeto (
    id uuid NOT NULL,
    kind text NOT NULL,
    what text NOT NULL,
    by date NOT NULL,
    met_on date,
    met_how text NOT NULL,
    holds_until date,
    withdrawn_at timestamp with time zone,
    version integer NOT NULL,
    owner_id uuid NOT NULL,
    remedial_id uuid,
    site_id uuid NOT NULL,
    unit_id uuid,
    CONSTRAINT see_to_met_how CHECK ((((met_how = ''::text) AND (met_on IS NULL)) OR ((met_on IS NOT NULL) AND (NOT (met_how = ''::text))))),
    CONSTRAINT see_to_what CHECK (((kind = ANY (ARRAY['asbestos'::text, 'height'::text, 'permit'::text, 'plan'::text, 'term'::text, 'other'::text])) AND (NOT (what = ''::text))))
);

CREATE TABLE public.visits_sitekey (
    id uuid NOT NULL,
    tag text NOT NULL,
    what text NOT NULL,
    held_for text NOT NULL,
    place text NOT NULL,
    back_by date,
    given_back_at timestamp with time zone,
    version integer NOT NULL,
    out_to_id uuid,
    site_id uuid NOT NULL,
    CONSTRAINT key_back_by_if_out CHECK (((out_to_id IS NOT NULL) OR (back_by IS NULL))),
    CONSTRAINT key_given_back_is_not_out CHECK (((given_back_at IS NULL) OR (out_to_id IS NULL))),
    CONSTRAINT key_named CHECK (((NOT (tag = ''::text)) AND (NOT (what = ''::text))))
);

CREATE TABLE public.visits_timesoffer (
    id uuid NOT NULL,
    access text NOT NULL,
    outage text NOT NULL,
    state text NOT NULL,
    answer_by date NOT NULL,
    words text NOT NULL,
    answered_at timestamp with time zone,
    made_at timestamp with time zone NOT NULL,
    version integer NOT NULL,
    made_by_id uuid NOT NULL,
    party_id uuid,
    site_id uuid NOT NULL,
    unit_id uuid,
    visit_id uuid,
    despite text NOT NULL,
    CONSTRAINT times_offer_state CHECK ((state = ANY (ARRAY['open'::text, 'chosen'::text, 'none-suits'::text, 'withdrawn'::text]))),
    CONSTRAINT times_offer_visit CHECK (((NOT (state = 'chosen'::text)) OR (visit_id IS NOT NULL)))
);

CREATE TABLE public.visits_timesoffer_remedials (
    id bigint NOT NULL,
    timesoffer_id uuid NOT NULL,
    remedial_id uuid NOT NULL
);

CREATE TABLE public.visits_visit (
    id uuid NOT NULL,
    number bigint NOT NULL,
    start timestamp with time zone NOT NULL,
    "end" timestamp with time zone NOT NULL,
    state text NOT NULL,
    access text NOT NULL,
    outage text NOT NULL,
    booked_at timestamp with time zone NOT NULL,
    cancelled_reason text NOT NULL,
    version integer NOT NULL,
    booked_by_id uuid NOT NULL,
    site_id uuid NOT NULL,
    answered text NOT NULL,
    confirm_by date,
    despite text NOT NULL,
    emergency boolean NOT NULL,
    locks text NOT NULL,
    outage_end timestamp with time zone,
    outage_start timestamp with time zone,
    outage_with text NOT NULL,
    permits text NOT NULL,
    CONSTRAINT visit_answered CHECK ((answered = ANY (ARRAY['not-asked'::text, 'asked'::text, 'confirmed'::text, 'cannot'::text]))),
    CONSTRAINT visit_cancelled_why CHECK (((NOT (state = 'cancelled'::text)) OR (NOT (cancelled_reason = ''::text)))),
    CONSTRAINT visit_ends_after_start CHECK (("end" > start)),
    CONSTRAINT visit_outage_ends_after_start CHECK ((((outage_end IS NULL) AND (outage_start IS NULL)) OR (outage_end > outage_start))),
    CONSTRAINT visit_state CHECK ((state = ANY (ARRAY['booked'::text, 'cancelled'::text])))
);

CREATE TABLE public.visits_visitline (
    id bigint NOT NULL,
    active boolean NOT NULL,
    remedial_id uuid,
    visit_id uuid NOT NULL,
    kind text NOT NULL,
    observation_id uuid,
    settled_at timestamp with time zone,
    unit_id uuid,
    CONSTRAINT visit_line_one_thing CHECK ((((kind = 'remedial'::text) AND (observation_id IS NULL) AND (remedial_id IS NOT NULL) AND (unit_id IS NULL)) OR ((kind = 'inspection'::text) AND (observation_id IS NULL) AND (remedial_id IS NULL) AND (unit_id IS NOT NULL)) OR ((kind = ANY (ARRAY['look-again'::text, 'call-out'::text])) AND (observation_id IS NOT NULL) AND (remedial_id IS NULL) AND (unit_id IS NULL))))
);

CREATE TABLE public.works_recalldecision (
    id uuid NOT NULL,
    decision text NOT NULL,
    reason text NOT NULL,
    at timestamp with time zone NOT NULL,
    replaced_at timestamp with time zone,
    by_id uuid NOT NULL,
    fault_id uuid NOT NULL,
    reading_id uuid NOT NULL,
    CONSTRAINT recall_decision CHECK ((decision = ANY (ARRAY['again'::text, 'kept'::text]))),
    CONSTRAINT recall_says_why CHECK ((NOT (reason = ''::text)))
);

CREATE TABLE public.works_remedial (
    id uuid NOT NULL,
    number bigint NOT NULL,
    work text NOT NULL,
    stage text NOT NULL,
    skill text NOT NULL,
    minutes integer,
    power_off boolean,
    see_to_first text NOT NULL,
    photo_required boolean NOT NULL,
    certificate_kind text NOT NULL,
    notifiable boolean NOT NULL,
    step_by date,
    made_at timestamp with time zone NOT NULL,
    version integer NOT NULL,
    call_back_of_id uuid,
    made_by_id uuid NOT NULL,
    owner_id uuid,
    site_id uuid NOT NULL,
    unit_id uuid NOT NULL,
    crew integer NOT NULL,
    parts_ready_on date,
    network text NOT NULL,
    CONSTRAINT remedial_crew CHECK (((crew >= 1) AND (crew <= 20))),
    CONSTRAINT remedial_minutes CHECK (((minutes IS NULL) OR (minutes > 0))),
    CONSTRAINT remedial_network CHECK ((network = ANY (ARRAY[''::text, 'generation'::text, 'charging-point'::text]))),
    CONSTRAINT remedial_says_what CHECK ((NOT (work = ''::text))),
    CONSTRAINT remedial_stage CHECK ((stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text, 'done'::text, 'reviewed'::text, 'declined'::text, 'cancelled'::text, 'by-others'::text])))
);

CREATE TABLE public.works_remedies (
    id bigint NOT NULL,
    observation_id uuid NOT NULL,
    remedial_id uuid NOT NULL
);

CREATE TABLE public.works_waiting (
    id uuid NOT NULL,
    on_whom text NOT NULL,
    for_what text NOT NULL,
    reference text NOT NULL,
    asked_on date NOT NULL,
    promised_for date,
    chase_on date NOT NULL,
    ended_at timestamp with time zone,
    ended_how text NOT NULL,
    observation_id uuid,
    owner_id uuid,
    recorded_by_id uuid NOT NULL,
    remedial_id uuid,
    site_id uuid NOT NULL,
    CONSTRAINT waiting_complete CHECK (((NOT (on_whom = ''::text)) AND (NOT (for_what = ''::text)))),
    CONSTRAINT waiting_of_something CHECK (((observation_id IS NOT NULL) OR (remedial_id IS NOT NULL)))
);

CREATE TABLE public.works_wayout (
    id uuid NOT NULL,
    stage text NOT NULL,
    who text NOT NULL,
    reason text NOT NULL,
    "on" date NOT NULL,
    offer_again_on date,
    reference text NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    file_id text,
    recorded_by_id uuid,
    remedial_id uuid NOT NULL,
    taken_back_at timestamp with time zone,
    looked_by_id uuid,
    looked_on date,
    CONSTRAINT way_out_complete CHECK (((stage = ANY (ARRAY['declined'::text, 'cancelled'::text, 'by-others'::text])) AND (NOT (who = ''::text)))),
    CONSTRAINT way_out_looked_at CHECK ((((looked_by_id IS NULL) AND (looked_on IS NULL)) OR ((looked_by_id IS NOT NULL) AND (looked_on IS NOT NULL) AND (stage = 'by-others'::text))))
);

CREATE VIEW public.due_list AS
 SELECT r.kind,
    r.ref,
    r.site_id,
    r.unit_id,
    r.observation,
    r.remedial,
    r.board,
    r.code,
    r.rank,
    r.made_safe,
    (r.loose_else OR (r.weighs AND ((NOT COALESCE(w.is_active, false)) OR ((r.due = '9999-12-31'::date) AND (u.id IS NULL))))) AS loose,
    r.subject,
    r.next_step,
    r.rule,
    COALESCE(u.by_id, r.owner_id) AS owner_id,
    r.waits_on,
        CASE
            WHEN (r.due = '9999-12-31'::date) THEN COALESCE(u.until, r.due)
            ELSE r.due
        END AS due,
    r.shows_from,
    r.first_recorded_on,
    r.remedy_by,
    r.quote,
    r.shows_until,
    r.visit,
    r.person,
    u.until AS in_hand_until,
    u.reason AS in_hand_why,
    r.owner_id AS own_owner_id,
    r.not_before,
    r.lacking
   FROM ((( SELECT 'uncoded'::text AS kind,
            o.id AS ref,
            o.site_id,
            o.unit_id,
            o.id AS observation,
            NULL::uuid AS remedial,
            o.board_id AS board,
            o.code,
            0 AS rank,
            o.made_safe,
            false AS weighs,
            false AS loose_else,
            o.text AS subject,
            COALESCE((('Booked for '::text || b.said) || ': look at it and have it coded'::text), 'Have it coded by a qualified person'::text) AS next_step,
            'Nobody competent has looked at it yet'::text AS rule,
            COALESCE(b.lead, o.owner_id) AS owner_id,
            ''::text AS waits_on,
            LEAST(b."on", COALESCE(o.step_by, o.recorded_on)) AS due,
            '0001-01-01'::date AS shows_from,
            o.first_recorded_on,
            o.remedy_by,
            NULL::uuid AS quote,
            '9999-12-31'::date AS shows_until,
            b.id AS visit,
            NULL::uuid AS person,
            '0001-01-01'::date AS not_before,
            false AS lacking
           FROM ((public.inspections_observation o
             JOIN public.premises_site s ON (((s.id = o.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN LATERAL ( SELECT v.id,
                    d."on",
                    to_char((d."on")::timestamp with time zone, 'FMDD Mon YYYY'::text) AS said,
                    ( SELECT a.engineer_id
                           FROM (public.visits_attendance a
                             JOIN public.people_user p ON (((p.id = a.engineer_id) AND p.is_active)))
                          WHERE ((a.visit_id = v.id) AND (NOT a.cancelled))
                          ORDER BY a.id
                         LIMIT 1) AS lead
                   FROM ((public.visits_visitline l
                     JOIN public.visits_visit v ON (((v.id = l.visit_id) AND (v.state = 'booked'::text))))
                     CROSS JOIN LATERAL ( SELECT ((v.start AT TIME ZONE 'Europe/London'::text))::date AS "on") d)
                  WHERE ((l.observation_id = o.id) AND (l.kind = 'call-out'::text) AND l.active AND (l.settled_at IS NULL))
                 LIMIT 1) b ON (true))
          WHERE ((o.ended = ''::text) AND (NOT o.draft) AND (o.code = ''::text))
        UNION ALL
         SELECT 'decide'::text AS text,
            o.id,
            o.site_id,
            o.unit_id,
            o.id,
            NULL::uuid AS uuid,
            o.board_id,
            o.code,
                CASE o.code
                    WHEN 'C1'::text THEN 4
                    WHEN 'C2'::text THEN 3
                    WHEN 'FI'::text THEN 2
                    ELSE 1
                END AS "case",
            o.made_safe,
            (o.code <> 'C3'::text),
            false,
            o.text,
                CASE
                    WHEN ((o.code = 'C1'::text) AND (NOT o.made_safe)) THEN 'Make it safe, then decide what it needs'::text
                    WHEN (o.code = 'FI'::text) THEN 'Decide how to investigate it'::text
                    ELSE 'Decide what it needs'::text
                END AS "case",
            o.remedy_basis,
            o.owner_id,
            ''::text AS text,
            COALESCE(o.step_by, '9999-12-31'::date) AS "coalesce",
            '0001-01-01'::date AS date,
            o.first_recorded_on,
            o.remedy_by,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            o.step_by,
            ((o.owner_id IS NULL) OR (o.step_by IS NULL))
           FROM (public.inspections_observation o
             JOIN public.premises_site s ON (((s.id = o.site_id) AND (s.archived_at IS NULL))))
          WHERE ((o.ended = ''::text) AND (NOT o.draft) AND (o.code <> ''::text) AND (NOT (EXISTS ( SELECT 1
                   FROM (public.works_remedies l
                     JOIN public.works_remedial m ON ((m.id = l.remedial_id)))
                  WHERE ((l.observation_id = o.id) AND ((m.stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text, 'declined'::text])) OR ((m.stage = 'done'::text) AND (m.step_by IS NOT NULL))))))) AND (NOT (EXISTS ( SELECT 1
                   FROM public.works_waiting w_1
                  WHERE ((w_1.observation_id = o.id) AND (w_1.ended_at IS NULL))))))
        UNION ALL
         SELECT
                CASE m.stage
                    WHEN 'to-price'::text THEN 'price'::text
                    WHEN 'quoted'::text THEN 'answer'::text
                    WHEN 'approved'::text THEN 'book'::text
                    WHEN 'booked'::text THEN 'visit'::text
                    ELSE 'review'::text
                END AS "case",
            m.id,
            m.site_id,
            m.unit_id,
            o.id,
            m.id,
            o.board_id,
            o.code,
            o.rank,
            o.made_safe,
            (o.rank >= 2),
            ((o.rank >= 2) AND (m.stage = 'booked'::text) AND (v.id IS NULL)),
            m.work,
                CASE m.stage
                    WHEN 'to-price'::text THEN 'Price the work and get an answer'::text
                    WHEN 'quoted'::text THEN COALESCE(((('Get an answer to quote '::text || q.number) || ', which stands until '::text) || to_char((q.valid_until)::timestamp with time zone, 'FMDD Mon YYYY'::text)), 'Chase the answer to the quote'::text)
                    WHEN 'approved'::text THEN COALESCE(('Book the work: parts are ready on '::text || to_char((m.parts_ready_on)::timestamp with time zone, 'FMDD Mon YYYY'::text)), 'Book the work'::text)
                    WHEN 'booked'::text THEN 'Do the work and close it with proof'::text
                    ELSE 'Review the proof'::text
                END AS "case",
            o.remedy_basis,
            m.owner_id,
            ''::text AS text,
                CASE
                    WHEN (m.step_by IS NULL) THEN '9999-12-31'::date
                    WHEN ((m.stage = 'approved'::text) AND (m.parts_ready_on IS NOT NULL)) THEN GREATEST(m.step_by, LEAST(m.parts_ready_on, o.remedy_by))
                    ELSE m.step_by
                END AS step_by,
            '0001-01-01'::date AS date,
            o.first_recorded_on,
            o.remedy_by,
            q.id,
            '9999-12-31'::date AS date,
            v.visit_id,
            NULL::uuid AS uuid,
            m.step_by,
            ((m.owner_id IS NULL) OR (m.step_by IS NULL))
           FROM ((((public.works_remedial m
             JOIN public.premises_site s ON (((s.id = m.site_id) AND (s.archived_at IS NULL))))
             CROSS JOIN LATERAL ( SELECT o_1.id,
                    o_1.board_id,
                    o_1.code,
                    o_1.made_safe,
                    first_value(o_1.remedy_basis) OVER soonest AS remedy_basis,
                    o_1.first_recorded_on,
                    first_value(o_1.remedy_by) OVER soonest AS remedy_by,
                        CASE o_1.code
                            WHEN 'C1'::text THEN 4
                            WHEN 'C2'::text THEN 3
                            WHEN 'FI'::text THEN 2
                            WHEN 'C3'::text THEN 1
                            ELSE 0
                        END AS rank
                   FROM (public.works_remedies l
                     JOIN public.inspections_observation o_1 ON ((o_1.id = l.observation_id)))
                  WHERE ((l.remedial_id = m.id) AND (o_1.ended = ''::text) AND (NOT o_1.draft))
                  WINDOW soonest AS (ORDER BY o_1.remedy_by, o_1.first_recorded_on, o_1.id)
                  ORDER BY
                        CASE o_1.code
                            WHEN 'C1'::text THEN 4
                            WHEN 'C2'::text THEN 3
                            WHEN 'FI'::text THEN 2
                            WHEN 'C3'::text THEN 1
                            ELSE 0
                        END DESC, o_1.made_safe, o_1.first_recorded_on, o_1.id
                 LIMIT 1) o)
             LEFT JOIN LATERAL ( SELECT q_1.id,
                    q_1.number,
                    f.valid_until
                   FROM (((public.quotes_lineremedial r_1
                     JOIN public.quotes_line l ON ((l.id = r_1.line_id)))
                     JOIN public.quotes_offer f ON (((f.id = l.offer_id) AND (f.state = 'sent'::text))))
                     JOIN public.quotes_quote q_1 ON ((q_1.id = f.quote_id)))
                  WHERE ((m.stage = 'quoted'::text) AND (r_1.remedial_id = m.id))
                  ORDER BY q_1.chase_on, q_1.id
                 LIMIT 1) q ON (true))
             LEFT JOIN public.visits_visitline v ON (((v.remedial_id = m.id) AND v.active AND (m.stage = 'booked'::text))))
          WHERE ((m.stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text])) OR ((m.stage = 'done'::text) AND (m.step_by IS NOT NULL)))
        UNION ALL
         SELECT 'offer-again'::text AS text,
            o.id,
            o.site_id,
            o.unit_id,
            o.id,
            m.id,
            o.board_id,
            o.code,
                CASE o.code
                    WHEN 'C1'::text THEN 4
                    WHEN 'C2'::text THEN 3
                    WHEN 'FI'::text THEN 2
                    WHEN 'C3'::text THEN 1
                    ELSE 0
                END AS "case",
            o.made_safe,
            (o.code = ANY (ARRAY['C1'::text, 'C2'::text, 'FI'::text])),
            false,
            o.text,
            'Offer the work again: it was declined'::text AS text,
            o.remedy_basis,
            m.owner_id,
            ''::text AS text,
            COALESCE(m.offer_again_on, '9999-12-31'::date) AS "coalesce",
            '0001-01-01'::date AS date,
            o.first_recorded_on,
            o.remedy_by,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.inspections_observation o
             JOIN public.premises_site s ON (((s.id = o.site_id) AND (s.archived_at IS NULL))))
             CROSS JOIN LATERAL ( SELECT m_1.id,
                    m_1.owner_id,
                    w_1.offer_again_on
                   FROM ((public.works_remedies l
                     JOIN public.works_remedial m_1 ON (((m_1.id = l.remedial_id) AND (m_1.stage = 'declined'::text))))
                     LEFT JOIN LATERAL ( SELECT w_2.offer_again_on
                           FROM public.works_wayout w_2
                          WHERE ((w_2.remedial_id = m_1.id) AND (w_2.stage = 'declined'::text) AND (w_2.taken_back_at IS NULL))
                          ORDER BY w_2.recorded_at DESC, w_2.id
                         LIMIT 1) w_1 ON (true))
                  WHERE (l.observation_id = o.id)
                  ORDER BY w_1.offer_again_on, m_1.id
                 LIMIT 1) m)
          WHERE ((o.ended = ''::text) AND (NOT o.draft) AND (EXISTS ( SELECT 1
                   FROM (public.works_remedies l
                     JOIN public.works_remedial d ON (((d.id = l.remedial_id) AND (d.stage = 'declined'::text))))
                  WHERE (l.observation_id = o.id))) AND (NOT (EXISTS ( SELECT 1
                   FROM (public.works_remedies l
                     JOIN public.works_remedial c ON ((c.id = l.remedial_id)))
                  WHERE ((l.observation_id = o.id) AND ((c.stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text])) OR ((c.stage = 'done'::text) AND (c.step_by IS NOT NULL))))))))
        UNION ALL
         SELECT 'look-again'::text AS text,
            k.id,
            o.site_id,
            o.unit_id,
            o.id,
            NULL::uuid AS uuid,
            o.board_id,
            o.code,
                CASE o.code
                    WHEN 'C1'::text THEN 4
                    WHEN 'C2'::text THEN 3
                    WHEN 'FI'::text THEN 2
                    WHEN 'C3'::text THEN 1
                    ELSE 0
                END AS "case",
            o.made_safe,
            false,
            false,
            o.text,
            COALESCE((('Booked for '::text || b.said) || ': look again at what was made safe'::text), 'Look again at what was made safe'::text) AS "coalesce",
            'Made safe is temporary: the defect is still open'::text AS text,
            COALESCE(b.lead, k.looker_id, o.owner_id) AS "coalesce",
            ''::text AS text,
            LEAST(b."on", k.look_again_on) AS "least",
            '0001-01-01'::date AS date,
            o.first_recorded_on,
            o.remedy_by,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            b.id,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM (((public.inspections_madesafe k
             JOIN public.inspections_observation o ON (((o.id = k.observation_id) AND (o.ended = ''::text) AND (NOT o.draft))))
             JOIN public.premises_site s ON (((s.id = o.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN LATERAL ( SELECT v.id,
                    d."on",
                    to_char((d."on")::timestamp with time zone, 'FMDD Mon YYYY'::text) AS said,
                    ( SELECT a.engineer_id
                           FROM (public.visits_attendance a
                             JOIN public.people_user p ON (((p.id = a.engineer_id) AND p.is_active)))
                          WHERE ((a.visit_id = v.id) AND (NOT a.cancelled))
                          ORDER BY a.id
                         LIMIT 1) AS lead
                   FROM ((public.visits_visitline l
                     JOIN public.visits_visit v ON (((v.id = l.visit_id) AND (v.state = 'booked'::text))))
                     CROSS JOIN LATERAL ( SELECT ((v.start AT TIME ZONE 'Europe/London'::text))::date AS "on") d)
                  WHERE ((l.observation_id = o.id) AND (l.kind = 'look-again'::text) AND l.active AND (l.settled_at IS NULL))
                 LIMIT 1) b ON (true))
          WHERE (k.ended = ''::text)
        UNION ALL
         SELECT 'chase'::text AS text,
            w_1.id,
            w_1.site_id,
            COALESCE(o.unit_id, m.unit_id) AS "coalesce",
            o.id,
            m.id,
            o.board_id,
            COALESCE(o.code, ''::text) AS "coalesce",
            COALESCE(o.rank, 0) AS "coalesce",
            COALESCE(o.made_safe, false) AS "coalesce",
            (COALESCE(o.rank, 0) >= 2),
            false,
            w_1.for_what,
            'Chase it'::text AS text,
            'Waiting on somebody outside'::text AS text,
            w_1.owner_id,
            w_1.on_whom,
            w_1.chase_on,
            '0001-01-01'::date AS date,
            o.first_recorded_on,
            o.remedy_by,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM (((public.works_waiting w_1
             JOIN public.premises_site s ON (((s.id = w_1.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN public.works_remedial m ON ((m.id = w_1.remedial_id)))
             LEFT JOIN LATERAL ( SELECT o_1.id,
                    o_1.unit_id,
                    o_1.board_id,
                    o_1.code,
                    o_1.made_safe,
                    o_1.first_recorded_on,
                    min(o_1.remedy_by) OVER () AS remedy_by,
                        CASE o_1.code
                            WHEN 'C1'::text THEN 4
                            WHEN 'C2'::text THEN 3
                            WHEN 'FI'::text THEN 2
                            WHEN 'C3'::text THEN 1
                            ELSE 0
                        END AS rank
                   FROM public.inspections_observation o_1
                  WHERE ((o_1.ended = ''::text) AND (NOT o_1.draft) AND ((o_1.id = w_1.observation_id) OR (o_1.id IN ( SELECT l.observation_id
                           FROM public.works_remedies l
                          WHERE (l.remedial_id = w_1.remedial_id)))))
                  ORDER BY
                        CASE o_1.code
                            WHEN 'C1'::text THEN 4
                            WHEN 'C2'::text THEN 3
                            WHEN 'FI'::text THEN 2
                            WHEN 'C3'::text THEN 1
                            ELSE 0
                        END DESC, o_1.made_safe, o_1.first_recorded_on, o_1.id
                 LIMIT 1) o ON (true))
          WHERE ((w_1.ended_at IS NULL) AND ((w_1.observation_id IS NULL) OR (o.id IS NOT NULL)) AND ((m.id IS NULL) OR (m.stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text, 'done'::text]))))
        UNION ALL
         SELECT 'inspection'::text AS text,
            d.unit_id,
            t.site_id,
            t.id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
                CASE
                    WHEN t.whole_site THEN 'Next inspection'::text
                    ELSE ('Next inspection of '::text || t.name)
                END AS "case",
            'Offer and book the next inspection'::text AS text,
            d.basis,
            d.owner_id,
            ''::text AS text,
            d.due_on,
            d.shows_from,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            d.due_on,
            false
           FROM ((public.inspections_inspectiondue d
             JOIN public.premises_unit t ON (((t.id = d.unit_id) AND (t.retired_at IS NULL))))
             JOIN public.premises_site s ON (((s.id = t.site_id) AND (s.archived_at IS NULL))))
          WHERE (NOT (EXISTS ( SELECT 1
                   FROM (public.visits_visitline l
                     JOIN public.visits_visit v ON (((v.id = l.visit_id) AND (v.state = 'booked'::text))))
                  WHERE ((l.unit_id = d.unit_id) AND l.active AND (l.settled_at IS NULL)))))
        UNION ALL
         SELECT 'inspection'::text AS text,
            d.unit_id,
            t.site_id,
            t.id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
                CASE
                    WHEN t.whole_site THEN 'Next inspection'::text
                    ELSE ('Next inspection of '::text || t.name)
                END AS "case",
            ((('Booked for '::text || to_char((b."on")::timestamp with time zone, 'FMDD Mon YYYY'::text)) ||
                CASE
                    WHEN (b."on" > d.due_on) THEN ', after it is due'::text
                    ELSE ''::text
                END) || ': do it and record it'::text),
            d.basis,
            COALESCE(( SELECT a.engineer_id
                   FROM (public.visits_attendance a
                     JOIN public.people_user p ON (((p.id = a.engineer_id) AND p.is_active)))
                  WHERE ((a.visit_id = v.id) AND (NOT a.cancelled))
                  ORDER BY a.id
                 LIMIT 1), d.owner_id) AS "coalesce",
            ''::text AS text,
            b."on",
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            v.id,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM (((((public.visits_visitline l
             JOIN public.visits_visit v ON (((v.id = l.visit_id) AND (v.state = 'booked'::text))))
             CROSS JOIN LATERAL ( SELECT ((v.start AT TIME ZONE 'Europe/London'::text))::date AS "on") b)
             JOIN public.inspections_inspectiondue d ON ((d.unit_id = l.unit_id)))
             JOIN public.premises_unit t ON (((t.id = d.unit_id) AND (t.retired_at IS NULL))))
             JOIN public.premises_site s ON (((s.id = t.site_id) AND (s.archived_at IS NULL))))
          WHERE (l.active AND (l.settled_at IS NULL))
        UNION ALL
         SELECT 'draft'::text AS text,
            i.id,
            i.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            COALESCE(worst.code, ''::text) AS "coalesce",
            COALESCE(worst.rank, 0) AS "coalesce",
            false,
            (COALESCE(worst.rank, 0) >= 2),
            false,
            COALESCE(worst.text, 'Nothing entered yet'::text) AS "coalesce",
            'Finish the report and issue it'::text AS text,
            'What a draft holds is in force only when it is issued'::text AS text,
            i.recorded_by_id,
            ''::text AS text,
            ((i.recorded_at AT TIME ZONE 'Europe/London'::text))::date AS timezone,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.inspections_inspection i
             JOIN public.premises_site s ON (((s.id = i.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN LATERAL ( SELECT o.code,
                    o.text,
                        CASE o.code
                            WHEN 'C1'::text THEN 4
                            WHEN 'C2'::text THEN 3
                            WHEN 'FI'::text THEN 2
                            WHEN 'C3'::text THEN 1
                            ELSE 0
                        END AS rank
                   FROM public.inspections_observation o
                  WHERE ((o.inspection_id = i.id) AND o.draft)
                  ORDER BY
                        CASE o.code
                            WHEN 'C1'::text THEN 4
                            WHEN 'C2'::text THEN 3
                            WHEN 'FI'::text THEN 2
                            WHEN 'C3'::text THEN 1
                            ELSE 0
                        END DESC, o.id
                 LIMIT 1) worst ON (true))
          WHERE (i.state = 'draft'::text)
        UNION ALL
         SELECT 'nothing-left'::text AS text,
            m.id,
            m.site_id,
            m.unit_id,
            NULL::uuid AS uuid,
            m.id,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            m.work,
                CASE m.stage
                    WHEN 'done'::text THEN 'Look at its proof: what it was to put right ended otherwise, or was found again'::text
                    ELSE 'Call it off: nothing is left to put right'::text
                END AS "case",
            'Its observations are no longer open'::text AS text,
            m.owner_id,
            ''::text AS text,
            m.step_by,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            v.visit_id,
            NULL::uuid AS uuid,
            m.step_by,
            false
           FROM ((public.works_remedial m
             JOIN public.premises_site s ON (((s.id = m.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN public.visits_visitline v ON (((v.remedial_id = m.id) AND v.active AND (m.stage = 'booked'::text))))
          WHERE ((m.stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text, 'done'::text])) AND (m.step_by IS NOT NULL) AND (NOT (EXISTS ( SELECT 1
                   FROM (public.works_remedies l
                     JOIN public.inspections_observation o ON ((o.id = l.observation_id)))
                  WHERE ((l.remedial_id = m.id) AND (o.ended = ''::text) AND (NOT o.draft))))))
        UNION ALL
         SELECT 'nothing-left'::text AS text,
            m.id,
            m.site_id,
            m.unit_id,
            NULL::uuid AS uuid,
            m.id,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            m.work,
                CASE m.stage
                    WHEN 'done'::text THEN 'Look at its proof: what it was to put right ended otherwise, or was found again'::text
                    ELSE 'Call it off: nothing is left to put right'::text
                END AS "case",
            'Its observations are no longer open'::text AS text,
            m.owner_id,
            ''::text AS text,
            ((m.made_at AT TIME ZONE 'Europe/London'::text))::date AS timezone,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            v.visit_id,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.works_remedial m
             JOIN public.premises_site s ON (((s.id = m.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN public.visits_visitline v ON (((v.remedial_id = m.id) AND v.active AND (m.stage = 'booked'::text))))
          WHERE ((m.stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text])) AND (m.step_by IS NULL) AND (NOT (EXISTS ( SELECT 1
                   FROM (public.works_remedies l
                     JOIN public.inspections_observation o ON ((o.id = l.observation_id)))
                  WHERE ((l.remedial_id = m.id) AND (o.ended = ''::text) AND (NOT o.draft))))))
        UNION ALL
         SELECT 'codes'::text AS text,
            i.id,
            i.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            (((
                CASE w_1.many
                    WHEN 1 THEN '1 code to decide'::text
                    ELSE (w_1.many || ' codes to decide'::text)
                END || ' in report '::text) || i.number) || COALESCE((' of '::text || NULLIF(i.firm_name, ''::text)), ''::text)),
            'Review the codes of another firm'::text AS text,
            'Another firm''s codes are looked at by a qualified person of ours'::text AS text,
            i.issued_by_id,
            ''::text AS text,
            COALESCE(i.codes_by, ((i.issued_at AT TIME ZONE 'Europe/London'::text))::date) AS "coalesce",
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.inspections_inspection i
             JOIN public.premises_site s ON (((s.id = i.site_id) AND (s.archived_at IS NULL))))
             CROSS JOIN LATERAL ( SELECT count(*) AS many
                   FROM public.inspections_observation o
                  WHERE ((o.inspection_id = i.id) AND (o.ended = ''::text) AND (NOT o.draft) AND (o.code <> ''::text) AND (NOT o.reviewed))) w_1)
          WHERE ((i.state = 'issued'::text) AND i.other_firm AND (w_1.many > 0))
        UNION ALL
         SELECT
                CASE p.owed_by
                    WHEN 'firm'::text THEN 'notification'::text
                    ELSE 'paper'::text
                END AS "case",
            p.id,
            p.site_id,
            p.unit_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ((p.what || COALESCE((' to '::text || NULLIF(p."to", ''::text)), ''::text)) || COALESCE((': '::text || NULLIF(p.about, ''::text)), ''::text)),
                CASE p.owed_by
                    WHEN 'firm'::text THEN 'Send it, and say when and how'::text
                    ELSE 'See that it is given, and say when'::text
                END AS "case",
            p.basis,
            p.owner_id,
            ''::text AS text,
            p.due_on,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            p.due_on,
            false
           FROM ((public.inspections_paper p
             LEFT JOIN public.premises_unit t ON ((t.id = p.unit_id)))
             JOIN public.premises_site s ON (((s.id = p.site_id) AND (s.archived_at IS NULL))))
          WHERE ((p.answer = ''::text) AND (t.retired_at IS NULL))
        UNION ALL
         SELECT 'quote'::text AS text,
            q.id,
            w_1.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            q.name,
            ((('Get an answer to quote '::text || q.number) || ', which stands until '::text) || to_char((f.valid_until)::timestamp with time zone, 'FMDD Mon YYYY'::text)),
            'What is with the customer is chased before it lapses'::text AS text,
            q.owner_id,
            ''::text AS text,
            COALESCE(q.chase_on, '9999-12-31'::date) AS "coalesce",
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            q.id,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            q.chase_on,
            false
           FROM ((public.quotes_offer f
             JOIN public.quotes_quote q ON ((q.id = f.quote_id)))
             CROSS JOIN LATERAL ( SELECT w_2.site_id
                   FROM (public.quotes_quotesite w_2
                     JOIN public.premises_site s ON (((s.id = w_2.site_id) AND (s.archived_at IS NULL))))
                  WHERE (w_2.quote_id = q.id)
                  ORDER BY w_2.site_id
                 LIMIT 1) w_1)
          WHERE ((f.state = 'sent'::text) AND (NOT (EXISTS ( SELECT 1
                   FROM (((public.quotes_line l
                     JOIN public.quotes_lineremedial r_1 ON ((r_1.line_id = l.id)))
                     JOIN public.works_remedial m ON (((m.id = r_1.remedial_id) AND (m.stage = 'quoted'::text))))
                     JOIN public.premises_site s ON (((s.id = m.site_id) AND (s.archived_at IS NULL))))
                  WHERE ((l.offer_id = f.id) AND (EXISTS ( SELECT 1
                           FROM (public.works_remedies i
                             JOIN public.inspections_observation o ON ((o.id = i.observation_id)))
                          WHERE ((i.remedial_id = m.id) AND (o.ended = ''::text) AND (NOT o.draft))
                         OFFSET 0)))
                 OFFSET 0))))
        UNION ALL
         SELECT 'question'::text AS text,
            n.id,
            w_1.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            COALESCE(worst.rank, 0) AS "coalesce",
            false,
            (COALESCE(worst.rank, 0) >= 2),
            false,
            (('Quote '::text || q.number) || COALESCE((': '::text || said.text), ''::text)),
            'Answer the question about the quote'::text AS text,
            'The customer waits for it before saying yes or no'::text AS text,
            n.owner_id,
            ''::text AS text,
            n.reply_by,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            q.id,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((((public.quotes_question n
             JOIN public.quotes_quote q ON ((q.id = n.quote_id)))
             CROSS JOIN LATERAL ( SELECT w_2.site_id
                   FROM (public.quotes_quotesite w_2
                     JOIN public.premises_site s ON (((s.id = w_2.site_id) AND (s.archived_at IS NULL))))
                  WHERE (w_2.quote_id = q.id)
                  ORDER BY w_2.site_id
                 LIMIT 1) w_1)
             LEFT JOIN LATERAL ( SELECT r_1.text
                   FROM public.quotes_remark r_1
                  WHERE (r_1.question_id = n.id)
                  ORDER BY r_1.at DESC, r_1.id DESC
                 LIMIT 1) said ON (true))
             LEFT JOIN LATERAL ( SELECT
                        CASE l.code
                            WHEN 'C1'::text THEN 4
                            WHEN 'C2'::text THEN 3
                            WHEN 'FI'::text THEN 2
                            WHEN 'C3'::text THEN 1
                            ELSE 0
                        END AS rank
                   FROM (public.quotes_offer f
                     JOIN public.quotes_line l ON ((l.offer_id = f.id)))
                  WHERE ((f.quote_id = q.id) AND (f.state <> 'draft'::text) AND ((n.line_key IS NULL) OR (l.key = n.line_key)))
                  ORDER BY f.number DESC,
                        CASE l.code
                            WHEN 'C1'::text THEN 4
                            WHEN 'C2'::text THEN 3
                            WHEN 'FI'::text THEN 2
                            WHEN 'C3'::text THEN 1
                            ELSE 0
                        END DESC
                 LIMIT 1) worst ON (true))
          WHERE n.open
        UNION ALL
         SELECT 'notice'::text AS text,
            o.id,
            o.site_id,
            o.unit_id,
            o.id,
            m.id,
            o.board_id,
            o.code,
                CASE o.code
                    WHEN 'C1'::text THEN 4
                    ELSE 3
                END AS "case",
            o.made_safe,
            true,
            false,
            o.text,
            'Leave a danger notice: the work was refused'::text AS text,
            'Whoever refuses has been told of the danger in writing (common practice)'::text AS text,
            m.owner_id,
            ''::text AS text,
            COALESCE(m."on", '9999-12-31'::date) AS "coalesce",
            '0001-01-01'::date AS date,
            o.first_recorded_on,
            o.remedy_by,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.inspections_observation o
             JOIN public.premises_site s ON (((s.id = o.site_id) AND (s.archived_at IS NULL))))
             CROSS JOIN LATERAL ( SELECT m_1.id,
                    m_1.owner_id,
                    w_1."on"
                   FROM ((public.works_remedies l
                     JOIN public.works_remedial m_1 ON (((m_1.id = l.remedial_id) AND (m_1.stage = 'declined'::text))))
                     LEFT JOIN LATERAL ( SELECT w_2."on"
                           FROM public.works_wayout w_2
                          WHERE ((w_2.remedial_id = m_1.id) AND (w_2.stage = 'declined'::text) AND (w_2.taken_back_at IS NULL))
                          ORDER BY w_2.recorded_at DESC, w_2.id
                         LIMIT 1) w_1 ON (true))
                  WHERE (l.observation_id = o.id)
                  ORDER BY w_1."on", m_1.id
                 LIMIT 1) m)
          WHERE ((o.ended = ''::text) AND (NOT o.draft) AND (o.code = ANY (ARRAY['C1'::text, 'C2'::text])) AND (EXISTS ( SELECT 1
                   FROM (public.works_remedies l
                     JOIN public.works_remedial d ON (((d.id = l.remedial_id) AND (d.stage = 'declined'::text))))
                  WHERE (l.observation_id = o.id))) AND (NOT (EXISTS ( SELECT 1
                   FROM public.inspections_dangernotice_observations g
                  WHERE (g.observation_id = o.id)))) AND (NOT (EXISTS ( SELECT 1
                   FROM (public.works_remedies l
                     JOIN public.works_remedial c ON ((c.id = l.remedial_id)))
                  WHERE ((l.observation_id = o.id) AND (c.stage = ANY (ARRAY['approved'::text, 'booked'::text, 'done'::text])))))))
        UNION ALL
         SELECT 'confirm'::text AS text,
            v.id,
            v.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ((('Visit '::text || v.number) || ' on '::text) || to_char((v.start AT TIME ZONE 'Europe/London'::text), 'FMDD Mon YYYY at HH24:MI'::text)),
                CASE v.answered
                    WHEN 'cannot'::text THEN 'Find another time'::text
                    WHEN 'asked'::text THEN 'Chase the confirmation'::text
                    ELSE 'Ask whether the time suits'::text
                END AS "case",
            'A visit that was confirmed is seldom in vain (common practice)'::text AS text,
            v.booked_by_id,
                CASE
                    WHEN (v.answered = 'asked'::text) THEN COALESCE(c.whom, 'customer'::text)
                    ELSE ''::text
                END AS "case",
            v.confirm_by,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            ((v.start AT TIME ZONE 'Europe/London'::text))::date AS timezone,
            v.id,
            NULL::uuid AS uuid,
            v.confirm_by,
            false
           FROM ((public.visits_visit v
             JOIN public.premises_site s ON (((s.id = v.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN LATERAL ( SELECT c_1.whom
                   FROM public.visits_confirmation c_1
                  WHERE ((c_1.visit_id = v.id) AND (c_1.answered = 'asked'::text))
                  ORDER BY c_1.at DESC, c_1.id DESC
                 LIMIT 1) c ON (true))
          WHERE ((v.state = 'booked'::text) AND (v.confirm_by IS NOT NULL) AND (v.answered <> 'confirmed'::text) AND (EXISTS ( SELECT 1
                   FROM (public.visits_visitline l
                     LEFT JOIN public.works_remedial m ON ((m.id = l.remedial_id)))
                  WHERE ((l.visit_id = v.id) AND l.active AND ((m.stage = 'booked'::text) OR ((m.id IS NULL) AND (l.settled_at IS NULL)))))))
        UNION ALL
         SELECT 'unclosed'::text AS text,
            v.id,
            v.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ((('Visit '::text || v.number) || ' on '::text) || to_char((v.start AT TIME ZONE 'Europe/London'::text), 'FMDD Mon YYYY'::text)),
            'Say what was done at the visit'::text AS text,
            'What a visit was for is settled by the day after it (common practice)'::text AS text,
            COALESCE(( SELECT a.engineer_id
                   FROM (public.visits_attendance a
                     JOIN public.people_user p ON (((p.id = a.engineer_id) AND p.is_active)))
                  WHERE ((a.visit_id = v.id) AND (NOT a.cancelled))
                  ORDER BY a.id
                 LIMIT 1), v.booked_by_id) AS "coalesce",
            ''::text AS text,
            (e."on" + 1),
            (e."on" + 1),
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            v.id,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.visits_visit v
             JOIN public.premises_site s ON (((s.id = v.site_id) AND (s.archived_at IS NULL))))
             CROSS JOIN LATERAL ( SELECT ((v."end" AT TIME ZONE 'Europe/London'::text))::date AS "on") e)
          WHERE ((v.state = 'booked'::text) AND (EXISTS ( SELECT 1
                   FROM public.visits_visitline l
                  WHERE ((l.visit_id = v.id) AND (l.kind <> 'remedial'::text) AND l.active AND (l.settled_at IS NULL)))))
        UNION ALL
         SELECT 'access'::text AS text,
            a.id,
            a.site_id,
            a.unit_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ('Nobody let us in so far: '::text || a.whom),
            'Try again to get in'::text AS text,
            'Each attempt is kept as evidence of reasonable steps'::text AS text,
            COALESCE(v.booked_by_id, a.by_id) AS "coalesce",
            ''::text AS text,
            a.next_on,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.visits_attempt a
             JOIN public.premises_site s ON (((s.id = a.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN public.visits_visit v ON ((v.id = a.visit_id)))
          WHERE ((a.next_on IS NOT NULL) AND (NOT (EXISTS ( SELECT 1
                   FROM public.visits_attempt n
                  WHERE ((n.site_id = a.site_id) AND (NOT (n.unit_id IS DISTINCT FROM a.unit_id)) AND (ROW(n.at, n.id) > ROW(a.at, a.id)))))) AND (NOT (EXISTS ( SELECT 1
                   FROM public.visits_visit b
                  WHERE ((b.site_id = a.site_id) AND (b.state = 'booked'::text) AND (b.booked_at > a.recorded_at) AND ((a.unit_id IS NULL) OR (EXISTS ( SELECT 1
                           FROM (public.visits_visitline l
                             LEFT JOIN public.works_remedial m ON ((m.id = l.remedial_id)))
                          WHERE ((l.visit_id = b.id) AND l.active AND ((a.unit_id = l.unit_id) OR (a.unit_id = m.unit_id)))))))))))
        UNION ALL
         SELECT 'see-to'::text AS text,
            t.id,
            t.site_id,
            COALESCE(t.unit_id, m.unit_id) AS "coalesce",
            NULL::uuid AS uuid,
            t.remedial_id,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            t.what,
                CASE
                    WHEN (t.met_on IS NULL) THEN 'See to it before work begins'::text
                    ELSE ('See to it again: it held until '::text || to_char((t.holds_until)::timestamp with time zone, 'FMDD Mon YYYY'::text))
                END AS "case",
            'It must be seen to before work begins'::text AS text,
            t.owner_id,
            ''::text AS text,
                CASE
                    WHEN (t.met_on IS NULL) THEN t.by
                    ELSE (t.holds_until + 1)
                END AS "case",
                CASE
                    WHEN (t.met_on IS NULL) THEN '0001-01-01'::date
                    ELSE (t.holds_until + 1)
                END AS "case",
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.visits_seeto t
             JOIN public.premises_site s ON (((s.id = t.site_id) AND (s.archived_at IS NULL))))
             LEFT JOIN public.works_remedial m ON ((m.id = t.remedial_id)))
          WHERE ((t.withdrawn_at IS NULL) AND ((m.id IS NULL) OR (m.stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text]))) AND ((t.met_on IS NULL) OR ((t.holds_until IS NOT NULL) AND (EXISTS ( SELECT 1
                   FROM public.works_remedial o
                  WHERE ((o.site_id = t.site_id) AND (o.stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text])) AND ((t.unit_id IS NULL) OR (o.unit_id = t.unit_id))))))))
        UNION ALL
         SELECT 'key'::text AS text,
            k.id,
            k.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ('Key: '::text || k.what),
            'Bring the key back'::text AS text,
            'Who holds a key, and until when, is kept'::text AS text,
            k.out_to_id,
            ''::text AS text,
            k.back_by,
            k.back_by,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM (public.visits_sitekey k
             JOIN public.premises_site s ON (((s.id = k.site_id) AND (s.archived_at IS NULL))))
          WHERE ((k.out_to_id IS NOT NULL) AND (k.back_by IS NOT NULL))
        UNION ALL
         SELECT 'check-out'::text AS text,
            c.id,
            c.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            4,
            false,
            true,
            false,
            ((u_1.name || ' works alone here, to be out by '::text) || to_char((c.out_by AT TIME ZONE 'Europe/London'::text), 'HH24:MI'::text)),
            'Check out, or make sure that all is well'::text AS text,
            'Who works alone says when they are out'::text AS text,
            c.user_id,
            ''::text AS text,
            ((c.out_by AT TIME ZONE 'Europe/London'::text))::date AS timezone,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            c.visit_id,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.visits_checkin c
             JOIN public.premises_site s ON ((s.id = c.site_id)))
             JOIN public.people_user u_1 ON ((u_1.id = c.user_id)))
          WHERE (c.out_at IS NULL)
        UNION ALL
         SELECT 'times'::text AS text,
            f.id,
            f.site_id,
            f.unit_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            f.subject,
                CASE f.state
                    WHEN 'open'::text THEN 'Chase the answer to the times offered'::text
                    ELSE 'Offer other times: none of those suits'::text
                END AS "case",
            'Times are offered once and then chased (common practice)'::text AS text,
            f.made_by_id,
                CASE f.state
                    WHEN 'open'::text THEN COALESCE(f.name, 'customer'::text)
                    ELSE ''::text
                END AS "case",
            f.due,
            f.due,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM (( SELECT f_1.id,
                    f_1.access,
                    f_1.outage,
                    f_1.state,
                    f_1.answer_by,
                    f_1.words,
                    f_1.answered_at,
                    f_1.made_at,
                    f_1.version,
                    f_1.made_by_id,
                    f_1.party_id,
                    f_1.site_id,
                    f_1.unit_id,
                    f_1.visit_id,
                    p.name,
                        CASE f_1.state
                            WHEN 'open'::text THEN f_1.answer_by
                            ELSE COALESCE(((f_1.answered_at AT TIME ZONE 'Europe/London'::text))::date, f_1.answer_by)
                        END AS due,
                    ('Times for '::text ||
                        CASE w_1.many
                            WHEN 1 THEN '1 remedial'::text
                            ELSE (w_1.many || ' remedials'::text)
                        END) AS subject
                   FROM ((public.visits_timesoffer f_1
                     LEFT JOIN public.premises_party p ON ((p.id = f_1.party_id)))
                     CROSS JOIN LATERAL ( SELECT count(*) AS many
                           FROM (public.visits_timesoffer_remedials r_1
                             JOIN public.works_remedial m ON ((m.id = r_1.remedial_id)))
                          WHERE ((r_1.timesoffer_id = f_1.id) AND (m.stage = 'approved'::text))) w_1)
                  WHERE ((f_1.state = ANY (ARRAY['open'::text, 'none-suits'::text])) AND (w_1.many > 0))) f
             JOIN public.premises_site s ON (((s.id = f.site_id) AND (s.archived_at IS NULL))))
          WHERE (NOT (EXISTS ( SELECT 1
                   FROM (public.visits_timesoffer n
                     JOIN public.visits_timesoffer_remedials r_1 ON ((r_1.timesoffer_id = n.id)))
                  WHERE ((n.site_id = f.site_id) AND (n.made_at > f.made_at) AND (n.state <> 'withdrawn'::text) AND (r_1.remedial_id IN ( SELECT o.remedial_id
                           FROM public.visits_timesoffer_remedials o
                          WHERE (o.timesoffer_id = f.id)))))))
        UNION ALL
         SELECT 'letter'::text AS text,
            l.id,
            l.site_id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ('Closing letter to '::text || l.to_name),
            'Deliver the closing letter, and say how'::text AS text,
            'Whoever leaves is told in writing what is still open (common practice)'::text AS text,
            l.owner_id,
            ''::text AS text,
            l.deliver_by,
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM (public.due_leaving l
             JOIN public.premises_site s ON (((s.id = l.site_id) AND (s.archived_at IS NULL))))
          WHERE ((l.delivered_on IS NULL) AND (l.taken_back_at IS NULL))
        UNION ALL
         SELECT 'instrument'::text AS text,
            i.id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ((i.name || ', '::text) || i.serial_number),
            'Have its accuracy checked'::text AS text,
            'What an instrument shows counts only within its check'::text AS text,
            ( SELECT c.recorded_by_id
                   FROM (public.people_instrumentcheck c
                     JOIN public.people_user p ON (((p.id = c.recorded_by_id) AND p.is_active)))
                  WHERE ((c.instrument_id = i.id) AND (c.kind = 'calibration'::text))
                  ORDER BY c.checked_on DESC, c.recorded_at DESC, c.id
                 LIMIT 1) AS recorded_by_id,
            ''::text AS text,
            i.check_due,
            (i.check_due - o.days),
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM (public.people_instrument i
             CROSS JOIN ( SELECT GREATEST(90, ( SELECT due_reminderrule.before
                           FROM public.due_reminderrule
                          WHERE (due_reminderrule.sort = 'own'::text))) AS days) o)
          WHERE ((i.archived_at IS NULL) AND (i.check_due IS NOT NULL))
        UNION ALL
         SELECT 'competence'::text AS text,
            c.id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            (p.name || ': qualified person'::text),
            'Renew it, and record what shows it'::text AS text,
            'Only who is competent on the day reviews codes and proof'::text AS text,
            p.id,
            ''::text AS text,
            c.until,
            (c.until - o.days),
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            p.id,
            '0001-01-01'::date AS date,
            false
           FROM ((public.people_competence c
             JOIN public.people_user p ON (((p.id = c.user_id) AND p.is_active)))
             CROSS JOIN ( SELECT GREATEST(90, ( SELECT due_reminderrule.before
                           FROM public.due_reminderrule
                          WHERE (due_reminderrule.sort = 'own'::text))) AS days) o)
          WHERE ((c.until IS NOT NULL) AND (NOT c.ended) AND (NOT (EXISTS ( SELECT 1
                   FROM public.people_competence n
                  WHERE ((n.user_id = c.user_id) AND (n.kind = c.kind) AND (n.id <> c.id) AND (ROW(COALESCE(n.until, '9999-12-31'::date), n.since, n.id) > ROW(c.until, c.since, c.id)))))))
        UNION ALL
         SELECT 'competence'::text AS text,
            k.id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ((p.name || ': '::text) || k.name),
            'Renew it, and record what shows it'::text AS text,
            'Work that needs a skill goes to who has it on the day'::text AS text,
            p.id,
            ''::text AS text,
            k.until,
            (k.until - o.days),
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            p.id,
            '0001-01-01'::date AS date,
            false
           FROM ((public.people_skill k
             JOIN public.people_user p ON (((p.id = k.user_id) AND p.is_active)))
             CROSS JOIN ( SELECT GREATEST(90, ( SELECT due_reminderrule.before
                           FROM public.due_reminderrule
                          WHERE (due_reminderrule.sort = 'own'::text))) AS days) o)
          WHERE ((k.until IS NOT NULL) AND (NOT k.ended) AND (NOT (EXISTS ( SELECT 1
                   FROM public.people_skill n
                  WHERE ((n.user_id = k.user_id) AND (n.sort = k.sort) AND (n.id <> k.id) AND (ROW(COALESCE(n.until, '9999-12-31'::date), n.since, n.id) > ROW(k.until, k.since, k.id)))))))
        UNION ALL
         SELECT 'insurance'::text AS text,
            p.id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ('Insurance of '::text || p.name),
            'Get the new insurance dates, and record them'::text AS text,
            'A subcontractor works with insurance that holds on the day'::text AS text,
            p.id,
            ''::text AS text,
            p.insured_until,
            (p.insured_until - o.days),
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            p.id,
            '0001-01-01'::date AS date,
            false
           FROM (public.people_user p
             CROSS JOIN ( SELECT GREATEST(90, ( SELECT due_reminderrule.before
                           FROM public.due_reminderrule
                          WHERE (due_reminderrule.sort = 'own'::text))) AS days) o)
          WHERE (p.is_active AND p.subcontractor AND (p.insured_until IS NOT NULL))
        UNION ALL
         SELECT 'recall'::text AS text,
            f.id,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            ''::text AS text,
            0,
            false,
            false,
            false,
            ((((i.name || ', '::text) || i.serial_number) || ': '::text) || f.what),
            'Look through what it has shown, and decide what is read again'::text AS text,
            'Work may rest on readings of an instrument that was found wrong'::text AS text,
            p.id,
            ''::text AS text,
            (((f.recorded_at AT TIME ZONE 'Europe/London'::text))::date + 7),
            '0001-01-01'::date AS date,
            NULL::date AS date,
            NULL::date AS date,
            NULL::uuid AS uuid,
            '9999-12-31'::date AS date,
            NULL::uuid AS uuid,
            NULL::uuid AS uuid,
            '0001-01-01'::date AS date,
            false
           FROM ((public.people_instrumentfault f
             JOIN public.people_instrument i ON ((i.id = f.instrument_id)))
             LEFT JOIN public.people_user p ON (((p.id = f.recorded_by_id) AND p.is_active)))
          WHERE (EXISTS ( SELECT 1
                   FROM (public.inspections_reading g
                     CROSS JOIN LATERAL ( SELECT ((g.taken_at AT TIME ZONE 'Europe/London'::text))::date AS "on") d)
                  WHERE ((g.instrument_id = f.instrument_id) AND (d."on" >= f.last_good_on) AND (NOT (EXISTS ( SELECT 1
                           FROM public.works_recalldecision r_1
                          WHERE ((r_1.fault_id = f.id) AND (r_1.reading_id = g.id) AND (r_1.replaced_at IS NULL))))) AND ((d."on" <= f.found_on) OR (NOT ((COALESCE((i.checked_on > f.found_on), false) AND ((i.checked_on <= d."on") OR (g.instrument_in_check AND (f.recorded_at <= g.taken_at)))) OR (EXISTS ( SELECT 1
                           FROM public.people_instrumentcheck c
                          WHERE ((c.instrument_id = f.instrument_id) AND (c.kind = 'calibration'::text) AND (c.result <> 'failed'::text) AND (c.checked_on <= d."on") AND ((c.checked_on > f.found_on) OR ((c.checked_on = f.found_on) AND (c.result = 'adjusted'::text))))))))))))) r
     LEFT JOIN public.due_undertaking u ON (((u.kind = r.kind) AND (u.ref = r.ref) AND (u.ended_at IS NULL) AND (NOT (u.instead_of_id IS DISTINCT FROM r.owner_id)) AND (u.due_was = r.due))))
     LEFT JOIN public.people_user w ON ((w.id = COALESCE(u.by_id, r.owner_id))));

CREATE TABLE public.due_noreminders (
    id uuid NOT NULL,
    address text NOT NULL,
    said_at timestamp with time zone NOT NULL,
    lifted_at timestamp with time zone,
    noted_by_id uuid,
    party_id uuid NOT NULL
);

CREATE TABLE public.due_reminding (
    id uuid NOT NULL,
    "only" boolean NOT NULL,
    digest_at time without time zone NOT NULL,
    working_days integer[] NOT NULL,
    bank_holidays_off boolean NOT NULL,
    quiet_from time without time zone NOT NULL,
    quiet_until time without time zone NOT NULL,
    inspection_days integer[] NOT NULL,
    inspection_overdue_every integer NOT NULL,
    version integer NOT NULL,
    CONSTRAINT reminding_at_most_weekly CHECK ((inspection_overdue_every >= 7)),
    CONSTRAINT reminding_is_one CHECK ("only")
);

CREATE TABLE public.due_trouble (
    id uuid NOT NULL,
    part text NOT NULL,
    what text NOT NULL,
    error text NOT NULL,
    first_at timestamp with time zone NOT NULL,
    last_at timestamp with time zone NOT NULL
);

CREATE TABLE public.firm_firm (
    id uuid NOT NULL,
    "only" boolean NOT NULL,
    name text NOT NULL,
    address text NOT NULL,
    phone text NOT NULL,
    email text NOT NULL,
    version integer NOT NULL,
    nation text NOT NULL,
    surnames boolean NOT NULL,
    second_step_for text DEFAULT 'managers'::text NOT NULL,
    CONSTRAINT firm_is_one CHECK ("only"),
    CONSTRAINT firm_nation CHECK ((nation = ANY (ARRAY['england'::text, 'wales'::text, 'scotland'::text, 'northern-ireland'::text]))),
    CONSTRAINT firm_second_step_for CHECK ((second_step_for = ANY (ARRAY['nobody'::text, 'managers'::text, 'desk'::text, 'everybody'::text])))
);

CREATE TABLE public.firm_heartbeat (
    name text NOT NULL,
    at timestamp with time zone NOT NULL
);

CREATE TABLE public.firm_policy (
    id uuid NOT NULL,
    holds_from date NOT NULL,
    c1_days integer NOT NULL,
    c2_days integer NOT NULL,
    fi_days integer NOT NULL,
    decide_days integer NOT NULL,
    step_days integer NOT NULL,
    look_again_days integer NOT NULL,
    inspection_notice_days integer NOT NULL,
    loop_factor numeric(3,2) NOT NULL,
    reason text NOT NULL,
    meter_tolerance_percent numeric(4,2) NOT NULL,
    loop_rounding text NOT NULL,
    CONSTRAINT policy_days_positive CHECK (((c1_days >= 1) AND (c2_days >= 1) AND (decide_days >= 1) AND (fi_days >= 1) AND (step_days >= 1))),
    CONSTRAINT policy_loop_factor CHECK (((loop_factor > (0)::numeric) AND (loop_factor <= (1)::numeric))),
    CONSTRAINT policy_loop_rounding CHECK ((loop_rounding = ANY (ARRAY['exact'::text, 'tabulated'::text, 'down'::text, 'nearest'::text]))),
    CONSTRAINT policy_meter_tolerance CHECK (((meter_tolerance_percent >= 0.1) AND (meter_tolerance_percent <= (25)::numeric)))
);

CREATE TABLE public.firm_progress (
    id uuid NOT NULL,
    what text NOT NULL,
    state text NOT NULL,
    done bigint NOT NULL,
    total bigint NOT NULL,
    sentence text NOT NULL,
    changed_at timestamp with time zone NOT NULL
);

CREATE TABLE public.firm_sequence (
    name text NOT NULL,
    last bigint NOT NULL
);

CREATE TABLE public.inspections_dangernotice (
    id uuid NOT NULL,
    number bigint NOT NULL,
    why text NOT NULL,
    advised text NOT NULL,
    given_to text NOT NULL,
    how text NOT NULL,
    given_at timestamp with time zone NOT NULL,
    answer text NOT NULL,
    answered_at timestamp with time zone,
    given_by_id uuid NOT NULL,
    site_id uuid NOT NULL,
    answer_note text NOT NULL,
    answered_by text NOT NULL,
    as_given jsonb NOT NULL,
    CONSTRAINT danger_notice_answer CHECK (((answer = ''::text) OR (answered_at >= given_at))),
    CONSTRAINT danger_notice_complete CHECK (((NOT (given_to = ''::text)) AND (NOT (advised = ''::text))))
);

ALTER TABLE public.inspections_dangernotice_observations ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.inspections_dangernotice_observations_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.inspections_factcorrection (
    id uuid NOT NULL,
    fact text NOT NULL,
    value text NOT NULL,
    source text NOT NULL,
    reason text NOT NULL,
    holds_from date NOT NULL,
    at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    CONSTRAINT correction_has_source CHECK (((value = ''::text) OR (NOT (source = ''::text)))),
    CONSTRAINT correction_says_why CHECK (((NOT (fact = ''::text)) AND (NOT (reason = ''::text))))
);

CREATE TABLE public.inspections_inspection_boards (
    id bigint NOT NULL,
    inspection_id uuid NOT NULL,
    board_id uuid NOT NULL
);

ALTER TABLE public.inspections_inspection_boards ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.inspections_inspection_boards_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.inspections_inspection_units (
    id bigint NOT NULL,
    inspection_id uuid NOT NULL,
    unit_id uuid NOT NULL
);

ALTER TABLE public.inspections_inspection_units ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.inspections_inspection_units_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.inspections_intake (
    id uuid NOT NULL,
    kind text NOT NULL,
    file_name text NOT NULL,
    header jsonb NOT NULL,
    state text NOT NULL,
    found jsonb NOT NULL,
    left_out jsonb NOT NULL,
    uploaded_at timestamp with time zone NOT NULL,
    taken_in_at timestamp with time zone,
    file_id text NOT NULL,
    inspection_id uuid,
    progress_id uuid NOT NULL,
    site_id uuid NOT NULL,
    unit_id uuid NOT NULL,
    uploaded_by_id uuid NOT NULL,
    asked_by_id uuid,
    corrections jsonb NOT NULL,
    same jsonb NOT NULL,
    CONSTRAINT intake_state CHECK ((state = ANY (ARRAY['received'::text, 'read'::text, 'unreadable'::text, 'taking-in'::text, 'taken-in'::text, 'set-aside'::text]))),
    CONSTRAINT intake_taken_in_for_somebody CHECK (((NOT (state = 'taking-in'::text)) OR (asked_by_id IS NOT NULL)))
);

CREATE TABLE public.inspections_limitation (
    id uuid NOT NULL,
    what text NOT NULL,
    why text NOT NULL,
    agreed_with text NOT NULL,
    board_id uuid,
    covered_by_id uuid,
    inspection_id uuid NOT NULL,
    unit_id uuid,
    CONSTRAINT limitation_says_what CHECK ((NOT (what = ''::text)))
);

CREATE TABLE public.inspections_metercomparison (
    id uuid NOT NULL,
    began_at timestamp with time zone NOT NULL,
    ended_at timestamp with time zone NOT NULL,
    three_phase boolean NOT NULL,
    source_wh numeric(18,6),
    tolerance_percent numeric(4,2) NOT NULL,
    found text NOT NULL,
    ratio numeric(24,6),
    points_to jsonb NOT NULL,
    sentence text NOT NULL,
    note text NOT NULL,
    taken_at timestamp with time zone NOT NULL,
    answers_id uuid,
    observation_id uuid NOT NULL,
    site_id uuid NOT NULL,
    taken_by_id uuid NOT NULL,
    CONSTRAINT meters_answer_another CHECK ((NOT ((answers_id = id) AND (answers_id IS NOT NULL)))),
    CONSTRAINT meters_found CHECK ((found = ANY (ARRAY['agree'::text, 'points'::text, 'unexplained'::text, 'too-little'::text]))),
    CONSTRAINT meters_interval CHECK ((ended_at > began_at)),
    CONSTRAINT meters_tolerance CHECK (((tolerance_percent >= 0.1) AND (tolerance_percent <= (25)::numeric)))
);

CREATE TABLE public.inspections_meterfigure (
    id uuid NOT NULL,
    relied_on boolean NOT NULL,
    what text NOT NULL,
    unit text NOT NULL,
    start numeric(18,6),
    "end" numeric(18,6),
    wh numeric(18,6) NOT NULL,
    comparison_id uuid NOT NULL,
    instrument_id uuid,
    CONSTRAINT meter_figure_registers CHECK (((("end" IS NULL) AND (start IS NULL)) OR (("end" >= start) AND (start IS NOT NULL)))),
    CONSTRAINT meter_figure_says_which CHECK ((NOT (what = ''::text))),
    CONSTRAINT meter_figure_unit CHECK ((unit = ANY (ARRAY['Wh'::text, 'kWh'::text, 'MWh'::text])))
);

CREATE TABLE public.inspections_notseenagain (
    id uuid NOT NULL,
    answer text NOT NULL,
    seen text NOT NULL,
    at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    inspection_id uuid NOT NULL,
    observation_id uuid NOT NULL,
    CONSTRAINT not_seen_again_answer CHECK ((answer = ANY (ARRAY['gone'::text, 'not-looked'::text, ''::text]))),
    CONSTRAINT not_seen_again_says_what CHECK (((NOT (answer = 'gone'::text)) OR (NOT (seen = ''::text))))
);

CREATE TABLE public.inspections_observationphoto (
    id uuid NOT NULL,
    width integer NOT NULL,
    height integer NOT NULL,
    taken text NOT NULL,
    caption text NOT NULL,
    added_at timestamp with time zone NOT NULL,
    added_by_id uuid NOT NULL,
    file_id text NOT NULL,
    observation_id uuid NOT NULL
);

CREATE TABLE public.inspections_occupancychange (
    id uuid NOT NULL,
    since date NOT NULL,
    tenancy_granted_on date,
    recorded_at timestamp with time zone NOT NULL,
    occupier_id uuid,
    recorded_by_id uuid NOT NULL,
    site_id uuid NOT NULL,
    unit_id uuid NOT NULL
);

CREATE TABLE public.inspections_paperdocument (
    id uuid NOT NULL,
    name text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    file_id text NOT NULL,
    made_by_id uuid NOT NULL,
    paper_id uuid NOT NULL
);

CREATE TABLE public.inspections_paperrequest (
    id uuid NOT NULL,
    asked_by text NOT NULL,
    who text NOT NULL,
    asked_on date NOT NULL,
    how text NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    inspection_id uuid NOT NULL,
    recorded_by_id uuid NOT NULL,
    site_id uuid NOT NULL,
    unit_id uuid NOT NULL,
    CONSTRAINT paper_request_says_who CHECK (((asked_by = ANY (ARRAY['authority-asks'::text, 'prospective-tenant-asks'::text])) AND (NOT (who = ''::text))))
);

CREATE TABLE public.inspections_papersupply (
    id uuid NOT NULL,
    form uuid NOT NULL,
    "to" text NOT NULL,
    came text NOT NULL,
    how text NOT NULL,
    "on" date NOT NULL,
    note text NOT NULL,
    file_name text NOT NULL,
    message uuid,
    recorded_at timestamp with time zone NOT NULL,
    taken_back_at timestamp with time zone,
    taken_back_why text NOT NULL,
    document_id uuid,
    file_id text,
    paper_id uuid NOT NULL,
    party_id uuid,
    recorded_by_id uuid NOT NULL,
    CONSTRAINT paper_supply_back_says_why CHECK (((taken_back_at IS NULL) OR (NOT (taken_back_why = ''::text)))),
    CONSTRAINT paper_supply_known CHECK (((came = ANY (ARRAY['emailed'::text, 'given'::text, 'refused'::text])) AND (how = ANY (ARRAY['email'::text, 'hand'::text, 'post'::text, 'door'::text, 'agent'::text, 'online'::text, 'other'::text])))),
    CONSTRAINT paper_supply_says_to_whom CHECK ((NOT ("to" = ''::text)))
);

CREATE TABLE public.inspections_review (
    id uuid NOT NULL,
    decision text NOT NULL,
    code_before text NOT NULL,
    code text NOT NULL,
    reason text NOT NULL,
    at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    observation_id uuid NOT NULL,
    CONSTRAINT review_code CHECK ((code = ANY (ARRAY[''::text, 'C1'::text, 'C2'::text, 'FI'::text, 'C3'::text]))),
    CONSTRAINT review_decision CHECK ((decision = ANY (ARRAY['agree'::text, 'recode'::text, 'no-code'::text]))),
    CONSTRAINT review_says_why CHECK (((decision = 'agree'::text) OR (NOT (reason = ''::text))))
);

CREATE TABLE public.ledger_chain (
    id uuid NOT NULL,
    length bigint NOT NULL,
    head bytea NOT NULL,
    closed_into uuid,
    CONSTRAINT chain_length_not_negative CHECK ((length >= 0))
);

CREATE TABLE public.ledger_document (
    id uuid NOT NULL,
    kind text NOT NULL,
    title text NOT NULL,
    name text NOT NULL,
    site uuid,
    unit uuid,
    party uuid,
    subject uuid,
    as_of date,
    fingerprint text NOT NULL,
    said text NOT NULL,
    actor_kind text NOT NULL,
    actor uuid NOT NULL,
    made_at timestamp with time zone NOT NULL,
    file_id text NOT NULL,
    CONSTRAINT document_actor_kind CHECK ((actor_kind = ANY (ARRAY['person'::text, 'clock'::text, 'link'::text]))),
    CONSTRAINT document_is_named CHECK (((NOT (kind = ''::text)) AND (NOT (title = ''::text)) AND (NOT (name = ''::text))))
);

CREATE TABLE public.ledger_doneonce (
    id uuid NOT NULL,
    person uuid NOT NULL,
    key text NOT NULL,
    fingerprint bytea NOT NULL,
    status smallint NOT NULL,
    headers jsonb NOT NULL,
    body bytea NOT NULL,
    at timestamp with time zone NOT NULL
);

CREATE TABLE public.ledger_entry (
    id uuid NOT NULL,
    chain uuid NOT NULL,
    number bigint NOT NULL,
    operation uuid NOT NULL,
    at timestamp with time zone NOT NULL,
    actor_kind text NOT NULL,
    actor uuid NOT NULL,
    verb text NOT NULL,
    subject_kind text NOT NULL,
    subject uuid NOT NULL,
    facts jsonb NOT NULL,
    previous bytea NOT NULL,
    hash bytea NOT NULL,
    CONSTRAINT entry_actor_kind CHECK ((actor_kind = ANY (ARRAY['person'::text, 'clock'::text, 'link'::text])))
);

CREATE TABLE public.ledger_hold (
    id uuid NOT NULL,
    site uuid,
    reason text NOT NULL,
    placed_by uuid NOT NULL,
    placed_at timestamp with time zone NOT NULL,
    lifted_by uuid,
    lifted_at timestamp with time zone,
    lifted_why text NOT NULL,
    CONSTRAINT hold_lifted_by_somebody CHECK ((((lifted_at IS NULL) AND (lifted_by IS NULL) AND (lifted_why = ''::text)) OR ((lifted_at IS NOT NULL) AND (lifted_by IS NOT NULL) AND (NOT (lifted_why = ''::text))))),
    CONSTRAINT hold_says_why CHECK ((NOT (reason = ''::text)))
);

CREATE TABLE public.ledger_storedfile (
    hash text NOT NULL,
    size bigint NOT NULL,
    media_type text NOT NULL,
    received_hash text NOT NULL,
    stored_at timestamp with time zone NOT NULL,
    CONSTRAINT stored_file_not_empty CHECK ((size > 0))
);

CREATE TABLE public.ledger_words (
    id bigint NOT NULL,
    entry uuid NOT NULL,
    name text NOT NULL,
    text text NOT NULL,
    salt bytea NOT NULL
);

ALTER TABLE public.ledger_words ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.ledger_words_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.mfa_authenticator (
    id bigint NOT NULL,
    type character varying(20) NOT NULL,
    data jsonb NOT NULL,
    user_id uuid NOT NULL,
    created_at timestamp with time zone NOT NULL,
    last_used_at timestamp with time zone
);

ALTER TABLE public.mfa_authenticator ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.mfa_authenticator_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.people_accesstoken (
    id uuid NOT NULL,
    token_hash bytea NOT NULL,
    name text NOT NULL,
    scope text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    last_used_at timestamp with time zone,
    ended_at timestamp with time zone,
    user_id uuid NOT NULL,
    CONSTRAINT token_expires_after_start CHECK ((expires_at > made_at)),
    CONSTRAINT token_named CHECK ((NOT (name = ''::text))),
    CONSTRAINT token_scope CHECK ((scope = ANY (ARRAY['read'::text, 'write'::text])))
);

CREATE TABLE public.people_leave (
    id uuid NOT NULL,
    first date NOT NULL,
    last date NOT NULL,
    what text NOT NULL,
    withdrawn_at timestamp with time zone,
    recorded_by_id uuid NOT NULL,
    user_id uuid NOT NULL,
    CONSTRAINT leave_in_order CHECK ((last >= first)),
    CONSTRAINT leave_what CHECK ((what = ANY (ARRAY['leave'::text, 'training'::text, 'away'::text])))
);

CREATE TABLE public.people_privatelink (
    id uuid NOT NULL,
    token_hash bytea NOT NULL,
    purpose text NOT NULL,
    site uuid,
    unit uuid,
    party uuid,
    sent_to text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    withdrawn_at timestamp with time zone,
    last_used_at timestamp with time zone,
    uses integer NOT NULL,
    made_by_id uuid NOT NULL,
    thing uuid,
    CONSTRAINT link_expires_after_start CHECK ((expires_at > made_at)),
    CONSTRAINT link_opens_something CHECK ((((party IS NOT NULL) AND (purpose = 'portfolio'::text) AND (site IS NULL) AND (unit IS NULL)) OR ((NOT (purpose = 'portfolio'::text)) AND (site IS NOT NULL))))
);

CREATE TABLE public.people_shift (
    id bigint NOT NULL,
    weekday integer NOT NULL,
    start time without time zone NOT NULL,
    "end" time without time zone NOT NULL,
    week_id uuid NOT NULL,
    CONSTRAINT shift_ends_after_start CHECK (("end" > start)),
    CONSTRAINT shift_weekday CHECK (((weekday >= 0) AND (weekday <= 6)))
);

ALTER TABLE public.people_shift ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.people_shift_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.people_signin (
    id uuid NOT NULL,
    at timestamp with time zone NOT NULL,
    what text NOT NULL,
    means text NOT NULL,
    address inet,
    device text NOT NULL,
    user_id uuid NOT NULL,
    CONSTRAINT sign_in_what CHECK ((what = ANY (ARRAY['in'::text, 'out'::text, 'wrong-password'::text, 'wrong-code'::text, 'shut'::text])))
);

CREATE TABLE public.people_workingweek (
    id uuid NOT NULL,
    holds_from date NOT NULL,
    version integer NOT NULL,
    recorded_by_id uuid NOT NULL,
    user_id uuid NOT NULL
);

CREATE SEQUENCE public.post_message_number
    START WITH 1001
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;

CREATE TABLE public.post_message (
    id uuid NOT NULL,
    occasion text NOT NULL,
    to_kind text NOT NULL,
    to_id uuid NOT NULL,
    address character varying(254) NOT NULL,
    subject text NOT NULL,
    body text NOT NULL,
    danger boolean NOT NULL,
    site uuid,
    reason_kind text NOT NULL,
    reason_ref uuid,
    state text NOT NULL,
    attempts integer NOT NULL,
    written_at timestamp with time zone NOT NULL,
    next_try_at timestamp with time zone NOT NULL,
    claimed_at timestamp with time zone,
    settled_at timestamp with time zone,
    error text NOT NULL,
    attachment text NOT NULL,
    filled_by text NOT NULL,
    link uuid,
    about text NOT NULL,
    number bigint DEFAULT nextval('public.post_message_number'::regclass) NOT NULL,
    quiet_until timestamp with time zone,
    reminder boolean NOT NULL,
    returned_at timestamp with time zone,
    returned_why text NOT NULL,
    why text NOT NULL,
    address_refused boolean NOT NULL,
    claim uuid,
    delayed_why text NOT NULL,
    handed_at timestamp with time zone,
    instead_of uuid,
    CONSTRAINT message_reminder_about CHECK (((NOT reminder) OR ((NOT danger) AND (quiet_until > written_at) AND (to_kind = 'customer'::text) AND (NOT (about = ''::text))))),
    CONSTRAINT message_returned_has_time CHECK (((NOT (state = 'returned'::text)) OR (returned_at IS NOT NULL))),
    CONSTRAINT message_settled_has_time CHECK (((state = ANY (ARRAY['waiting'::text, 'sending'::text])) OR (settled_at IS NOT NULL))),
    CONSTRAINT message_state CHECK ((state = ANY (ARRAY['waiting'::text, 'sending'::text, 'sent'::text, 'failed'::text, 'unknown'::text, 'dropped'::text, 'returned'::text])))
);

CREATE TABLE public.premises_board (
    sort text NOT NULL,
    id uuid NOT NULL,
    designation text NOT NULL,
    label_found text NOT NULL,
    designation_verified boolean NOT NULL,
    place text NOT NULL,
    phases text[] NOT NULL,
    main_switch text NOT NULL,
    own_earthing text NOT NULL,
    zdb_ohm numeric(7,3),
    fault_current_ka numeric(6,2),
    notes text NOT NULL,
    verified_on date,
    verified_how text NOT NULL,
    retired_at timestamp with time zone,
    version integer NOT NULL,
    verified_by_id uuid,
    site_id uuid NOT NULL,
    label_noted_by_id uuid,
    label_noted_on date,
    main_switch_kind text NOT NULL,
    replaced_by_id uuid,
    CONSTRAINT board_has_a_designation CHECK ((NOT (designation = ''::text))),
    CONSTRAINT board_main_switch CHECK ((main_switch_kind = ANY (ARRAY[''::text, 'all'::text, 'lines'::text, 'control'::text, 'none'::text]))),
    CONSTRAINT board_phases CHECK (((phases <@ ARRAY['L1'::text, 'L2'::text, 'L3'::text]) AND (NOT (phases = '{}'::text[])))),
    CONSTRAINT board_verified_when CHECK (((NOT designation_verified) OR (verified_on IS NOT NULL)))
);

CREATE TABLE public.premises_board_units (
    id bigint NOT NULL,
    board_id uuid NOT NULL,
    unit_id uuid NOT NULL
);

ALTER TABLE public.premises_board_units ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.premises_board_units_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.premises_boarddocument (
    id uuid NOT NULL,
    kind text NOT NULL,
    words text NOT NULL,
    fingerprint text NOT NULL,
    said text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    board_id uuid NOT NULL,
    file_id text NOT NULL,
    made_by_id uuid NOT NULL,
    site_id uuid NOT NULL,
    CONSTRAINT board_document_kind CHECK ((kind = ANY (ARRAY['chart'::text, 'labels'::text, 'board-label'::text, 'two-sources'::text])))
);

CREATE TABLE public.premises_boardseen (
    id uuid NOT NULL,
    state text NOT NULL,
    board_id uuid NOT NULL,
    test_id uuid NOT NULL,
    CONSTRAINT board_seen_state CHECK ((state = ANY (ARRAY['dead'::text, 'alive'::text])))
);

CREATE TABLE public.premises_circuit (
    id uuid NOT NULL,
    way integer NOT NULL,
    phase text NOT NULL,
    label_found text NOT NULL,
    designation text NOT NULL,
    verified_on date,
    verified_how text NOT NULL,
    device_standard text NOT NULL,
    device_type text NOT NULL,
    rating_a numeric(6,1),
    poles integer,
    rcd_kind text NOT NULL,
    rcd_ma integer,
    rcd_shared boolean NOT NULL,
    arrangement text NOT NULL,
    line_mm2 numeric(6,2),
    cpc_mm2 numeric(6,2),
    points integer,
    must_not_lose_power text NOT NULL,
    spare boolean NOT NULL,
    blanked boolean NOT NULL,
    retired_at timestamp with time zone,
    version integer NOT NULL,
    board_id uuid NOT NULL,
    verified_by_id uuid,
    site_id uuid NOT NULL,
    unit_id uuid,
    label_noted_by_id uuid,
    label_noted_on date,
    breaking_capacity_ka numeric(5,1),
    length_m numeric(6,1),
    CONSTRAINT circuit_breaks CHECK (((breaking_capacity_ka IS NULL) OR (breaking_capacity_ka > (0)::numeric))),
    CONSTRAINT circuit_length CHECK (((length_m IS NULL) OR (length_m > (0)::numeric))),
    CONSTRAINT circuit_no_rcd CHECK (((NOT (rcd_kind = 'voltage-operated'::text)) OR (rcd_ma IS NULL))),
    CONSTRAINT circuit_phase CHECK ((phase = ANY (ARRAY['L1'::text, 'L2'::text, 'L3'::text, '3'::text]))),
    CONSTRAINT circuit_rating CHECK (((rating_a IS NULL) OR (rating_a > (0)::numeric))),
    CONSTRAINT circuit_rcd CHECK (((rcd_ma IS NULL) OR (rcd_ma > 0))),
    CONSTRAINT circuit_way CHECK (((way >= 1) AND (way <= 999)))
);

CREATE TABLE public.premises_circuitlink (
    id uuid NOT NULL,
    kind text NOT NULL,
    noted_on date NOT NULL,
    noted_by_id uuid NOT NULL,
    one_id uuid NOT NULL,
    other_id uuid NOT NULL,
    site_id uuid NOT NULL,
    CONSTRAINT circuit_link_in_one_order CHECK ((one_id < other_id)),
    CONSTRAINT circuit_link_kind CHECK ((kind = ANY (ARRAY['neutral'::text, 'feed'::text])))
);

CREATE TABLE public.premises_feed (
    id uuid NOT NULL,
    kind text NOT NULL,
    verified boolean NOT NULL,
    verified_on date,
    verified_how text NOT NULL,
    changeover text NOT NULL,
    version integer NOT NULL,
    board_id uuid NOT NULL,
    from_circuit_id uuid,
    verified_by_id uuid,
    site_id uuid NOT NULL,
    from_supply_id uuid,
    CONSTRAINT feed_from_one_thing CHECK ((((from_circuit_id IS NOT NULL) AND (from_supply_id IS NULL)) OR ((from_circuit_id IS NULL) AND (from_supply_id IS NOT NULL)))),
    CONSTRAINT feed_possible_not_verified CHECK (((NOT verified) OR (NOT (kind = 'may-be'::text)))),
    CONSTRAINT feed_verified_when CHECK (((NOT verified) OR (verified_on IS NOT NULL)))
);

CREATE TABLE public.premises_formercustomer (
    id uuid NOT NULL,
    until date NOT NULL,
    reason text NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    party_id uuid NOT NULL,
    site_id uuid NOT NULL,
    CONSTRAINT former_customer_says_why CHECK ((NOT (reason = ''::text)))
);

CREATE TABLE public.premises_partyatunit (
    id uuid NOT NULL,
    role text NOT NULL,
    limit_pounds numeric(10,2),
    since date NOT NULL,
    until date,
    party_id uuid NOT NULL,
    unit_id uuid NOT NULL,
    CONSTRAINT party_role_dates CHECK (((until IS NULL) OR (until >= since))),
    CONSTRAINT party_role_known CHECK ((role = ANY (ARRAY['owner'::text, 'agent'::text, 'occupier'::text, 'payer'::text, 'approver'::text])))
);

CREATE TABLE public.premises_secondsource (
    sort text NOT NULL,
    id uuid NOT NULL,
    name text NOT NULL,
    kind text NOT NULL,
    rating_kw numeric(7,2),
    phases text[] NOT NULL,
    isolate_supply_side text NOT NULL,
    isolate_source_side text NOT NULL,
    wait_minutes integer,
    retired_at timestamp with time zone,
    version integer NOT NULL,
    board_id uuid NOT NULL,
    circuit_id uuid,
    site_id uuid NOT NULL,
    CONSTRAINT second_source_kind CHECK ((kind = ANY (ARRAY['pv'::text, 'battery'::text, 'generator'::text, 'wind'::text]))),
    CONSTRAINT second_source_phases CHECK (((phases <@ ARRAY['L1'::text, 'L2'::text, 'L3'::text]) AND (NOT (phases = '{}'::text[])))),
    CONSTRAINT second_source_wait CHECK (((wait_minutes IS NULL) OR (wait_minutes >= 0)))
);

CREATE TABLE public.premises_siteaccess (
    id bigint NOT NULL,
    granted_at timestamp with time zone NOT NULL,
    site_id uuid NOT NULL,
    user_id uuid NOT NULL
);

ALTER TABLE public.premises_siteaccess ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.premises_siteaccess_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.premises_supply (
    sort text NOT NULL,
    id uuid NOT NULL,
    name text NOT NULL,
    phases text[] NOT NULL,
    voltage integer NOT NULL,
    main_fuse_a integer,
    earthing text NOT NULL,
    ze_ohm numeric(7,3),
    fault_current_ka numeric(6,2),
    retired_at timestamp with time zone,
    version integer NOT NULL,
    site_id uuid NOT NULL,
    isolator text NOT NULL,
    isolator_kind text NOT NULL,
    CONSTRAINT supply_earthing CHECK ((earthing = ANY (ARRAY['TN-S'::text, 'TN-C-S'::text, 'TT'::text, 'IT'::text, 'unknown'::text]))),
    CONSTRAINT supply_isolator CHECK ((isolator_kind = ANY (ARRAY[''::text, 'all'::text, 'lines'::text, 'control'::text, 'none'::text]))),
    CONSTRAINT supply_phases CHECK (((phases <@ ARRAY['L1'::text, 'L2'::text, 'L3'::text]) AND (NOT (phases = '{}'::text[]))))
);

CREATE TABLE public.premises_switchingtest (
    id uuid NOT NULL,
    others_off boolean NOT NULL,
    at timestamp with time zone NOT NULL,
    noted_at timestamp with time zone NOT NULL,
    together_with text NOT NULL,
    note text NOT NULL,
    withdrawn_at timestamp with time zone,
    withdrawn_why text NOT NULL,
    by_id uuid NOT NULL,
    off_circuit_id uuid,
    off_supply_id uuid,
    site_id uuid NOT NULL,
    withdrawn_by_id uuid,
    CONSTRAINT switching_noted_afterwards CHECK ((at <= noted_at)),
    CONSTRAINT switching_of_one_device CHECK ((((off_circuit_id IS NOT NULL) AND (off_supply_id IS NULL)) OR ((off_circuit_id IS NULL) AND (off_supply_id IS NOT NULL)))),
    CONSTRAINT switching_withdrawn_with_a_reason CHECK ((((withdrawn_at IS NULL) AND (withdrawn_by_id IS NULL) AND (withdrawn_why = ''::text)) OR ((withdrawn_at IS NOT NULL) AND (withdrawn_by_id IS NOT NULL) AND (NOT (withdrawn_why = ''::text)))))
);

CREATE TABLE public.premises_verification (
    id uuid NOT NULL,
    designation text NOT NULL,
    how text NOT NULL,
    at timestamp with time zone NOT NULL,
    designation_before text NOT NULL,
    how_before text NOT NULL,
    on_before date,
    taken_back_at timestamp with time zone,
    board_id uuid,
    by_id uuid,
    by_before_id uuid,
    circuit_id uuid,
    site_id uuid NOT NULL,
    taken_back_by_id uuid,
    done_at timestamp with time zone,
    CONSTRAINT verification_how CHECK ((how = ANY (ARRAY['traced'::text, 'switched'::text, 'read'::text, 'told'::text]))),
    CONSTRAINT verification_of_one_thing CHECK ((((board_id IS NOT NULL) AND (circuit_id IS NULL)) OR ((board_id IS NULL) AND (circuit_id IS NOT NULL)))),
    CONSTRAINT verification_says_what CHECK ((NOT (designation = ''::text)))
);

CREATE TABLE public.quotes_answer (
    id uuid NOT NULL,
    name text NOT NULL,
    how text NOT NULL,
    given_at timestamp with time zone NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    order_number text NOT NULL,
    note text NOT NULL,
    rights_shown text NOT NULL,
    begin_at_once boolean,
    begin_words text NOT NULL,
    fingerprint text NOT NULL,
    net numeric(12,2) NOT NULL,
    vat numeric(12,2) NOT NULL,
    to_pay numeric(12,2) NOT NULL,
    taken_back_at timestamp with time zone,
    taken_back_why text NOT NULL,
    link_id uuid,
    party_id uuid NOT NULL,
    recorded_by_id uuid,
    taken_back_by_id uuid,
    offer_id uuid NOT NULL,
    CONSTRAINT answer_by_link_or_office CHECK ((((how = 'link'::text) AND (link_id IS NOT NULL)) OR ((NOT (how = 'link'::text)) AND (recorded_by_id IS NOT NULL)))),
    CONSTRAINT answer_says_who CHECK (((NOT (name = ''::text)) AND (NOT (fingerprint = ''::text)))),
    CONSTRAINT answer_taken_back_why CHECK (((taken_back_at IS NULL) OR (NOT (taken_back_why = ''::text))))
);

CREATE TABLE public.quotes_costing (
    remedial_id uuid NOT NULL,
    plain text NOT NULL,
    treatment text NOT NULL,
    call_out boolean NOT NULL,
    cost numeric(12,2) NOT NULL,
    worked_out numeric(12,2) NOT NULL,
    set_price numeric(12,2),
    set_why text NOT NULL,
    priced_at timestamp with time zone NOT NULL,
    version integer NOT NULL,
    priced_by_id uuid NOT NULL,
    job_id uuid,
    terms_id uuid,
    CONSTRAINT costing_not_negative CHECK (((cost >= (0)::numeric) AND (worked_out >= (0)::numeric))),
    CONSTRAINT costing_set_why CHECK (((set_price IS NULL) OR ((set_price >= (0)::numeric) AND (NOT (set_why = ''::text)))))
);

CREATE TABLE public.quotes_lineanswer (
    id bigint NOT NULL,
    says text NOT NULL,
    why_not text NOT NULL,
    words text NOT NULL,
    stands boolean NOT NULL,
    answer_id uuid NOT NULL,
    line_id uuid NOT NULL,
    CONSTRAINT line_answer_says CHECK ((says = ANY (ARRAY['yes'::text, 'no'::text, 'not-chosen'::text])))
);

ALTER TABLE public.quotes_lineanswer ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.quotes_lineanswer_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

ALTER TABLE public.quotes_lineremedial ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.quotes_lineremedial_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

ALTER TABLE public.quotes_quotesite ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.quotes_quotesite_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.quotes_rate (
    id bigint NOT NULL,
    skill text NOT NULL,
    cost_hour numeric(8,2) NOT NULL,
    price_hour numeric(8,2) NOT NULL,
    terms_id uuid NOT NULL,
    CONSTRAINT rate_not_negative CHECK (((cost_hour >= (0)::numeric) AND (price_hour >= (0)::numeric)))
);

ALTER TABLE public.quotes_rate ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.quotes_rate_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.quotes_standarditem (
    id bigint NOT NULL,
    "position" integer NOT NULL,
    kind text NOT NULL,
    what text NOT NULL,
    quantity numeric(9,3) NOT NULL,
    unit text NOT NULL,
    cost_each numeric(10,2) NOT NULL,
    markup_percent numeric(6,2),
    supplier text NOT NULL,
    reference text NOT NULL,
    job_id uuid NOT NULL,
    CONSTRAINT standard_item_kind CHECK ((kind = ANY (ARRAY['material'::text, 'access'::text, 'fixed'::text]))),
    CONSTRAINT standard_item_markup CHECK (((markup_percent IS NULL) OR ((markup_percent >= (0)::numeric) AND (markup_percent <= (1000)::numeric)))),
    CONSTRAINT standard_item_sums CHECK (((NOT (what = ''::text)) AND (cost_each >= (0)::numeric) AND (quantity > (0)::numeric)))
);

ALTER TABLE public.quotes_standarditem ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.quotes_standarditem_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.quotes_standardjob (
    id uuid NOT NULL,
    name text NOT NULL,
    plain text NOT NULL,
    minutes integer,
    crew integer NOT NULL,
    skill text NOT NULL,
    retests text[] NOT NULL,
    certificate_kind text NOT NULL,
    treatment text NOT NULL,
    retired_at timestamp with time zone,
    version integer NOT NULL,
    folded text NOT NULL,
    sort text NOT NULL,
    CONSTRAINT standard_job_crew CHECK (((crew >= 1) AND (crew <= 20))),
    CONSTRAINT standard_job_minutes CHECK (((minutes IS NULL) OR (minutes > 0))),
    CONSTRAINT standard_job_says_what CHECK (((NOT (name = ''::text)) AND (NOT (plain = ''::text)))),
    CONSTRAINT standard_job_treatment CHECK ((treatment = ANY (ARRAY['standard'::text, 'reduced'::text, 'energy-saving'::text])))
);

CREATE TABLE public.quotes_terms (
    id uuid NOT NULL,
    holds_from date NOT NULL,
    call_out numeric(8,2) NOT NULL,
    call_out_cost numeric(8,2) NOT NULL,
    markup_percent numeric(6,2) NOT NULL,
    vat_registered boolean NOT NULL,
    vat_number text NOT NULL,
    valid_days integer NOT NULL,
    lapse_notice_days integer NOT NULL,
    answer_days integer NOT NULL,
    again_c1_days integer NOT NULL,
    again_c2_days integer NOT NULL,
    again_fi_days integer NOT NULL,
    again_other_days integer NOT NULL,
    text_before text NOT NULL,
    text_after text NOT NULL,
    cancellation_text text NOT NULL,
    begin_text text NOT NULL,
    reverse_charge_text text NOT NULL,
    reason text NOT NULL,
    set_by_id uuid,
    version integer NOT NULL,
    CONSTRAINT terms_days CHECK (((again_c1_days >= 1) AND (again_c2_days >= 1) AND (again_fi_days >= 1) AND (again_other_days >= 1) AND (answer_days >= 0) AND (lapse_notice_days >= 0) AND (valid_days >= 1))),
    CONSTRAINT terms_not_negative CHECK (((call_out >= (0)::numeric) AND (call_out_cost >= (0)::numeric) AND (markup_percent >= (0)::numeric) AND (markup_percent <= (1000)::numeric)))
);

CREATE TABLE public.running_slowstatement (
    id uuid NOT NULL,
    place text NOT NULL,
    digest text NOT NULL,
    words text NOT NULL,
    times bigint NOT NULL,
    total_ms double precision NOT NULL,
    worst_ms double precision NOT NULL,
    first_at timestamp with time zone NOT NULL,
    last_at timestamp with time zone NOT NULL,
    CONSTRAINT slow_statement_times CHECK ((times >= 1))
);

CREATE TABLE public.status_bundle (
    id uuid NOT NULL,
    kind text NOT NULL,
    as_of timestamp with time zone NOT NULL,
    jobs bigint[] NOT NULL,
    reason text NOT NULL,
    asked_at timestamp with time zone NOT NULL,
    asked_by_id uuid NOT NULL,
    document_id uuid,
    party_id uuid,
    progress_id uuid NOT NULL,
    site_id uuid,
    CONSTRAINT bundle_of_something CHECK ((((kind = 'as-of'::text) AND (party_id IS NULL) AND (site_id IS NOT NULL)) OR ((kind = 'assessor'::text) AND (party_id IS NULL) AND (NOT (jobs = '{}'::bigint[]))) OR ((kind = 'customer'::text) AND (party_id IS NOT NULL) AND (site_id IS NULL)))),
    CONSTRAINT bundle_says_why CHECK ((NOT (reason = ''::text)))
);

CREATE TABLE public.status_erasure (
    id uuid NOT NULL,
    asked_on date NOT NULL,
    erased jsonb NOT NULL,
    kept jsonb NOT NULL,
    at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    party_id uuid NOT NULL
);

CREATE TABLE public.status_reportcopy (
    document_id uuid NOT NULL,
    facts jsonb NOT NULL,
    changed integer NOT NULL
);

CREATE TABLE public.status_retention (
    id uuid NOT NULL,
    kind text NOT NULL,
    months integer,
    why text NOT NULL,
    version integer NOT NULL,
    CONSTRAINT retention_months CHECK (((months IS NULL) OR ((months >= 1) AND (months <= 1200))))
);

CREATE TABLE public.usersessions_usersession (
    id bigint NOT NULL,
    created_at timestamp with time zone NOT NULL,
    ip inet NOT NULL,
    last_seen_at timestamp with time zone NOT NULL,
    session_key character varying(40) NOT NULL,
    user_agent character varying(200) NOT NULL,
    data jsonb NOT NULL,
    user_id uuid NOT NULL
);

ALTER TABLE public.usersessions_usersession ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.usersessions_usersession_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.visits_accesstime (
    id uuid NOT NULL,
    weekdays integer[] NOT NULL,
    start time without time zone NOT NULL,
    "end" time without time zone NOT NULL,
    note text NOT NULL,
    site_id uuid NOT NULL,
    unit_id uuid,
    CONSTRAINT access_time_ends_after_start CHECK (("end" > start)),
    CONSTRAINT access_time_weekdays CHECK (((weekdays <@ ARRAY[0, 1, 2, 3, 4, 5, 6]) AND (NOT (weekdays = '{}'::integer[]))))
);

CREATE TABLE public.visits_alarmcode (
    id uuid NOT NULL,
    place text NOT NULL,
    sealed bytea NOT NULL,
    retired_at timestamp with time zone,
    version integer NOT NULL,
    site_id uuid NOT NULL,
    CONSTRAINT alarm_code_place CHECK ((NOT (place = ''::text)))
);

ALTER TABLE public.visits_attendance ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visits_attendance_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.visits_closeddays (
    id uuid NOT NULL,
    first date NOT NULL,
    last date NOT NULL,
    why text NOT NULL,
    site_id uuid NOT NULL,
    unit_id uuid,
    CONSTRAINT closed_days_in_order CHECK ((last >= first)),
    CONSTRAINT closed_days_say_why CHECK ((NOT (why = ''::text)))
);

CREATE TABLE public.visits_diaryterms (
    id uuid NOT NULL,
    holds_from date NOT NULL,
    severities jsonb NOT NULL,
    day_start time without time zone NOT NULL,
    day_end time without time zone NOT NULL,
    winding_factor numeric(4,2) NOT NULL,
    speed_kmh integer NOT NULL,
    matrix_address text NOT NULL,
    visit_minutes_least integer NOT NULL,
    confirm_days integer NOT NULL,
    letter_days integer NOT NULL,
    code_hours integer NOT NULL,
    check_out_minutes integer NOT NULL,
    reason text NOT NULL,
    version integer NOT NULL,
    set_by_id uuid,
    CONSTRAINT diary_day_ends_after_start CHECK ((day_end > day_start)),
    CONSTRAINT diary_driving CHECK (((speed_kmh >= 5) AND (speed_kmh <= 120) AND (winding_factor >= (1)::numeric) AND (winding_factor <= (3)::numeric))),
    CONSTRAINT diary_figures CHECK (((check_out_minutes >= 0) AND (code_hours >= 0) AND (confirm_days >= 0) AND (letter_days >= 1) AND (visit_minutes_least >= 5)))
);

CREATE TABLE public.visits_drivingtime (
    id bigint NOT NULL,
    from_district text NOT NULL,
    to_district text NOT NULL,
    minutes integer NOT NULL,
    km numeric(6,1) NOT NULL,
    CONSTRAINT driving_time_figures CHECK (((km >= (0)::numeric) AND (minutes >= 0)))
);

ALTER TABLE public.visits_drivingtime ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visits_drivingtime_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.visits_feed (
    id uuid NOT NULL,
    token_hash bytea NOT NULL,
    made_at timestamp with time zone NOT NULL,
    withdrawn_at timestamp with time zone,
    last_used_at timestamp with time zone,
    uses integer NOT NULL,
    made_by_id uuid NOT NULL,
    user_id uuid
);

CREATE TABLE public.visits_keymove (
    id uuid NOT NULL,
    way text NOT NULL,
    note text NOT NULL,
    at timestamp with time zone NOT NULL,
    recorded_by_id uuid NOT NULL,
    who_id uuid,
    key_id uuid NOT NULL,
    CONSTRAINT key_move_out_to_somebody CHECK (((NOT (way = 'out'::text)) OR (who_id IS NOT NULL))),
    CONSTRAINT key_move_way CHECK ((way = ANY (ARRAY['out'::text, 'in'::text, 'back'::text])))
);

CREATE TABLE public.visits_occupiernote (
    id uuid NOT NULL,
    contact text NOT NULL,
    phone text NOT NULL,
    email character varying(254) NOT NULL,
    best_times text NOT NULL,
    mind text NOT NULL,
    loses_power_badly boolean NOT NULL,
    version integer NOT NULL,
    site_id uuid NOT NULL,
    unit_id uuid NOT NULL
);

CREATE TABLE public.visits_offeredtime (
    id uuid NOT NULL,
    start timestamp with time zone NOT NULL,
    "end" timestamp with time zone NOT NULL,
    offer_id uuid NOT NULL,
    CONSTRAINT offered_time_ends_after_start CHECK (("end" > start))
);

CREATE TABLE public.visits_plan (
    id uuid NOT NULL,
    number bigint NOT NULL,
    first date NOT NULL,
    days integer NOT NULL,
    effort text NOT NULL,
    seed integer NOT NULL,
    state text NOT NULL,
    progress uuid NOT NULL,
    asked jsonb NOT NULL,
    figures jsonb NOT NULL,
    sentence text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    ready_at timestamp with time zone,
    after_id uuid,
    made_by_id uuid NOT NULL,
    CONSTRAINT plan_days CHECK (((days >= 1) AND (days <= 31))),
    CONSTRAINT plan_effort CHECK ((effort = ANY (ARRAY['quick'::text, 'normal'::text, 'thorough'::text]))),
    CONSTRAINT plan_state CHECK ((state = ANY (ARRAY['waiting'::text, 'running'::text, 'ready'::text, 'failed'::text])))
);

CREATE TABLE public.visits_proposal (
    id uuid NOT NULL,
    start timestamp with time zone NOT NULL,
    "end" timestamp with time zone NOT NULL,
    drive_minutes integer NOT NULL,
    reason text NOT NULL,
    state text NOT NULL,
    said text NOT NULL,
    decided_at timestamp with time zone,
    decided_by_id uuid,
    plan_id uuid NOT NULL,
    site_id uuid NOT NULL,
    visit_id uuid,
    CONSTRAINT proposal_ends_after_start CHECK (("end" > start)),
    CONSTRAINT proposal_has_visit CHECK (((NOT (state = 'accepted'::text)) OR (visit_id IS NOT NULL))),
    CONSTRAINT proposal_state CHECK ((state = ANY (ARRAY['open'::text, 'accepted'::text, 'refused'::text, 'gone'::text])))
);

CREATE TABLE public.visits_proposal_engineers (
    id bigint NOT NULL,
    proposal_id uuid NOT NULL,
    user_id uuid NOT NULL
);

ALTER TABLE public.visits_proposal_engineers ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visits_proposal_engineers_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.visits_proposal_remedials (
    id bigint NOT NULL,
    proposal_id uuid NOT NULL,
    remedial_id uuid NOT NULL
);

ALTER TABLE public.visits_proposal_remedials ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visits_proposal_remedials_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.visits_timesoffer_engineers (
    id bigint NOT NULL,
    timesoffer_id uuid NOT NULL,
    user_id uuid NOT NULL
);

ALTER TABLE public.visits_timesoffer_engineers ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visits_timesoffer_engineers_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

ALTER TABLE public.visits_timesoffer_remedials ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visits_timesoffer_remedials_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.visits_unplanned (
    id bigint NOT NULL,
    why text NOT NULL,
    plan_id uuid NOT NULL,
    remedial_id uuid NOT NULL
);

ALTER TABLE public.visits_unplanned ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visits_unplanned_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

ALTER TABLE public.visits_visitline ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.visits_visitline_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.visits_visitmove (
    id uuid NOT NULL,
    from_start timestamp with time zone NOT NULL,
    from_end timestamp with time zone NOT NULL,
    to_start timestamp with time zone NOT NULL,
    to_end timestamp with time zone NOT NULL,
    from_engineers uuid[] NOT NULL,
    to_engineers uuid[] NOT NULL,
    reason text NOT NULL,
    at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    visit_id uuid NOT NULL
);

CREATE TABLE public.works_approval (
    id uuid NOT NULL,
    given_by text NOT NULL,
    how text NOT NULL,
    given_on date NOT NULL,
    pounds numeric(10,2),
    reference text NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    party_id uuid,
    recorded_by_id uuid,
    remedial_id uuid NOT NULL,
    taken_back_at timestamp with time zone,
    CONSTRAINT approval_given_by CHECK ((NOT (given_by = ''::text))),
    CONSTRAINT approval_pounds CHECK (((pounds IS NULL) OR (pounds >= (0)::numeric))),
    CONSTRAINT approval_recorded CHECK (((how = 'quote'::text) OR (recorded_by_id IS NOT NULL)))
);

CREATE TABLE public.works_item (
    id uuid NOT NULL,
    "position" integer NOT NULL,
    kind text NOT NULL,
    what text NOT NULL,
    quantity numeric(9,3) NOT NULL,
    unit text NOT NULL,
    cost_each numeric(10,2) NOT NULL,
    markup_percent numeric(6,2),
    supplier text NOT NULL,
    reference text NOT NULL,
    remedial_id uuid NOT NULL,
    CONSTRAINT item_kind CHECK ((kind = ANY (ARRAY['material'::text, 'access'::text, 'fixed'::text]))),
    CONSTRAINT item_markup CHECK (((markup_percent IS NULL) OR ((markup_percent >= (0)::numeric) AND (markup_percent <= (1000)::numeric)))),
    CONSTRAINT item_sums CHECK (((NOT (what = ''::text)) AND (cost_each >= (0)::numeric) AND (quantity > (0)::numeric)))
);

CREATE TABLE public.works_powerstep (
    id uuid NOT NULL,
    kind text NOT NULL,
    "where" text NOT NULL,
    at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    remedial_id uuid NOT NULL,
    CONSTRAINT power_step_kind CHECK ((kind = ANY (ARRAY['off'::text, 'on'::text]))),
    CONSTRAINT power_step_says_where CHECK (((kind = 'on'::text) OR (NOT ("where" = ''::text))))
);

CREATE TABLE public.works_proof (
    id uuid NOT NULL,
    state text NOT NULL,
    supervisor_name text NOT NULL,
    done_at timestamp with time zone NOT NULL,
    note text NOT NULL,
    no_photo_reason text NOT NULL,
    certificate_number text NOT NULL,
    exception_reason text NOT NULL,
    certificate_file_id text,
    done_by_id uuid NOT NULL,
    remedial_id uuid NOT NULL,
    CONSTRAINT proof_state CHECK ((state = ANY (ARRAY['stands'::text, 'beside'::text, 'sent-back'::text, 'reopened'::text])))
);

CREATE TABLE public.works_proof_readings (
    id bigint NOT NULL,
    proof_id uuid NOT NULL,
    reading_id uuid NOT NULL
);

ALTER TABLE public.works_proof_readings ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.works_proof_readings_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.works_proofphoto (
    id uuid NOT NULL,
    width integer NOT NULL,
    height integer NOT NULL,
    taken text NOT NULL,
    added_at timestamp with time zone NOT NULL,
    added_by_id uuid NOT NULL,
    file_id text NOT NULL,
    observation_id uuid,
    proof_id uuid,
    remedial_id uuid NOT NULL
);

CREATE TABLE public.works_proofreview (
    id uuid NOT NULL,
    decision text NOT NULL,
    reason text NOT NULL,
    self_review boolean NOT NULL,
    at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    proof_id uuid NOT NULL,
    CONSTRAINT proof_review_says_why CHECK (((decision = 'accepted'::text) OR ((decision = 'sent-back'::text) AND (NOT (reason = ''::text)))))
);

ALTER TABLE public.works_remedies ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.works_remedies_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE public.works_requiredreading (
    id uuid NOT NULL,
    quantity text NOT NULL,
    limit_entered numeric(10,4),
    limit_source text NOT NULL,
    circuit_id uuid NOT NULL,
    remedial_id uuid NOT NULL,
    CONSTRAINT required_reading_limit_has_source CHECK (((limit_entered IS NULL) OR ((limit_entered > (0)::numeric) AND (NOT (limit_source = ''::text)))))
);

CREATE TABLE public.works_stint (
    id uuid NOT NULL,
    came text NOT NULL,
    because text NOT NULL,
    minutes integer,
    at timestamp with time zone NOT NULL,
    by_id uuid NOT NULL,
    proof_id uuid,
    remedial_id uuid NOT NULL,
    CONSTRAINT stint_came CHECK ((came = ANY (ARRAY['finished'::text, 'part-done'::text, 'could-not'::text]))),
    CONSTRAINT stint_minutes CHECK (((minutes IS NULL) OR ((minutes >= 1) AND (minutes <= 10000)))),
    CONSTRAINT stint_proof_finishes CHECK (((came = 'finished'::text) OR (proof_id IS NULL))),
    CONSTRAINT stint_says_why CHECK (((came = 'finished'::text) OR (NOT (because = ''::text))))
);

CREATE TABLE public.works_used (
    id bigint NOT NULL,
    "position" integer NOT NULL,
    what text NOT NULL,
    quantity numeric(9,3) NOT NULL,
    unit text NOT NULL,
    stint_id uuid NOT NULL,
    CONSTRAINT used_says_what CHECK (((NOT (what = ''::text)) AND (quantity > (0)::numeric)))
);

ALTER TABLE public.works_used ALTER COLUMN id ADD GENERATED BY DEFAULT AS IDENTITY (
    SEQUENCE NAME public.works_used_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

ALTER TABLE ONLY public.account_emailaddress
    ADD CONSTRAINT account_emailaddress_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.account_emailaddress
    ADD CONSTRAINT account_emailaddress_user_id_email_987c8728_uniq UNIQUE (user_id, email);

ALTER TABLE ONLY public.account_emailconfirmation
    ADD CONSTRAINT account_emailconfirmation_key_key UNIQUE (key);

ALTER TABLE ONLY public.account_emailconfirmation
    ADD CONSTRAINT account_emailconfirmation_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_attendance
    ADD CONSTRAINT attendance_once UNIQUE (visit_id, engineer_id);

ALTER TABLE ONLY public.auth_group
    ADD CONSTRAINT auth_group_name_key UNIQUE (name);

ALTER TABLE ONLY public.auth_group_permissions
    ADD CONSTRAINT auth_group_permissions_group_id_permission_id_0cd325b0_uniq UNIQUE (group_id, permission_id);

ALTER TABLE ONLY public.auth_group_permissions
    ADD CONSTRAINT auth_group_permissions_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.auth_group
    ADD CONSTRAINT auth_group_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.auth_permission
    ADD CONSTRAINT auth_permission_content_type_id_codename_01ab375a_uniq UNIQUE (content_type_id, codename);

ALTER TABLE ONLY public.auth_permission
    ADD CONSTRAINT auth_permission_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_boardseen
    ADD CONSTRAINT board_seen_once_a_test UNIQUE (test_id, board_id);

ALTER TABLE ONLY public.cache
    ADD CONSTRAINT cache_pkey PRIMARY KEY (cache_key);

ALTER TABLE ONLY public.premises_circuitlink
    ADD CONSTRAINT circuit_link_once UNIQUE (one_id, other_id, kind);

ALTER TABLE ONLY public.people_competence
    ADD CONSTRAINT competence_once_a_day UNIQUE (user_id, kind, since);

ALTER TABLE ONLY public.desk_takeout
    ADD CONSTRAINT desk_takeout_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.django_content_type
    ADD CONSTRAINT django_content_type_app_label_model_76bd3d3b_uniq UNIQUE (app_label, model);

ALTER TABLE ONLY public.django_content_type
    ADD CONSTRAINT django_content_type_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.django_migrations
    ADD CONSTRAINT django_migrations_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.django_session
    ADD CONSTRAINT django_session_pkey PRIMARY KEY (session_key);

ALTER TABLE ONLY public.ledger_doneonce
    ADD CONSTRAINT done_once_by_person_and_key UNIQUE (person, key);

ALTER TABLE ONLY public.visits_drivingtime
    ADD CONSTRAINT driving_time_once UNIQUE (from_district, to_district);

ALTER TABLE ONLY public.due_leaving
    ADD CONSTRAINT due_leaving_number_key UNIQUE (number);

ALTER TABLE ONLY public.due_leaving
    ADD CONSTRAINT due_leaving_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.due_noreminders
    ADD CONSTRAINT due_noreminders_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.due_reminderrule
    ADD CONSTRAINT due_reminderrule_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.due_reminderrule
    ADD CONSTRAINT due_reminderrule_sort_key UNIQUE (sort);

ALTER TABLE ONLY public.due_reminding
    ADD CONSTRAINT due_reminding_only_key UNIQUE ("only");

ALTER TABLE ONLY public.due_reminding
    ADD CONSTRAINT due_reminding_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.due_trouble
    ADD CONSTRAINT due_trouble_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.due_undertaking
    ADD CONSTRAINT due_undertaking_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.ledger_entry
    ADD CONSTRAINT entry_one_place_in_its_chain UNIQUE (chain, number);

ALTER TABLE ONLY public.premises_feed
    ADD CONSTRAINT feed_once UNIQUE NULLS NOT DISTINCT (board_id, from_circuit_id, from_supply_id);

ALTER TABLE ONLY public.firm_firm
    ADD CONSTRAINT firm_firm_only_key UNIQUE ("only");

ALTER TABLE ONLY public.firm_firm
    ADD CONSTRAINT firm_firm_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.firm_heartbeat
    ADD CONSTRAINT firm_heartbeat_pkey PRIMARY KEY (name);

ALTER TABLE ONLY public.firm_policy
    ADD CONSTRAINT firm_policy_holds_from_key UNIQUE (holds_from);

ALTER TABLE ONLY public.firm_policy
    ADD CONSTRAINT firm_policy_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.firm_progress
    ADD CONSTRAINT firm_progress_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.firm_sequence
    ADD CONSTRAINT firm_sequence_pkey PRIMARY KEY (name);

ALTER TABLE ONLY public.inspections_dangernotice_observations
    ADD CONSTRAINT inspections_dangernotice_dangernotice_id_observat_ff4ce1b0_uniq UNIQUE (dangernotice_id, observation_id);

ALTER TABLE ONLY public.inspections_dangernotice
    ADD CONSTRAINT inspections_dangernotice_number_key UNIQUE (number);

ALTER TABLE ONLY public.inspections_dangernotice_observations
    ADD CONSTRAINT inspections_dangernotice_observations_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_dangernotice
    ADD CONSTRAINT inspections_dangernotice_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_factcorrection
    ADD CONSTRAINT inspections_factcorrection_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_inspection_boards
    ADD CONSTRAINT inspections_inspection_b_inspection_id_board_id_a4f81e87_uniq UNIQUE (inspection_id, board_id);

ALTER TABLE ONLY public.inspections_inspection_boards
    ADD CONSTRAINT inspections_inspection_boards_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspection_number_key UNIQUE (number);

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspection_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspection_replaces_id_key UNIQUE (replaces_id);

ALTER TABLE ONLY public.inspections_inspection_units
    ADD CONSTRAINT inspections_inspection_u_inspection_id_unit_id_c523d38a_uniq UNIQUE (inspection_id, unit_id);

ALTER TABLE ONLY public.inspections_inspection_units
    ADD CONSTRAINT inspections_inspection_units_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_inspectiondue
    ADD CONSTRAINT inspections_inspectiondue_pkey PRIMARY KEY (unit_id);

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_inspection_id_key UNIQUE (inspection_id);

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_progress_id_key UNIQUE (progress_id);

ALTER TABLE ONLY public.inspections_limitation
    ADD CONSTRAINT inspections_limitation_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_madesafe
    ADD CONSTRAINT inspections_madesafe_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_metercomparison
    ADD CONSTRAINT inspections_metercomparison_answers_id_key UNIQUE (answers_id);

ALTER TABLE ONLY public.inspections_metercomparison
    ADD CONSTRAINT inspections_metercomparison_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_meterfigure
    ADD CONSTRAINT inspections_meterfigure_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_notseenagain
    ADD CONSTRAINT inspections_notseenagain_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observation_number_key UNIQUE (number);

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observation_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_observationphoto
    ADD CONSTRAINT inspections_observationphoto_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_occupancychange
    ADD CONSTRAINT inspections_occupancychange_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT inspections_paper_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_paperdocument
    ADD CONSTRAINT inspections_paperdocument_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_paperrequest
    ADD CONSTRAINT inspections_paperrequest_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_papersupply
    ADD CONSTRAINT inspections_papersupply_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_reading
    ADD CONSTRAINT inspections_reading_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_review
    ADD CONSTRAINT inspections_review_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.ledger_chain
    ADD CONSTRAINT ledger_chain_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.ledger_document
    ADD CONSTRAINT ledger_document_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.ledger_doneonce
    ADD CONSTRAINT ledger_doneonce_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.ledger_entry
    ADD CONSTRAINT ledger_entry_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.ledger_hold
    ADD CONSTRAINT ledger_hold_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.ledger_storedfile
    ADD CONSTRAINT ledger_storedfile_pkey PRIMARY KEY (hash);

ALTER TABLE ONLY public.ledger_words
    ADD CONSTRAINT ledger_words_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_lineanswer
    ADD CONSTRAINT line_answer_once UNIQUE (answer_id, line_id);

ALTER TABLE ONLY public.quotes_line
    ADD CONSTRAINT line_once_an_offer UNIQUE (offer_id, key);

ALTER TABLE ONLY public.quotes_line
    ADD CONSTRAINT line_position UNIQUE (offer_id, "position") DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_lineremedial
    ADD CONSTRAINT line_remedial_once UNIQUE (line_id, remedial_id);

ALTER TABLE ONLY public.post_message
    ADD CONSTRAINT message_reminder_once_a_week EXCLUDE USING gist (about WITH =, to_id WITH =, tstzrange(written_at, quiet_until) WITH &&) WHERE (reminder);

ALTER TABLE ONLY public.inspections_meterfigure
    ADD CONSTRAINT meter_figure_one_of_each UNIQUE (comparison_id, relied_on);

ALTER TABLE ONLY public.mfa_authenticator
    ADD CONSTRAINT mfa_authenticator_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.inspections_notseenagain
    ADD CONSTRAINT not_seen_again_once UNIQUE (inspection_id, observation_id);

ALTER TABLE ONLY public.inspections_observationphoto
    ADD CONSTRAINT observation_photo_once UNIQUE (observation_id, file_id);

ALTER TABLE ONLY public.quotes_offer
    ADD CONSTRAINT offer_number_once UNIQUE (quote_id, number);

ALTER TABLE ONLY public.visits_offeredtime
    ADD CONSTRAINT offered_time_once UNIQUE (offer_id, start);

ALTER TABLE ONLY public.visits_attendance
    ADD CONSTRAINT one_place_at_a_time EXCLUDE USING gist (engineer_id WITH =, tstzrange(start, "end", '[)'::text) WITH &&) WHERE ((NOT cancelled));

ALTER TABLE ONLY public.inspections_paperdocument
    ADD CONSTRAINT paper_document_once UNIQUE (paper_id, file_id);

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT paper_once_a_change UNIQUE (change_id, duty);

ALTER TABLE ONLY public.inspections_papersupply
    ADD CONSTRAINT paper_supply_once UNIQUE (form, "to");

ALTER TABLE ONLY public.premises_partyatunit
    ADD CONSTRAINT party_role_once UNIQUE (unit_id, party_id, role, since);

ALTER TABLE ONLY public.people_accesstoken
    ADD CONSTRAINT people_accesstoken_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_accesstoken
    ADD CONSTRAINT people_accesstoken_token_hash_key UNIQUE (token_hash);

ALTER TABLE ONLY public.people_competence
    ADD CONSTRAINT people_competence_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_instrument
    ADD CONSTRAINT people_instrument_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_instrument
    ADD CONSTRAINT people_instrument_serial_number_key UNIQUE (serial_number);

ALTER TABLE ONLY public.people_instrumentcheck
    ADD CONSTRAINT people_instrumentcheck_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_instrumentfault
    ADD CONSTRAINT people_instrumentfault_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_leave
    ADD CONSTRAINT people_leave_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_privatelink
    ADD CONSTRAINT people_privatelink_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_privatelink
    ADD CONSTRAINT people_privatelink_token_hash_key UNIQUE (token_hash);

ALTER TABLE ONLY public.people_shift
    ADD CONSTRAINT people_shift_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_signin
    ADD CONSTRAINT people_signin_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_skill
    ADD CONSTRAINT people_skill_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_user
    ADD CONSTRAINT people_user_email_key UNIQUE (email);

ALTER TABLE ONLY public.people_user
    ADD CONSTRAINT people_user_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_workingweek
    ADD CONSTRAINT people_workingweek_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.post_message
    ADD CONSTRAINT post_message_number_key UNIQUE (number);

ALTER TABLE ONLY public.post_message
    ADD CONSTRAINT post_message_occasion_key UNIQUE (occasion);

ALTER TABLE ONLY public.post_message
    ADD CONSTRAINT post_message_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_board
    ADD CONSTRAINT premises_board_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_board
    ADD CONSTRAINT premises_board_replaced_by_id_key UNIQUE (replaced_by_id);

ALTER TABLE ONLY public.premises_board_units
    ADD CONSTRAINT premises_board_units_board_id_unit_id_e2df5efc_uniq UNIQUE (board_id, unit_id);

ALTER TABLE ONLY public.premises_board_units
    ADD CONSTRAINT premises_board_units_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_boarddocument
    ADD CONSTRAINT premises_boarddocument_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_boardseen
    ADD CONSTRAINT premises_boardseen_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_circuit
    ADD CONSTRAINT premises_circuit_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_circuitlink
    ADD CONSTRAINT premises_circuitlink_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_feed
    ADD CONSTRAINT premises_feed_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_formercustomer
    ADD CONSTRAINT premises_formercustomer_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_party
    ADD CONSTRAINT premises_party_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_partyatunit
    ADD CONSTRAINT premises_partyatunit_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_secondsource
    ADD CONSTRAINT premises_secondsource_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_site
    ADD CONSTRAINT premises_site_number_key UNIQUE (number);

ALTER TABLE ONLY public.premises_site
    ADD CONSTRAINT premises_site_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_siteaccess
    ADD CONSTRAINT premises_siteaccess_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_supply
    ADD CONSTRAINT premises_supply_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_switchingtest
    ADD CONSTRAINT premises_switchingtest_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_unit
    ADD CONSTRAINT premises_unit_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.premises_verification
    ADD CONSTRAINT premises_verification_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_proofphoto
    ADD CONSTRAINT proof_photo_once UNIQUE NULLS NOT DISTINCT (remedial_id, observation_id, file_id);

ALTER TABLE ONLY public.quotes_quotesite
    ADD CONSTRAINT quote_site_once UNIQUE (quote_id, site_id);

ALTER TABLE ONLY public.quotes_answer
    ADD CONSTRAINT quotes_answer_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_costing
    ADD CONSTRAINT quotes_costing_pkey PRIMARY KEY (remedial_id);

ALTER TABLE ONLY public.quotes_line
    ADD CONSTRAINT quotes_line_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_lineanswer
    ADD CONSTRAINT quotes_lineanswer_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_lineremedial
    ADD CONSTRAINT quotes_lineremedial_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_offer
    ADD CONSTRAINT quotes_offer_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_question
    ADD CONSTRAINT quotes_question_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_quote
    ADD CONSTRAINT quotes_quote_number_key UNIQUE (number);

ALTER TABLE ONLY public.quotes_quote
    ADD CONSTRAINT quotes_quote_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_quotesite
    ADD CONSTRAINT quotes_quotesite_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_rate
    ADD CONSTRAINT quotes_rate_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_remark
    ADD CONSTRAINT quotes_remark_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_standarditem
    ADD CONSTRAINT quotes_standarditem_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_standardjob
    ADD CONSTRAINT quotes_standardjob_folded_key UNIQUE (folded);

ALTER TABLE ONLY public.quotes_standardjob
    ADD CONSTRAINT quotes_standardjob_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_terms
    ADD CONSTRAINT quotes_terms_holds_from_key UNIQUE (holds_from);

ALTER TABLE ONLY public.quotes_terms
    ADD CONSTRAINT quotes_terms_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.quotes_rate
    ADD CONSTRAINT rate_once_a_skill UNIQUE (terms_id, skill);

ALTER TABLE ONLY public.works_remedies
    ADD CONSTRAINT remedies_once UNIQUE (remedial_id, observation_id);

ALTER TABLE ONLY public.works_requiredreading
    ADD CONSTRAINT required_reading_once UNIQUE (remedial_id, circuit_id, quantity);

ALTER TABLE ONLY public.running_slowstatement
    ADD CONSTRAINT running_slowstatement_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.people_shift
    ADD CONSTRAINT shift_once_a_weekday UNIQUE (week_id, weekday);

ALTER TABLE ONLY public.premises_siteaccess
    ADD CONSTRAINT site_access_once UNIQUE (site_id, user_id);

ALTER TABLE ONLY public.people_skill
    ADD CONSTRAINT skill_once_a_day UNIQUE (user_id, sort, since);

ALTER TABLE ONLY public.running_slowstatement
    ADD CONSTRAINT slow_statement_once_a_place UNIQUE (place, digest);

ALTER TABLE ONLY public.quotes_standarditem
    ADD CONSTRAINT standard_item_position UNIQUE (job_id, "position");

ALTER TABLE ONLY public.status_bundle
    ADD CONSTRAINT status_bundle_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.status_erasure
    ADD CONSTRAINT status_erasure_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.status_reportcopy
    ADD CONSTRAINT status_reportcopy_pkey PRIMARY KEY (document_id);

ALTER TABLE ONLY public.status_retention
    ADD CONSTRAINT status_retention_kind_key UNIQUE (kind);

ALTER TABLE ONLY public.status_retention
    ADD CONSTRAINT status_retention_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.due_trouble
    ADD CONSTRAINT trouble_once UNIQUE (part, what);

ALTER TABLE ONLY public.visits_unplanned
    ADD CONSTRAINT unplanned_once UNIQUE (plan_id, remedial_id);

ALTER TABLE ONLY public.works_used
    ADD CONSTRAINT used_one_place UNIQUE (stint_id, "position");

ALTER TABLE ONLY public.usersessions_usersession
    ADD CONSTRAINT usersessions_usersession_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.usersessions_usersession
    ADD CONSTRAINT usersessions_usersession_session_key_key UNIQUE (session_key);

ALTER TABLE ONLY public.visits_visitline
    ADD CONSTRAINT visit_line_once UNIQUE (visit_id, remedial_id);

ALTER TABLE ONLY public.visits_accesstime
    ADD CONSTRAINT visits_accesstime_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_alarmcode
    ADD CONSTRAINT visits_alarmcode_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_attempt
    ADD CONSTRAINT visits_attempt_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_attendance
    ADD CONSTRAINT visits_attendance_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_checkin
    ADD CONSTRAINT visits_checkin_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_closeddays
    ADD CONSTRAINT visits_closeddays_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_confirmation
    ADD CONSTRAINT visits_confirmation_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_diaryterms
    ADD CONSTRAINT visits_diaryterms_holds_from_key UNIQUE (holds_from);

ALTER TABLE ONLY public.visits_diaryterms
    ADD CONSTRAINT visits_diaryterms_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_drivingtime
    ADD CONSTRAINT visits_drivingtime_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_feed
    ADD CONSTRAINT visits_feed_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_feed
    ADD CONSTRAINT visits_feed_token_hash_key UNIQUE (token_hash);

ALTER TABLE ONLY public.visits_keymove
    ADD CONSTRAINT visits_keymove_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_occupiernote
    ADD CONSTRAINT visits_occupiernote_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_occupiernote
    ADD CONSTRAINT visits_occupiernote_unit_id_key UNIQUE (unit_id);

ALTER TABLE ONLY public.visits_offeredtime
    ADD CONSTRAINT visits_offeredtime_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_plan
    ADD CONSTRAINT visits_plan_number_key UNIQUE (number);

ALTER TABLE ONLY public.visits_plan
    ADD CONSTRAINT visits_plan_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_proposal_engineers
    ADD CONSTRAINT visits_proposal_engineers_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_proposal_engineers
    ADD CONSTRAINT visits_proposal_engineers_proposal_id_user_id_3e95c0c5_uniq UNIQUE (proposal_id, user_id);

ALTER TABLE ONLY public.visits_proposal
    ADD CONSTRAINT visits_proposal_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_proposal_remedials
    ADD CONSTRAINT visits_proposal_remedials_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_proposal_remedials
    ADD CONSTRAINT visits_proposal_remedials_proposal_id_remedial_id_32999288_uniq UNIQUE (proposal_id, remedial_id);

ALTER TABLE ONLY public.visits_seeto
    ADD CONSTRAINT visits_seeto_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_sitekey
    ADD CONSTRAINT visits_sitekey_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_sitekey
    ADD CONSTRAINT visits_sitekey_tag_key UNIQUE (tag);

ALTER TABLE ONLY public.visits_timesoffer_engineers
    ADD CONSTRAINT visits_timesoffer_engineers_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_timesoffer_engineers
    ADD CONSTRAINT visits_timesoffer_engineers_timesoffer_id_user_id_010bc8fa_uniq UNIQUE (timesoffer_id, user_id);

ALTER TABLE ONLY public.visits_timesoffer
    ADD CONSTRAINT visits_timesoffer_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_timesoffer_remedials
    ADD CONSTRAINT visits_timesoffer_remedi_timesoffer_id_remedial_i_64c3f8d6_uniq UNIQUE (timesoffer_id, remedial_id);

ALTER TABLE ONLY public.visits_timesoffer_remedials
    ADD CONSTRAINT visits_timesoffer_remedials_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_unplanned
    ADD CONSTRAINT visits_unplanned_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_visit
    ADD CONSTRAINT visits_visit_number_key UNIQUE (number);

ALTER TABLE ONLY public.visits_visit
    ADD CONSTRAINT visits_visit_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_visitline
    ADD CONSTRAINT visits_visitline_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.visits_visitmove
    ADD CONSTRAINT visits_visitmove_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.ledger_words
    ADD CONSTRAINT words_once_an_entry UNIQUE (entry, name);

ALTER TABLE ONLY public.people_workingweek
    ADD CONSTRAINT working_week_once_a_day UNIQUE (user_id, holds_from);

ALTER TABLE ONLY public.works_approval
    ADD CONSTRAINT works_approval_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_item
    ADD CONSTRAINT works_item_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_powerstep
    ADD CONSTRAINT works_powerstep_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_proof
    ADD CONSTRAINT works_proof_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_proof_readings
    ADD CONSTRAINT works_proof_readings_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_proof_readings
    ADD CONSTRAINT works_proof_readings_proof_id_reading_id_73fe5bef_uniq UNIQUE (proof_id, reading_id);

ALTER TABLE ONLY public.works_proofphoto
    ADD CONSTRAINT works_proofphoto_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_proofreview
    ADD CONSTRAINT works_proofreview_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_proofreview
    ADD CONSTRAINT works_proofreview_proof_id_key UNIQUE (proof_id);

ALTER TABLE ONLY public.works_recalldecision
    ADD CONSTRAINT works_recalldecision_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_remedial
    ADD CONSTRAINT works_remedial_number_key UNIQUE (number);

ALTER TABLE ONLY public.works_remedial
    ADD CONSTRAINT works_remedial_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_remedies
    ADD CONSTRAINT works_remedies_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_requiredreading
    ADD CONSTRAINT works_requiredreading_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_stint
    ADD CONSTRAINT works_stint_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_stint
    ADD CONSTRAINT works_stint_proof_id_key UNIQUE (proof_id);

ALTER TABLE ONLY public.works_used
    ADD CONSTRAINT works_used_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_waiting
    ADD CONSTRAINT works_waiting_pkey PRIMARY KEY (id);

ALTER TABLE ONLY public.works_wayout
    ADD CONSTRAINT works_wayout_pkey PRIMARY KEY (id);

CREATE INDEX account_emailaddress_email_03be32b2 ON public.account_emailaddress USING btree (email);

CREATE INDEX account_emailaddress_email_03be32b2_like ON public.account_emailaddress USING btree (email varchar_pattern_ops);

CREATE INDEX account_emailaddress_user_id_2c513194 ON public.account_emailaddress USING btree (user_id);

CREATE INDEX account_emailconfirmation_email_address_id_5b7f8c58 ON public.account_emailconfirmation USING btree (email_address_id);

CREATE INDEX account_emailconfirmation_key_f43612bd_like ON public.account_emailconfirmation USING btree (key varchar_pattern_ops);

CREATE INDEX attempts_of_site ON public.visits_attempt USING btree (site_id, at);

CREATE INDEX auth_group_name_a6ea08ec_like ON public.auth_group USING btree (name varchar_pattern_ops);

CREATE INDEX auth_group_permissions_group_id_b120cbf9 ON public.auth_group_permissions USING btree (group_id);

CREATE INDEX auth_group_permissions_permission_id_84c5c92e ON public.auth_group_permissions USING btree (permission_id);

CREATE INDEX auth_permission_content_type_id_2f476e4b ON public.auth_permission USING btree (content_type_id);

CREATE INDEX board_document_list ON public.premises_boarddocument USING btree (board_id, made_at DESC);

CREATE INDEX board_list ON public.premises_board USING btree (site_id, sort);

CREATE UNIQUE INDEX board_name_once_a_site ON public.premises_board USING btree (site_id, sort) WHERE (retired_at IS NULL);

CREATE INDEX bundle_of_site ON public.status_bundle USING btree (site_id, asked_at DESC);

CREATE INDEX cache_expires ON public.cache USING btree (expires);

CREATE UNIQUE INDEX check_in_one_place ON public.visits_checkin USING btree (user_id) WHERE (out_at IS NULL);

CREATE INDEX check_ins_overdue ON public.visits_checkin USING btree (out_by) WHERE (out_at IS NULL);

CREATE INDEX check_of_instrument ON public.people_instrumentcheck USING btree (instrument_id, checked_on DESC);

CREATE UNIQUE INDEX circuit_one_a_way ON public.premises_circuit USING btree (board_id, way, phase) WHERE (retired_at IS NULL);

CREATE INDEX correction_of_fact ON public.inspections_factcorrection USING btree (fact, holds_from DESC, at DESC);

CREATE INDEX desk_takeout_asked_by_id_ce8698fd ON public.desk_takeout USING btree (asked_by_id);

CREATE INDEX desk_takeout_progress_id_5238f446 ON public.desk_takeout USING btree (progress_id);

CREATE INDEX django_session_expire_date_a5c62663 ON public.django_session USING btree (expire_date);

CREATE INDEX django_session_session_key_c0390e0f_like ON public.django_session USING btree (session_key varchar_pattern_ops);

CREATE INDEX document_of_party ON public.ledger_document USING btree (party, made_at DESC);

CREATE INDEX document_of_site ON public.ledger_document USING btree (site, made_at DESC);

CREATE UNIQUE INDEX document_said_once ON public.ledger_document USING btree (kind, site, unit, party, subject, as_of, said) NULLS NOT DISTINCT WHERE (NOT (said = ''::text));

CREATE INDEX done_once_by_age ON public.ledger_doneonce USING btree (at);

CREATE INDEX due_leaving_letter_id_12070f8e ON public.due_leaving USING btree (letter_id);

CREATE INDEX due_leaving_letter_id_12070f8e_like ON public.due_leaving USING btree (letter_id text_pattern_ops);

CREATE INDEX due_leaving_owner_id_eb27be81 ON public.due_leaving USING btree (owner_id);

CREATE INDEX due_leaving_proof_id_1b8d9cc3 ON public.due_leaving USING btree (proof_id);

CREATE INDEX due_leaving_proof_id_1b8d9cc3_like ON public.due_leaving USING btree (proof_id text_pattern_ops);

CREATE INDEX due_leaving_site_id_f23fdd62 ON public.due_leaving USING btree (site_id);

CREATE INDEX due_leaving_written_by_id_afae979d ON public.due_leaving USING btree (written_by_id);

CREATE INDEX due_noreminders_noted_by_id_8975f334 ON public.due_noreminders USING btree (noted_by_id);

CREATE INDEX due_noreminders_party_id_c49dd3d4 ON public.due_noreminders USING btree (party_id);

CREATE INDEX due_reminderrule_sort_df94fde3_like ON public.due_reminderrule USING btree (sort text_pattern_ops);

CREATE INDEX due_undertaking_by_id_57dec29c ON public.due_undertaking USING btree (by_id);

CREATE INDEX due_undertaking_instead_of_id_b537a1c8 ON public.due_undertaking USING btree (instead_of_id);

CREATE INDEX due_undertaking_site_id_94acd531 ON public.due_undertaking USING btree (site_id);

CREATE INDEX entry_by_file ON public.ledger_entry USING btree (((facts ->> 'file'::text))) WHERE (facts ? 'file'::text);

CREATE INDEX entry_by_subject ON public.ledger_entry USING btree (subject);

CREATE INDEX erasure_of_party ON public.status_erasure USING btree (party_id);

CREATE INDEX fault_of_instrument ON public.people_instrumentfault USING btree (instrument_id);

CREATE UNIQUE INDEX feed_one_each ON public.visits_feed USING btree (user_id) NULLS NOT DISTINCT WHERE (withdrawn_at IS NULL);

CREATE UNIQUE INDEX feed_one_verified_normal ON public.premises_feed USING btree (board_id) WHERE ((kind = 'normal'::text) AND verified);

CREATE INDEX firm_heartbeat_name_9d9878ed_like ON public.firm_heartbeat USING btree (name text_pattern_ops);

CREATE INDEX firm_sequence_name_9b717665_like ON public.firm_sequence USING btree (name text_pattern_ops);

CREATE INDEX hold_in_force ON public.ledger_hold USING btree (site) WHERE (lifted_at IS NULL);

CREATE INDEX inspection_due_on ON public.inspections_inspectiondue USING btree (due_on);

CREATE INDEX inspection_of_site ON public.inspections_inspection USING btree (site_id, inspected_on DESC);

CREATE UNIQUE INDEX inspection_one_visit_to_come ON public.visits_visitline USING btree (unit_id) WHERE (active AND (settled_at IS NULL));

CREATE INDEX inspections_dangernotice_given_by_id_1150bbc2 ON public.inspections_dangernotice USING btree (given_by_id);

CREATE INDEX inspections_dangernotice_observations_dangernotice_id_734b79df ON public.inspections_dangernotice_observations USING btree (dangernotice_id);

CREATE INDEX inspections_dangernotice_observations_observation_id_65258111 ON public.inspections_dangernotice_observations USING btree (observation_id);

CREATE INDEX inspections_dangernotice_site_id_68687cb1 ON public.inspections_dangernotice USING btree (site_id);

CREATE INDEX inspections_factcorrection_by_id_965bd13e ON public.inspections_factcorrection USING btree (by_id);

CREATE INDEX inspections_inspection_boards_board_id_decaccf7 ON public.inspections_inspection_boards USING btree (board_id);

CREATE INDEX inspections_inspection_boards_inspection_id_fa6ac0aa ON public.inspections_inspection_boards USING btree (inspection_id);

CREATE INDEX inspections_inspection_file_id_fac2c7eb ON public.inspections_inspection USING btree (file_id);

CREATE INDEX inspections_inspection_file_id_fac2c7eb_like ON public.inspections_inspection USING btree (file_id text_pattern_ops);

CREATE INDEX inspections_inspection_inspector_id_aaec4b84 ON public.inspections_inspection USING btree (inspector_id);

CREATE INDEX inspections_inspection_issued_by_id_9b873f1e ON public.inspections_inspection USING btree (issued_by_id);

CREATE INDEX inspections_inspection_recorded_by_id_ab9f4a19 ON public.inspections_inspection USING btree (recorded_by_id);

CREATE INDEX inspections_inspection_site_id_03179147 ON public.inspections_inspection USING btree (site_id);

CREATE INDEX inspections_inspection_units_inspection_id_22ca9069 ON public.inspections_inspection_units USING btree (inspection_id);

CREATE INDEX inspections_inspection_units_unit_id_47d70155 ON public.inspections_inspection_units USING btree (unit_id);

CREATE INDEX inspections_inspectiondue_after_id_41cbf1c8 ON public.inspections_inspectiondue USING btree (after_id);

CREATE INDEX inspections_inspectiondue_owner_id_91d9c319 ON public.inspections_inspectiondue USING btree (owner_id);

CREATE INDEX inspections_intake_asked_by_id_135f6f0c ON public.inspections_intake USING btree (asked_by_id);

CREATE INDEX inspections_intake_file_id_0d04ac8d ON public.inspections_intake USING btree (file_id);

CREATE INDEX inspections_intake_file_id_0d04ac8d_like ON public.inspections_intake USING btree (file_id text_pattern_ops);

CREATE INDEX inspections_intake_site_id_44174be7 ON public.inspections_intake USING btree (site_id);

CREATE INDEX inspections_intake_unit_id_99b1f343 ON public.inspections_intake USING btree (unit_id);

CREATE INDEX inspections_intake_uploaded_by_id_4ea7fdd2 ON public.inspections_intake USING btree (uploaded_by_id);

CREATE INDEX inspections_limitation_board_id_0967cce2 ON public.inspections_limitation USING btree (board_id);

CREATE INDEX inspections_limitation_covered_by_id_750a7b61 ON public.inspections_limitation USING btree (covered_by_id);

CREATE INDEX inspections_limitation_inspection_id_70124809 ON public.inspections_limitation USING btree (inspection_id);

CREATE INDEX inspections_limitation_unit_id_44485bbf ON public.inspections_limitation USING btree (unit_id);

CREATE INDEX inspections_madesafe_by_id_115d1058 ON public.inspections_madesafe USING btree (by_id);

CREATE INDEX inspections_madesafe_looker_id_0a885464 ON public.inspections_madesafe USING btree (looker_id);

CREATE INDEX inspections_madesafe_observation_id_29214817 ON public.inspections_madesafe USING btree (observation_id);

CREATE INDEX inspections_madesafe_photo_id_49f02a91 ON public.inspections_madesafe USING btree (photo_id);

CREATE INDEX inspections_madesafe_photo_id_49f02a91_like ON public.inspections_madesafe USING btree (photo_id text_pattern_ops);

CREATE INDEX inspections_metercomparison_observation_id_6e44c31e ON public.inspections_metercomparison USING btree (observation_id);

CREATE INDEX inspections_metercomparison_site_id_c53bae17 ON public.inspections_metercomparison USING btree (site_id);

CREATE INDEX inspections_metercomparison_taken_by_id_84e8125b ON public.inspections_metercomparison USING btree (taken_by_id);

CREATE INDEX inspections_meterfigure_comparison_id_e67393db ON public.inspections_meterfigure USING btree (comparison_id);

CREATE INDEX inspections_meterfigure_instrument_id_75934f51 ON public.inspections_meterfigure USING btree (instrument_id);

CREATE INDEX inspections_notseenagain_by_id_e574db51 ON public.inspections_notseenagain USING btree (by_id);

CREATE INDEX inspections_notseenagain_inspection_id_1f676ed0 ON public.inspections_notseenagain USING btree (inspection_id);

CREATE INDEX inspections_notseenagain_observation_id_89952e72 ON public.inspections_notseenagain USING btree (observation_id);

CREATE INDEX inspections_observation_board_id_3b0637f9 ON public.inspections_observation USING btree (board_id);

CREATE INDEX inspections_observation_circuit_id_ff247a53 ON public.inspections_observation USING btree (circuit_id);

CREATE INDEX inspections_observation_continues_id_91e3d434 ON public.inspections_observation USING btree (continues_id);

CREATE INDEX inspections_observation_inspection_id_a8633405 ON public.inspections_observation USING btree (inspection_id);

CREATE INDEX inspections_observation_missed_in_id_40f6119c ON public.inspections_observation USING btree (missed_in_id);

CREATE INDEX inspections_observation_owner_id_b621fe28 ON public.inspections_observation USING btree (owner_id);

CREATE INDEX inspections_observation_recorded_by_id_38674067 ON public.inspections_observation USING btree (recorded_by_id);

CREATE INDEX inspections_observation_site_id_a64c3047 ON public.inspections_observation USING btree (site_id);

CREATE INDEX inspections_observation_unit_id_a0f3f868 ON public.inspections_observation USING btree (unit_id);

CREATE INDEX inspections_observationphoto_added_by_id_a9e9e4c1 ON public.inspections_observationphoto USING btree (added_by_id);

CREATE INDEX inspections_observationphoto_file_id_72c8492e ON public.inspections_observationphoto USING btree (file_id);

CREATE INDEX inspections_observationphoto_file_id_72c8492e_like ON public.inspections_observationphoto USING btree (file_id text_pattern_ops);

CREATE INDEX inspections_observationphoto_observation_id_76b29fec ON public.inspections_observationphoto USING btree (observation_id);

CREATE INDEX inspections_occupancychange_occupier_id_8427b352 ON public.inspections_occupancychange USING btree (occupier_id);

CREATE INDEX inspections_occupancychange_recorded_by_id_0854c5ee ON public.inspections_occupancychange USING btree (recorded_by_id);

CREATE INDEX inspections_occupancychange_site_id_dd478f5a ON public.inspections_occupancychange USING btree (site_id);

CREATE INDEX inspections_occupancychange_unit_id_8fcab0e0 ON public.inspections_occupancychange USING btree (unit_id);

CREATE INDEX inspections_paper_answered_by_id_65127de8 ON public.inspections_paper USING btree (answered_by_id);

CREATE INDEX inspections_paper_change_id_4e3c2570 ON public.inspections_paper USING btree (change_id);

CREATE INDEX inspections_paper_inspection_id_42d476e7 ON public.inspections_paper USING btree (inspection_id);

CREATE INDEX inspections_paper_owner_id_2235eb60 ON public.inspections_paper USING btree (owner_id);

CREATE INDEX inspections_paper_request_id_fbb89384 ON public.inspections_paper USING btree (request_id);

CREATE INDEX inspections_paper_site_id_1ad1ea65 ON public.inspections_paper USING btree (site_id);

CREATE INDEX inspections_paper_unit_id_25aa624c ON public.inspections_paper USING btree (unit_id);

CREATE INDEX inspections_paperdocument_file_id_a6caea20 ON public.inspections_paperdocument USING btree (file_id);

CREATE INDEX inspections_paperdocument_file_id_a6caea20_like ON public.inspections_paperdocument USING btree (file_id text_pattern_ops);

CREATE INDEX inspections_paperdocument_made_by_id_6c00ab1c ON public.inspections_paperdocument USING btree (made_by_id);

CREATE INDEX inspections_paperdocument_paper_id_f7be725f ON public.inspections_paperdocument USING btree (paper_id);

CREATE INDEX inspections_paperrequest_inspection_id_bda8eaed ON public.inspections_paperrequest USING btree (inspection_id);

CREATE INDEX inspections_paperrequest_recorded_by_id_84183bb4 ON public.inspections_paperrequest USING btree (recorded_by_id);

CREATE INDEX inspections_paperrequest_site_id_0b8b6d26 ON public.inspections_paperrequest USING btree (site_id);

CREATE INDEX inspections_paperrequest_unit_id_f8873d5d ON public.inspections_paperrequest USING btree (unit_id);

CREATE INDEX inspections_papersupply_document_id_0f6a5120 ON public.inspections_papersupply USING btree (document_id);

CREATE INDEX inspections_papersupply_file_id_7b4b8b40 ON public.inspections_papersupply USING btree (file_id);

CREATE INDEX inspections_papersupply_file_id_7b4b8b40_like ON public.inspections_papersupply USING btree (file_id text_pattern_ops);

CREATE INDEX inspections_papersupply_paper_id_9e02c9d7 ON public.inspections_papersupply USING btree (paper_id);

CREATE INDEX inspections_papersupply_party_id_190a7403 ON public.inspections_papersupply USING btree (party_id);

CREATE INDEX inspections_papersupply_recorded_by_id_07996b0a ON public.inspections_papersupply USING btree (recorded_by_id);

CREATE INDEX inspections_reading_board_id_e06be890 ON public.inspections_reading USING btree (board_id);

CREATE INDEX inspections_reading_circuit_id_9ab45840 ON public.inspections_reading USING btree (circuit_id);

CREATE INDEX inspections_reading_inspection_id_65cf91c2 ON public.inspections_reading USING btree (inspection_id);

CREATE INDEX inspections_reading_instrument_id_f968039d ON public.inspections_reading USING btree (instrument_id);

CREATE INDEX inspections_reading_site_id_ae51613c ON public.inspections_reading USING btree (site_id);

CREATE INDEX inspections_reading_supply_id_28bff485 ON public.inspections_reading USING btree (supply_id);

CREATE INDEX inspections_reading_taken_by_id_82f8ae5a ON public.inspections_reading USING btree (taken_by_id);

CREATE INDEX inspections_review_by_id_33fbc857 ON public.inspections_review USING btree (by_id);

CREATE INDEX inspections_review_observation_id_11668fd6 ON public.inspections_review USING btree (observation_id);

CREATE UNIQUE INDEX intake_same_file_once ON public.inspections_intake USING btree (site_id, kind, file_id) WHERE (state = 'taken-in'::text);

CREATE INDEX item_of_remedial ON public.works_item USING btree (remedial_id);

CREATE INDEX leave_of_user ON public.people_leave USING btree (user_id, first);

CREATE UNIQUE INDEX leaving_one_stands ON public.due_leaving USING btree (site_id) WHERE (taken_back_at IS NULL);

CREATE INDEX ledger_document_file_id_bd461a52 ON public.ledger_document USING btree (file_id);

CREATE INDEX ledger_document_file_id_bd461a52_like ON public.ledger_document USING btree (file_id text_pattern_ops);

CREATE INDEX ledger_storedfile_hash_22deea82_like ON public.ledger_storedfile USING btree (hash text_pattern_ops);

CREATE UNIQUE INDEX line_answer_one_stands ON public.quotes_lineanswer USING btree (line_id) WHERE stands;

CREATE INDEX line_of_remedial ON public.quotes_lineremedial USING btree (remedial_id);

CREATE UNIQUE INDEX line_one_call_out ON public.quotes_line USING btree (offer_id, site_id) NULLS NOT DISTINCT WHERE (kind = 'call-out'::text);

CREATE INDEX link_of_party ON public.people_privatelink USING btree (party) WHERE (party IS NOT NULL);

CREATE INDEX link_of_site ON public.people_privatelink USING btree (site);

CREATE INDEX link_of_thing ON public.people_privatelink USING btree (thing) WHERE (thing IS NOT NULL);

CREATE UNIQUE INDEX look_one_visit_to_come ON public.visits_visitline USING btree (observation_id, kind) WHERE (active AND (settled_at IS NULL));

CREATE UNIQUE INDEX made_safe_one_stands ON public.inspections_madesafe USING btree (observation_id) WHERE (ended = ''::text);

CREATE INDEX message_being_sent ON public.post_message USING btree (claimed_at) WHERE (state = 'sending'::text);

CREATE INDEX message_handed_over ON public.post_message USING btree (settled_at DESC) WHERE (handed_at IS NOT NULL);

CREATE INDEX message_in_turn ON public.post_message USING btree (danger DESC, next_try_at) WHERE (state = 'waiting'::text);

CREATE INDEX message_latest_first ON public.post_message USING btree (written_at DESC, id DESC);

CREATE INDEX message_of_reason ON public.post_message USING btree (reason_kind, reason_ref);

CREATE INDEX message_of_site ON public.post_message USING btree (site, written_at);

CREATE INDEX message_to_address ON public.post_message USING btree (lower((address)::text), written_at DESC);

CREATE INDEX message_to_somebody ON public.post_message USING btree (to_id, written_at DESC);

CREATE INDEX meters_of_observation ON public.inspections_metercomparison USING btree (observation_id, taken_at DESC);

CREATE INDEX mfa_authenticator_user_id_0c3a50c0 ON public.mfa_authenticator USING btree (user_id);

CREATE INDEX moves_of_key ON public.visits_keymove USING btree (key_id, at);

CREATE UNIQUE INDEX no_reminders_one_stands ON public.due_noreminders USING btree (party_id) WHERE (lifted_at IS NULL);

CREATE INDEX observation_danger_by_step ON public.inspections_observation USING btree (step_by) WHERE ((code = 'C1'::text) AND (NOT draft) AND (ended = ''::text) AND (NOT made_safe));

CREATE INDEX observation_grave_by_step ON public.inspections_observation USING btree (step_by) WHERE ((NOT draft) AND (ended = ''::text) AND (NOT (code = 'C3'::text)));

CREATE INDEX observation_grave_of_owner ON public.inspections_observation USING btree (owner_id) WHERE ((NOT draft) AND (ended = ''::text) AND (NOT (code = 'C3'::text)));

CREATE INDEX observation_of_inspection ON public.inspections_observation USING btree (inspection_id);

CREATE INDEX observation_open_at_board ON public.inspections_observation USING btree (board_id) WHERE (ended = ''::text);

CREATE INDEX observation_open_at_site ON public.inspections_observation USING btree (site_id) WHERE (ended = ''::text);

CREATE INDEX observation_open_by_step ON public.inspections_observation USING btree (step_by) WHERE ((NOT draft) AND (ended = ''::text));

CREATE INDEX observation_uncoded_due ON public.inspections_observation USING btree (step_by) WHERE ((code = ''::text) AND (NOT draft) AND (ended = ''::text));

CREATE INDEX occupancy_of_unit ON public.inspections_occupancychange USING btree (unit_id, since DESC);

CREATE UNIQUE INDEX offer_one_draft ON public.quotes_offer USING btree (quote_id) WHERE (state = 'draft'::text);

CREATE UNIQUE INDEX offer_one_stands ON public.quotes_offer USING btree (quote_id) WHERE (state = 'sent'::text);

CREATE INDEX paper_due ON public.inspections_paper USING btree (due_on) WHERE (answer = ''::text);

CREATE INDEX paper_of_report ON public.inspections_paper USING btree (inspection_id);

CREATE INDEX paper_of_work ON public.inspections_paper USING btree (work) WHERE (work IS NOT NULL);

CREATE UNIQUE INDEX paper_once ON public.inspections_paper USING btree (inspection_id, request_id, work, unit_id, duty) NULLS NOT DISTINCT WHERE ((change_id IS NULL) AND (superseded_at IS NULL));

CREATE INDEX paper_request_of_report ON public.inspections_paperrequest USING btree (inspection_id);

CREATE INDEX paper_supply_of_paper ON public.inspections_papersupply USING btree (paper_id);

CREATE INDEX party_list ON public.premises_party USING btree (sort, id);

CREATE INDEX people_accesstoken_user_id_69d3c73f ON public.people_accesstoken USING btree (user_id);

CREATE INDEX people_competence_recorded_by_id_59ff5e54 ON public.people_competence USING btree (recorded_by_id);

CREATE INDEX people_competence_user_id_f21bb913 ON public.people_competence USING btree (user_id);

CREATE INDEX people_instrument_serial_number_31882aa4_like ON public.people_instrument USING btree (serial_number text_pattern_ops);

CREATE INDEX people_instrumentcheck_file_id_0d9a2d02 ON public.people_instrumentcheck USING btree (file_id);

CREATE INDEX people_instrumentcheck_file_id_0d9a2d02_like ON public.people_instrumentcheck USING btree (file_id text_pattern_ops);

CREATE INDEX people_instrumentcheck_instrument_id_9568ced1 ON public.people_instrumentcheck USING btree (instrument_id);

CREATE INDEX people_instrumentcheck_recorded_by_id_40c8283a ON public.people_instrumentcheck USING btree (recorded_by_id);

CREATE INDEX people_instrumentfault_instrument_id_3449423f ON public.people_instrumentfault USING btree (instrument_id);

CREATE INDEX people_instrumentfault_recorded_by_id_d890aeac ON public.people_instrumentfault USING btree (recorded_by_id);

CREATE INDEX people_leave_recorded_by_id_c5e2f81b ON public.people_leave USING btree (recorded_by_id);

CREATE INDEX people_leave_user_id_badcba00 ON public.people_leave USING btree (user_id);

CREATE INDEX people_privatelink_made_by_id_fd99c115 ON public.people_privatelink USING btree (made_by_id);

CREATE INDEX people_shift_week_id_c8a3444a ON public.people_shift USING btree (week_id);

CREATE INDEX people_signin_user_id_2cdf070e ON public.people_signin USING btree (user_id);

CREATE INDEX people_skill_recorded_by_id_42a0091a ON public.people_skill USING btree (recorded_by_id);

CREATE INDEX people_skill_user_id_dc4268a1 ON public.people_skill USING btree (user_id);

CREATE INDEX people_user_email_1f424fe4_like ON public.people_user USING btree (email varchar_pattern_ops);

CREATE INDEX people_workingweek_recorded_by_id_077519e4 ON public.people_workingweek USING btree (recorded_by_id);

CREATE INDEX people_workingweek_user_id_63bf7a34 ON public.people_workingweek USING btree (user_id);

CREATE INDEX post_message_occasion_df761409_like ON public.post_message USING btree (occasion text_pattern_ops);

CREATE INDEX power_step_of_remedial ON public.works_powerstep USING btree (remedial_id, at);

CREATE INDEX premises_board_label_noted_by_id_6e56a196 ON public.premises_board USING btree (label_noted_by_id);

CREATE INDEX premises_board_site_id_7a80edbe ON public.premises_board USING btree (site_id);

CREATE INDEX premises_board_units_board_id_744f7894 ON public.premises_board_units USING btree (board_id);

CREATE INDEX premises_board_units_unit_id_3a0c4b4c ON public.premises_board_units USING btree (unit_id);

CREATE INDEX premises_board_verified_by_id_bfebce71 ON public.premises_board USING btree (verified_by_id);

CREATE INDEX premises_boarddocument_board_id_bf9144b0 ON public.premises_boarddocument USING btree (board_id);

CREATE INDEX premises_boarddocument_file_id_1850cbca ON public.premises_boarddocument USING btree (file_id);

CREATE INDEX premises_boarddocument_file_id_1850cbca_like ON public.premises_boarddocument USING btree (file_id text_pattern_ops);

CREATE INDEX premises_boarddocument_made_by_id_4863a7db ON public.premises_boarddocument USING btree (made_by_id);

CREATE INDEX premises_boarddocument_site_id_7e194a7f ON public.premises_boarddocument USING btree (site_id);

CREATE INDEX premises_boardseen_board_id_ac2e9963 ON public.premises_boardseen USING btree (board_id);

CREATE INDEX premises_boardseen_test_id_145a5b35 ON public.premises_boardseen USING btree (test_id);

CREATE INDEX premises_circuit_board_id_161c6935 ON public.premises_circuit USING btree (board_id);

CREATE INDEX premises_circuit_label_noted_by_id_7fb2137b ON public.premises_circuit USING btree (label_noted_by_id);

CREATE INDEX premises_circuit_site_id_37a78bfb ON public.premises_circuit USING btree (site_id);

CREATE INDEX premises_circuit_unit_id_5e5073b9 ON public.premises_circuit USING btree (unit_id);

CREATE INDEX premises_circuit_verified_by_id_d41d0c63 ON public.premises_circuit USING btree (verified_by_id);

CREATE INDEX premises_circuitlink_noted_by_id_20be16d1 ON public.premises_circuitlink USING btree (noted_by_id);

CREATE INDEX premises_circuitlink_one_id_f34dd4f5 ON public.premises_circuitlink USING btree (one_id);

CREATE INDEX premises_circuitlink_other_id_d4502b37 ON public.premises_circuitlink USING btree (other_id);

CREATE INDEX premises_circuitlink_site_id_fb6c25c6 ON public.premises_circuitlink USING btree (site_id);

CREATE INDEX premises_feed_board_id_e8d8b369 ON public.premises_feed USING btree (board_id);

CREATE INDEX premises_feed_from_circuit_id_cd90e594 ON public.premises_feed USING btree (from_circuit_id);

CREATE INDEX premises_feed_from_supply_id_d9f59bbb ON public.premises_feed USING btree (from_supply_id);

CREATE INDEX premises_feed_site_id_7758cbf1 ON public.premises_feed USING btree (site_id);

CREATE INDEX premises_feed_verified_by_id_89e13b38 ON public.premises_feed USING btree (verified_by_id);

CREATE INDEX premises_formercustomer_party_id_09feb9de ON public.premises_formercustomer USING btree (party_id);

CREATE INDEX premises_formercustomer_site_id_fd68fa8b ON public.premises_formercustomer USING btree (site_id);

CREATE INDEX premises_partyatunit_party_id_4c591682 ON public.premises_partyatunit USING btree (party_id);

CREATE INDEX premises_partyatunit_unit_id_dfb978ce ON public.premises_partyatunit USING btree (unit_id);

CREATE INDEX premises_secondsource_board_id_ca5d54a6 ON public.premises_secondsource USING btree (board_id);

CREATE INDEX premises_secondsource_circuit_id_65cef226 ON public.premises_secondsource USING btree (circuit_id);

CREATE INDEX premises_secondsource_site_id_60812b80 ON public.premises_secondsource USING btree (site_id);

CREATE INDEX premises_site_customer_id_027006ba ON public.premises_site USING btree (customer_id);

CREATE INDEX premises_site_merged_into_id_b4216f8a ON public.premises_site USING btree (merged_into_id);

CREATE INDEX premises_siteaccess_site_id_aa43adb0 ON public.premises_siteaccess USING btree (site_id);

CREATE INDEX premises_siteaccess_user_id_6b4b47ea ON public.premises_siteaccess USING btree (user_id);

CREATE INDEX premises_supply_site_id_333b574c ON public.premises_supply USING btree (site_id);

CREATE INDEX premises_switchingtest_by_id_0bb96c3b ON public.premises_switchingtest USING btree (by_id);

CREATE INDEX premises_switchingtest_off_circuit_id_2e652003 ON public.premises_switchingtest USING btree (off_circuit_id);

CREATE INDEX premises_switchingtest_off_supply_id_57112684 ON public.premises_switchingtest USING btree (off_supply_id);

CREATE INDEX premises_switchingtest_site_id_b205629c ON public.premises_switchingtest USING btree (site_id);

CREATE INDEX premises_switchingtest_withdrawn_by_id_d057c632 ON public.premises_switchingtest USING btree (withdrawn_by_id);

CREATE INDEX premises_unit_site_id_8e480796 ON public.premises_unit USING btree (site_id);

CREATE INDEX premises_verification_board_id_b6b11665 ON public.premises_verification USING btree (board_id);

CREATE INDEX premises_verification_by_before_id_88a0ca5b ON public.premises_verification USING btree (by_before_id);

CREATE INDEX premises_verification_by_id_b5eed020 ON public.premises_verification USING btree (by_id);

CREATE INDEX premises_verification_circuit_id_a8c836dd ON public.premises_verification USING btree (circuit_id);

CREATE INDEX premises_verification_site_id_763cfa2b ON public.premises_verification USING btree (site_id);

CREATE INDEX premises_verification_taken_back_by_id_d6877b96 ON public.premises_verification USING btree (taken_back_by_id);

CREATE UNIQUE INDEX proof_one_stands ON public.works_proof USING btree (remedial_id) WHERE (state = 'stands'::text);

CREATE INDEX proposals_open ON public.visits_proposal USING btree (start) WHERE (state = 'open'::text);

CREATE INDEX question_of_quote ON public.quotes_question USING btree (quote_id);

CREATE INDEX quote_of_site ON public.quotes_quotesite USING btree (site_id);

CREATE INDEX quotes_answer_link_id_648d41b6 ON public.quotes_answer USING btree (link_id);

CREATE INDEX quotes_answer_offer_id_d056e675 ON public.quotes_answer USING btree (offer_id);

CREATE INDEX quotes_answer_party_id_ee009c6f ON public.quotes_answer USING btree (party_id);

CREATE INDEX quotes_answer_recorded_by_id_bd8ad8da ON public.quotes_answer USING btree (recorded_by_id);

CREATE INDEX quotes_answer_taken_back_by_id_e85e62f5 ON public.quotes_answer USING btree (taken_back_by_id);

CREATE INDEX quotes_costing_job_id_06175095 ON public.quotes_costing USING btree (job_id);

CREATE INDEX quotes_costing_priced_by_id_a155223d ON public.quotes_costing USING btree (priced_by_id);

CREATE INDEX quotes_costing_terms_id_8fd7f030 ON public.quotes_costing USING btree (terms_id);

CREATE INDEX quotes_line_offer_id_79263d14 ON public.quotes_line USING btree (offer_id);

CREATE INDEX quotes_line_site_id_427dbe1c ON public.quotes_line USING btree (site_id);

CREATE INDEX quotes_lineanswer_answer_id_8033eb1e ON public.quotes_lineanswer USING btree (answer_id);

CREATE INDEX quotes_lineanswer_line_id_883b4864 ON public.quotes_lineanswer USING btree (line_id);

CREATE INDEX quotes_lineremedial_line_id_9ab2cf4d ON public.quotes_lineremedial USING btree (line_id);

CREATE INDEX quotes_lineremedial_remedial_id_64bb1492 ON public.quotes_lineremedial USING btree (remedial_id);

CREATE INDEX quotes_offer_ended_by_id_e6f86174 ON public.quotes_offer USING btree (ended_by_id);

CREATE INDEX quotes_offer_file_id_97f8daf5 ON public.quotes_offer USING btree (file_id);

CREATE INDEX quotes_offer_file_id_97f8daf5_like ON public.quotes_offer USING btree (file_id text_pattern_ops);

CREATE INDEX quotes_offer_made_by_id_88f30a5b ON public.quotes_offer USING btree (made_by_id);

CREATE INDEX quotes_offer_quote_id_077729d3 ON public.quotes_offer USING btree (quote_id);

CREATE INDEX quotes_offer_sent_by_id_8fe2826f ON public.quotes_offer USING btree (sent_by_id);

CREATE INDEX quotes_question_closed_by_id_dec45728 ON public.quotes_question USING btree (closed_by_id);

CREATE INDEX quotes_question_owner_id_57dafb13 ON public.quotes_question USING btree (owner_id);

CREATE INDEX quotes_question_quote_id_cabef0ab ON public.quotes_question USING btree (quote_id);

CREATE INDEX quotes_quote_made_by_id_a8c0e1cb ON public.quotes_quote USING btree (made_by_id);

CREATE INDEX quotes_quote_owner_id_506b21f0 ON public.quotes_quote USING btree (owner_id);

CREATE INDEX quotes_quote_party_id_246deac8 ON public.quotes_quote USING btree (party_id);

CREATE INDEX quotes_quote_variation_of_id_c1080611 ON public.quotes_quote USING btree (variation_of_id);

CREATE INDEX quotes_quotesite_quote_id_760a0a87 ON public.quotes_quotesite USING btree (quote_id);

CREATE INDEX quotes_quotesite_site_id_8c6398a9 ON public.quotes_quotesite USING btree (site_id);

CREATE INDEX quotes_rate_terms_id_94585569 ON public.quotes_rate USING btree (terms_id);

CREATE INDEX quotes_remark_by_id_0f3f1aa9 ON public.quotes_remark USING btree (by_id);

CREATE INDEX quotes_remark_link_id_79ad50ce ON public.quotes_remark USING btree (link_id);

CREATE INDEX quotes_remark_question_id_824225e3 ON public.quotes_remark USING btree (question_id);

CREATE INDEX quotes_standarditem_job_id_732a950f ON public.quotes_standarditem USING btree (job_id);

CREATE INDEX quotes_standardjob_folded_4dc3307a_like ON public.quotes_standardjob USING btree (folded text_pattern_ops);

CREATE INDEX quotes_terms_set_by_id_85baa1ec ON public.quotes_terms USING btree (set_by_id);

CREATE INDEX reading_of_board ON public.inspections_reading USING btree (board_id, taken_at DESC);

CREATE INDEX reading_of_circuit ON public.inspections_reading USING btree (circuit_id, taken_at DESC);

CREATE INDEX reading_of_instrument ON public.inspections_reading USING btree (instrument_id, taken_at DESC);

CREATE INDEX recall_of_reading ON public.works_recalldecision USING btree (reading_id);

CREATE UNIQUE INDEX recall_one_stands ON public.works_recalldecision USING btree (fault_id, reading_id) WHERE (replaced_at IS NULL);

CREATE INDEX remedial_by_stage ON public.works_remedial USING btree (stage, step_by);

CREATE INDEX remedial_by_step_to_come ON public.works_remedial USING btree (COALESCE(step_by, '9999-12-31'::date), number);

CREATE INDEX remedial_of_site ON public.works_remedial USING btree (site_id);

CREATE UNIQUE INDEX remedial_one_active_visit ON public.visits_visitline USING btree (remedial_id) WHERE active;

CREATE INDEX remedial_open_by_step ON public.works_remedial USING btree (step_by) WHERE (stage = ANY (ARRAY['to-price'::text, 'quoted'::text, 'approved'::text, 'booked'::text, 'done'::text]));

CREATE INDEX review_of_observation ON public.inspections_review USING btree (observation_id, at DESC);

CREATE INDEX see_to_of_site ON public.visits_seeto USING btree (site_id);

CREATE INDEX sign_ins_of_user ON public.people_signin USING btree (user_id, at DESC);

CREATE INDEX site_list ON public.premises_site USING btree (sort, id);

CREATE INDEX site_of_customer ON public.premises_site USING btree (customer_id);

CREATE INDEX standard_job_by_name ON public.quotes_standardjob USING btree (sort, id);

CREATE INDEX status_bundle_asked_by_id_0355b64d ON public.status_bundle USING btree (asked_by_id);

CREATE INDEX status_bundle_document_id_c5413697 ON public.status_bundle USING btree (document_id);

CREATE INDEX status_bundle_party_id_933a9e5a ON public.status_bundle USING btree (party_id);

CREATE INDEX status_bundle_progress_id_e65bf487 ON public.status_bundle USING btree (progress_id);

CREATE INDEX status_bundle_site_id_0a4771c2 ON public.status_bundle USING btree (site_id);

CREATE INDEX status_erasure_by_id_05ce7bd3 ON public.status_erasure USING btree (by_id);

CREATE INDEX status_erasure_party_id_a8bfb037 ON public.status_erasure USING btree (party_id);

CREATE INDEX status_retention_kind_35361287_like ON public.status_retention USING btree (kind text_pattern_ops);

CREATE INDEX stint_of_remedial ON public.works_stint USING btree (remedial_id, at);

CREATE UNIQUE INDEX supply_name_once_a_site ON public.premises_supply USING btree (site_id, sort) WHERE (retired_at IS NULL);

CREATE INDEX switching_of_site ON public.premises_switchingtest USING btree (site_id, at DESC);

CREATE INDEX take_out_by_age ON public.desk_takeout USING btree (asked_at DESC);

CREATE INDEX token_of_user ON public.people_accesstoken USING btree (user_id, made_at DESC);

CREATE UNIQUE INDEX undertaking_one_stands ON public.due_undertaking USING btree (kind, ref) WHERE (ended_at IS NULL);

CREATE UNIQUE INDEX unique_authenticator_type ON public.mfa_authenticator USING btree (user_id, type) WHERE ((type)::text = ANY (ARRAY[('totp'::character varying)::text, ('recovery_codes'::character varying)::text]));

CREATE UNIQUE INDEX unique_primary_email ON public.account_emailaddress USING btree (user_id, "primary") WHERE "primary";

CREATE UNIQUE INDEX unique_verified_email ON public.account_emailaddress USING btree (email) WHERE verified;

CREATE UNIQUE INDEX unit_name_once_a_site ON public.premises_unit USING btree (site_id, sort) WHERE (retired_at IS NULL);

CREATE UNIQUE INDEX user_email_once ON public.people_user USING btree (lower((email)::text));

CREATE INDEX usersessions_usersession_session_key_fd35de43_like ON public.usersessions_usersession USING btree (session_key varchar_pattern_ops);

CREATE INDEX usersessions_usersession_user_id_af5e0a6d ON public.usersessions_usersession USING btree (user_id);

CREATE INDEX verification_of_board ON public.premises_verification USING btree (board_id, at DESC);

CREATE INDEX verification_of_circuit ON public.premises_verification USING btree (circuit_id, at DESC);

CREATE INDEX visit_by_start ON public.visits_visit USING btree (start);

CREATE INDEX visits_accesstime_site_id_145e05ba ON public.visits_accesstime USING btree (site_id);

CREATE INDEX visits_accesstime_unit_id_4ceaa826 ON public.visits_accesstime USING btree (unit_id);

CREATE INDEX visits_alarmcode_site_id_660f734d ON public.visits_alarmcode USING btree (site_id);

CREATE INDEX visits_attempt_by_id_eeb9495f ON public.visits_attempt USING btree (by_id);

CREATE INDEX visits_attempt_letter_id_86d021e7 ON public.visits_attempt USING btree (letter_id);

CREATE INDEX visits_attempt_letter_id_86d021e7_like ON public.visits_attempt USING btree (letter_id text_pattern_ops);

CREATE INDEX visits_attempt_photo_id_2bad41b6 ON public.visits_attempt USING btree (photo_id);

CREATE INDEX visits_attempt_photo_id_2bad41b6_like ON public.visits_attempt USING btree (photo_id text_pattern_ops);

CREATE INDEX visits_attempt_site_id_99d89b8c ON public.visits_attempt USING btree (site_id);

CREATE INDEX visits_attempt_unit_id_8f219f4c ON public.visits_attempt USING btree (unit_id);

CREATE INDEX visits_attempt_visit_id_ff2eeb92 ON public.visits_attempt USING btree (visit_id);

CREATE INDEX visits_attendance_engineer_id_6410ddd0 ON public.visits_attendance USING btree (engineer_id);

CREATE INDEX visits_attendance_visit_id_5da99ba6 ON public.visits_attendance USING btree (visit_id);

CREATE INDEX visits_checkin_site_id_bdae5569 ON public.visits_checkin USING btree (site_id);

CREATE INDEX visits_checkin_user_id_e4df5359 ON public.visits_checkin USING btree (user_id);

CREATE INDEX visits_checkin_visit_id_de30ba16 ON public.visits_checkin USING btree (visit_id);

CREATE INDEX visits_closeddays_site_id_189ca6d5 ON public.visits_closeddays USING btree (site_id);

CREATE INDEX visits_closeddays_unit_id_6d01899c ON public.visits_closeddays USING btree (unit_id);

CREATE INDEX visits_confirmation_recorded_by_id_7a3f7e8d ON public.visits_confirmation USING btree (recorded_by_id);

CREATE INDEX visits_confirmation_visit_id_67fefca0 ON public.visits_confirmation USING btree (visit_id);

CREATE INDEX visits_diaryterms_set_by_id_e638a3ec ON public.visits_diaryterms USING btree (set_by_id);

CREATE INDEX visits_feed_made_by_id_7ebc562f ON public.visits_feed USING btree (made_by_id);

CREATE INDEX visits_feed_user_id_d141fce5 ON public.visits_feed USING btree (user_id);

CREATE INDEX visits_keymove_key_id_c00778e4 ON public.visits_keymove USING btree (key_id);

CREATE INDEX visits_keymove_recorded_by_id_4e7eb632 ON public.visits_keymove USING btree (recorded_by_id);

CREATE INDEX visits_keymove_who_id_0d2135ae ON public.visits_keymove USING btree (who_id);

CREATE INDEX visits_occupiernote_site_id_f66fe1c9 ON public.visits_occupiernote USING btree (site_id);

CREATE INDEX visits_offeredtime_offer_id_0ce20731 ON public.visits_offeredtime USING btree (offer_id);

CREATE INDEX visits_plan_after_id_dd70826e ON public.visits_plan USING btree (after_id);

CREATE INDEX visits_plan_made_by_id_fc68700a ON public.visits_plan USING btree (made_by_id);

CREATE INDEX visits_proposal_decided_by_id_dd8cecb3 ON public.visits_proposal USING btree (decided_by_id);

CREATE INDEX visits_proposal_engineers_proposal_id_53b89e18 ON public.visits_proposal_engineers USING btree (proposal_id);

CREATE INDEX visits_proposal_engineers_user_id_ea546617 ON public.visits_proposal_engineers USING btree (user_id);

CREATE INDEX visits_proposal_plan_id_72663554 ON public.visits_proposal USING btree (plan_id);

CREATE INDEX visits_proposal_remedials_proposal_id_c6d1d858 ON public.visits_proposal_remedials USING btree (proposal_id);

CREATE INDEX visits_proposal_remedials_remedial_id_3eb72861 ON public.visits_proposal_remedials USING btree (remedial_id);

CREATE INDEX visits_proposal_site_id_5603d71e ON public.visits_proposal USING btree (site_id);

CREATE INDEX visits_proposal_visit_id_80bf70ee ON public.visits_proposal USING btree (visit_id);

CREATE INDEX visits_seeto_owner_id_1653c743 ON public.visits_seeto USING btree (owner_id);

CREATE INDEX visits_seeto_remedial_id_dccca687 ON public.visits_seeto USING btree (remedial_id);

CREATE INDEX visits_seeto_site_id_db7a3b75 ON public.visits_seeto USING btree (site_id);

CREATE INDEX visits_seeto_unit_id_5a76dc18 ON public.visits_seeto USING btree (unit_id);

CREATE INDEX visits_sitekey_out_to_id_10f34e00 ON public.visits_sitekey USING btree (out_to_id);

CREATE INDEX visits_sitekey_site_id_82e3de18 ON public.visits_sitekey USING btree (site_id);

CREATE INDEX visits_sitekey_tag_8898713d_like ON public.visits_sitekey USING btree (tag text_pattern_ops);

CREATE INDEX visits_timesoffer_engineers_timesoffer_id_b07f1842 ON public.visits_timesoffer_engineers USING btree (timesoffer_id);

CREATE INDEX visits_timesoffer_engineers_user_id_6841df10 ON public.visits_timesoffer_engineers USING btree (user_id);

CREATE INDEX visits_timesoffer_made_by_id_da3b1101 ON public.visits_timesoffer USING btree (made_by_id);

CREATE INDEX visits_timesoffer_party_id_34f86983 ON public.visits_timesoffer USING btree (party_id);

CREATE INDEX visits_timesoffer_remedials_remedial_id_644d073e ON public.visits_timesoffer_remedials USING btree (remedial_id);

CREATE INDEX visits_timesoffer_remedials_timesoffer_id_3e93b597 ON public.visits_timesoffer_remedials USING btree (timesoffer_id);

CREATE INDEX visits_timesoffer_site_id_48f841f6 ON public.visits_timesoffer USING btree (site_id);

CREATE INDEX visits_timesoffer_unit_id_4249a59b ON public.visits_timesoffer USING btree (unit_id);

CREATE INDEX visits_timesoffer_visit_id_1db50ef4 ON public.visits_timesoffer USING btree (visit_id);

CREATE INDEX visits_unplanned_plan_id_11f4c3da ON public.visits_unplanned USING btree (plan_id);

CREATE INDEX visits_unplanned_remedial_id_b420610b ON public.visits_unplanned USING btree (remedial_id);

CREATE INDEX visits_visit_booked_by_id_26034123 ON public.visits_visit USING btree (booked_by_id);

CREATE INDEX visits_visit_site_id_3172f31b ON public.visits_visit USING btree (site_id);

CREATE INDEX visits_visitline_observation_id_2c749f37 ON public.visits_visitline USING btree (observation_id);

CREATE INDEX visits_visitline_remedial_id_a396658d ON public.visits_visitline USING btree (remedial_id);

CREATE INDEX visits_visitline_unit_id_fdb5fabc ON public.visits_visitline USING btree (unit_id);

CREATE INDEX visits_visitline_visit_id_06a22232 ON public.visits_visitline USING btree (visit_id);

CREATE INDEX visits_visitmove_by_id_e2625d6f ON public.visits_visitmove USING btree (by_id);

CREATE INDEX visits_visitmove_visit_id_14777054 ON public.visits_visitmove USING btree (visit_id);

CREATE INDEX waiting_to_chase ON public.works_waiting USING btree (chase_on) WHERE (ended_at IS NULL);

CREATE INDEX works_approval_party_id_e59676e8 ON public.works_approval USING btree (party_id);

CREATE INDEX works_approval_recorded_by_id_ef70943a ON public.works_approval USING btree (recorded_by_id);

CREATE INDEX works_approval_remedial_id_6d4dc8c5 ON public.works_approval USING btree (remedial_id);

CREATE INDEX works_item_remedial_id_c9f13cc5 ON public.works_item USING btree (remedial_id);

CREATE INDEX works_powerstep_by_id_6bf011aa ON public.works_powerstep USING btree (by_id);

CREATE INDEX works_powerstep_remedial_id_2c92fca3 ON public.works_powerstep USING btree (remedial_id);

CREATE INDEX works_proof_certificate_file_id_7c0a3e58 ON public.works_proof USING btree (certificate_file_id);

CREATE INDEX works_proof_certificate_file_id_7c0a3e58_like ON public.works_proof USING btree (certificate_file_id text_pattern_ops);

CREATE INDEX works_proof_done_by_id_a12ef6e8 ON public.works_proof USING btree (done_by_id);

CREATE INDEX works_proof_readings_proof_id_a5efbe0b ON public.works_proof_readings USING btree (proof_id);

CREATE INDEX works_proof_readings_reading_id_60432ded ON public.works_proof_readings USING btree (reading_id);

CREATE INDEX works_proof_remedial_id_ab565ae2 ON public.works_proof USING btree (remedial_id);

CREATE INDEX works_proofphoto_added_by_id_20b3a41b ON public.works_proofphoto USING btree (added_by_id);

CREATE INDEX works_proofphoto_file_id_8d97ec81 ON public.works_proofphoto USING btree (file_id);

CREATE INDEX works_proofphoto_file_id_8d97ec81_like ON public.works_proofphoto USING btree (file_id text_pattern_ops);

CREATE INDEX works_proofphoto_observation_id_61a28cbf ON public.works_proofphoto USING btree (observation_id);

CREATE INDEX works_proofphoto_proof_id_95077ec1 ON public.works_proofphoto USING btree (proof_id);

CREATE INDEX works_proofphoto_remedial_id_598a8817 ON public.works_proofphoto USING btree (remedial_id);

CREATE INDEX works_proofreview_by_id_287a9e31 ON public.works_proofreview USING btree (by_id);

CREATE INDEX works_recalldecision_by_id_d3cdc244 ON public.works_recalldecision USING btree (by_id);

CREATE INDEX works_recalldecision_fault_id_7bce0f66 ON public.works_recalldecision USING btree (fault_id);

CREATE INDEX works_recalldecision_reading_id_781c69c0 ON public.works_recalldecision USING btree (reading_id);

CREATE INDEX works_remedial_call_back_of_id_48cf9e83 ON public.works_remedial USING btree (call_back_of_id);

CREATE INDEX works_remedial_made_by_id_1e217bc4 ON public.works_remedial USING btree (made_by_id);

CREATE INDEX works_remedial_owner_id_a89960d2 ON public.works_remedial USING btree (owner_id);

CREATE INDEX works_remedial_site_id_dfdf839e ON public.works_remedial USING btree (site_id);

CREATE INDEX works_remedial_unit_id_a29b9e16 ON public.works_remedial USING btree (unit_id);

CREATE INDEX works_remedies_observation_id_e5193e1f ON public.works_remedies USING btree (observation_id);

CREATE INDEX works_remedies_remedial_id_54018480 ON public.works_remedies USING btree (remedial_id);

CREATE INDEX works_requiredreading_circuit_id_ace1bb16 ON public.works_requiredreading USING btree (circuit_id);

CREATE INDEX works_requiredreading_remedial_id_78cd5a68 ON public.works_requiredreading USING btree (remedial_id);

CREATE INDEX works_stint_by_id_cea18b4b ON public.works_stint USING btree (by_id);

CREATE INDEX works_stint_remedial_id_d317e60c ON public.works_stint USING btree (remedial_id);

CREATE INDEX works_used_stint_id_09997501 ON public.works_used USING btree (stint_id);

CREATE INDEX works_waiting_observation_id_12fdc0c7 ON public.works_waiting USING btree (observation_id);

CREATE INDEX works_waiting_owner_id_bed2c948 ON public.works_waiting USING btree (owner_id);

CREATE INDEX works_waiting_recorded_by_id_e7e53cb9 ON public.works_waiting USING btree (recorded_by_id);

CREATE INDEX works_waiting_remedial_id_c7e3062a ON public.works_waiting USING btree (remedial_id);

CREATE INDEX works_waiting_site_id_abfe22d3 ON public.works_waiting USING btree (site_id);

CREATE INDEX works_wayout_file_id_47f1ca9d ON public.works_wayout USING btree (file_id);

CREATE INDEX works_wayout_file_id_47f1ca9d_like ON public.works_wayout USING btree (file_id text_pattern_ops);

CREATE INDEX works_wayout_looked_by_id_948b6078 ON public.works_wayout USING btree (looked_by_id);

CREATE INDEX works_wayout_recorded_by_id_654522d5 ON public.works_wayout USING btree (recorded_by_id);

CREATE INDEX works_wayout_remedial_id_75be608d ON public.works_wayout USING btree (remedial_id);

CREATE TRIGGER boards_kept BEFORE DELETE OR UPDATE ON public.inspections_inspection_boards FOR EACH ROW EXECUTE FUNCTION public.inspections_frozen_with_report();

CREATE TRIGGER inspection_frozen BEFORE UPDATE ON public.inspections_inspection FOR EACH ROW WHEN (((old.state <> 'draft'::text) AND ((new.state = 'draft'::text) OR ((old.state = 'replaced'::text) AND (new.state <> 'replaced'::text)) OR ((old.number IS DISTINCT FROM new.number) OR (old.kind IS DISTINCT FROM new.kind) OR (old.other_firm IS DISTINCT FROM new.other_firm) OR (old.inspected_on IS DISTINCT FROM new.inspected_on) OR (old.edition IS DISTINCT FROM new.edition) OR (old.inspector_name IS DISTINCT FROM new.inspector_name) OR (old.firm_name IS DISTINCT FROM new.firm_name) OR (old.qualified_person_name IS DISTINCT FROM new.qualified_person_name) OR (old.inspector_id IS DISTINCT FROM new.inspector_id) OR (old.reference IS DISTINCT FROM new.reference) OR (old.extent IS DISTINCT FROM new.extent) OR (old.next_due_on IS DISTINCT FROM new.next_due_on) OR (old.remedy_limit_days IS DISTINCT FROM new.remedy_limit_days) OR (old.outcome_written IS DISTINCT FROM new.outcome_written) OR (old.issued_at IS DISTINCT FROM new.issued_at) OR (old.issued_by_id IS DISTINCT FROM new.issued_by_id) OR (old.outcome IS DISTINCT FROM new.outcome) OR (old.outcome_basis IS DISTINCT FROM new.outcome_basis) OR (old.replaces_id IS DISTINCT FROM new.replaces_id) OR (old.reissue_reason IS DISTINCT FROM new.reissue_reason) OR (old.file_id IS DISTINCT FROM new.file_id) OR (old.file_name IS DISTINCT FROM new.file_name) OR (old.recorded_by_id IS DISTINCT FROM new.recorded_by_id) OR (old.recorded_at IS DISTINCT FROM new.recorded_at))))) EXECUTE FUNCTION public.inspections_frozen();

CREATE TRIGGER inspection_kept BEFORE DELETE ON public.inspections_inspection FOR EACH ROW WHEN ((old.state <> 'draft'::text)) EXECUTE FUNCTION public.inspections_frozen();

CREATE TRIGGER limitation_frozen BEFORE UPDATE ON public.inspections_limitation FOR EACH ROW WHEN (((old.inspection_id IS DISTINCT FROM new.inspection_id) OR (old.unit_id IS DISTINCT FROM new.unit_id) OR (old.board_id IS DISTINCT FROM new.board_id) OR (old.what IS DISTINCT FROM new.what) OR (old.why IS DISTINCT FROM new.why) OR (old.agreed_with IS DISTINCT FROM new.agreed_with))) EXECUTE FUNCTION public.inspections_frozen_with_report();

CREATE TRIGGER limitation_kept BEFORE DELETE ON public.inspections_limitation FOR EACH ROW EXECUTE FUNCTION public.inspections_frozen_with_report();

CREATE TRIGGER line_added BEFORE INSERT ON public.quotes_line FOR EACH ROW EXECUTE FUNCTION public.quotes_frozen_with_offer();

CREATE TRIGGER line_frozen BEFORE UPDATE ON public.quotes_line FOR EACH ROW WHEN (((to_jsonb(old.*) - 'site_id'::text) IS DISTINCT FROM (to_jsonb(new.*) - 'site_id'::text))) EXECUTE FUNCTION public.quotes_frozen_with_offer();

CREATE TRIGGER line_kept BEFORE DELETE ON public.quotes_line FOR EACH ROW EXECUTE FUNCTION public.quotes_frozen_with_offer();

CREATE TRIGGER line_remedial_frozen BEFORE INSERT OR DELETE OR UPDATE ON public.quotes_lineremedial FOR EACH ROW EXECUTE FUNCTION public.quotes_frozen_with_offer();

CREATE TRIGGER observation_frozen BEFORE UPDATE ON public.inspections_observation FOR EACH ROW WHEN (((NOT old.draft) AND (old.inspection_id IS NOT NULL) AND (new.draft OR ((old.number IS DISTINCT FROM new.number) OR (old.inspection_id IS DISTINCT FROM new.inspection_id) OR (old.unit_id IS DISTINCT FROM new.unit_id) OR (old.place IS DISTINCT FROM new.place) OR (old.item IS DISTINCT FROM new.item) OR (old.text IS DISTINCT FROM new.text) OR (old.code_written IS DISTINCT FROM new.code_written) OR (old.recorded_on IS DISTINCT FROM new.recorded_on) OR (old.recorded_at IS DISTINCT FROM new.recorded_at) OR (old.recorded_by_id IS DISTINCT FROM new.recorded_by_id))))) EXECUTE FUNCTION public.inspections_frozen();

CREATE TRIGGER observation_kept BEFORE DELETE ON public.inspections_observation FOR EACH ROW WHEN (((NOT old.draft) AND (old.inspection_id IS NOT NULL))) EXECUTE FUNCTION public.inspections_frozen();

CREATE TRIGGER offer_frozen BEFORE UPDATE ON public.quotes_offer FOR EACH ROW WHEN (((old.number IS DISTINCT FROM new.number) OR (old.quote_id IS DISTINCT FROM new.quote_id) OR ((old.state = 'draft'::text) AND (new.state <> ALL (ARRAY['draft'::text, 'sent'::text]))) OR ((old.state = 'sent'::text) AND (new.state = 'draft'::text)) OR ((old.state = 'answered'::text) AND (new.state <> ALL (ARRAY['answered'::text, 'sent'::text]))) OR ((old.state = ANY (ARRAY['superseded'::text, 'withdrawn'::text])) AND ((new.state IS DISTINCT FROM old.state) OR (new.ended_at IS DISTINCT FROM old.ended_at) OR (new.ended_by_id IS DISTINCT FROM old.ended_by_id) OR (new.end_reason IS DISTINCT FROM old.end_reason))) OR ((old.state <> 'draft'::text) AND ((old.consumer IS DISTINCT FROM new.consumer) OR (old.vat_registered IS DISTINCT FROM new.vat_registered) OR (old.reverse_charge IS DISTINCT FROM new.reverse_charge) OR (old.customer_vat_number IS DISTINCT FROM new.customer_vat_number) OR (old.cis_reportable IS DISTINCT FROM new.cis_reportable) OR (old.end_user IS DISTINCT FROM new.end_user) OR (old.text_before IS DISTINCT FROM new.text_before) OR (old.text_after IS DISTINCT FROM new.text_after) OR (old.valid_until IS DISTINCT FROM new.valid_until) OR (old.work_until IS DISTINCT FROM new.work_until) OR (old.made_by_id IS DISTINCT FROM new.made_by_id) OR (old.made_at IS DISTINCT FROM new.made_at) OR (old.sent_by_id IS DISTINCT FROM new.sent_by_id) OR (old.sent_at IS DISTINCT FROM new.sent_at) OR (old.sent_how IS DISTINCT FROM new.sent_how) OR (old.sent_to IS DISTINCT FROM new.sent_to) OR (old.said IS DISTINCT FROM new.said) OR (old.fingerprint IS DISTINCT FROM new.fingerprint) OR (old.file_id IS DISTINCT FROM new.file_id))))) EXECUTE FUNCTION public.quotes_frozen();

CREATE TRIGGER offer_kept BEFORE DELETE ON public.quotes_offer FOR EACH ROW WHEN ((old.state <> 'draft'::text)) EXECUTE FUNCTION public.quotes_frozen();

CREATE TRIGGER pgtrigger_append_only_af900 BEFORE DELETE OR UPDATE ON public.ledger_entry FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_append_only_af900();

CREATE TRIGGER pgtrigger_board_changed_0d81c BEFORE UPDATE OF phases, site_id ON public.premises_board FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_board_changed_0d81c();

CREATE CONSTRAINT TRIGGER pgtrigger_board_holds_cc506 AFTER UPDATE OF phases, site_id ON public.premises_board DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_board_holds_cc506();

CREATE TRIGGER pgtrigger_circuit_changed_99a33 BEFORE INSERT OR UPDATE OF phase, board_id, site_id ON public.premises_circuit FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_circuit_changed_99a33();

CREATE CONSTRAINT TRIGGER pgtrigger_circuit_holds_de53a AFTER INSERT OR UPDATE OF phase, board_id, site_id ON public.premises_circuit DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_circuit_holds_de53a();

CREATE TRIGGER pgtrigger_feed_changed_963b7 BEFORE INSERT OR UPDATE OF board_id, from_circuit_id, from_supply_id, site_id, kind ON public.premises_feed FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_feed_changed_963b7();

CREATE CONSTRAINT TRIGGER pgtrigger_feed_holds_40128 AFTER INSERT OR UPDATE OF board_id, from_circuit_id, from_supply_id, site_id, kind ON public.premises_feed DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_feed_holds_40128();

CREATE TRIGGER pgtrigger_kept_while_held_11281 BEFORE DELETE OR UPDATE ON public.ledger_words FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_kept_while_held_11281();

CREATE TRIGGER pgtrigger_no_truncate_43bbd BEFORE TRUNCATE ON public.ledger_entry FOR EACH STATEMENT EXECUTE FUNCTION public.pgtrigger_no_truncate_43bbd();

CREATE TRIGGER pgtrigger_supply_changed_b70a3 BEFORE UPDATE OF phases, site_id ON public.premises_supply FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_supply_changed_b70a3();

CREATE CONSTRAINT TRIGGER pgtrigger_supply_holds_e6c19 AFTER UPDATE OF phases, site_id ON public.premises_supply DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION public.pgtrigger_supply_holds_e6c19();

CREATE TRIGGER quote_number_stays BEFORE UPDATE ON public.quotes_quote FOR EACH ROW WHEN ((old.number IS DISTINCT FROM new.number)) EXECUTE FUNCTION public.quotes_frozen();

CREATE TRIGGER units_kept BEFORE DELETE OR UPDATE ON public.inspections_inspection_units FOR EACH ROW EXECUTE FUNCTION public.inspections_frozen_with_report();

ALTER TABLE ONLY public.account_emailaddress
    ADD CONSTRAINT account_emailaddress_user_id_2c513194_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.account_emailconfirmation
    ADD CONSTRAINT account_emailconfirm_email_address_id_5b7f8c58_fk_account_e FOREIGN KEY (email_address_id) REFERENCES public.account_emailaddress(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.auth_group_permissions
    ADD CONSTRAINT auth_group_permissio_permission_id_84c5c92e_fk_auth_perm FOREIGN KEY (permission_id) REFERENCES public.auth_permission(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.auth_group_permissions
    ADD CONSTRAINT auth_group_permissions_group_id_b120cbf9_fk_auth_group_id FOREIGN KEY (group_id) REFERENCES public.auth_group(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.auth_permission
    ADD CONSTRAINT auth_permission_content_type_id_2f476e4b_fk_django_co FOREIGN KEY (content_type_id) REFERENCES public.django_content_type(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.desk_takeout
    ADD CONSTRAINT desk_takeout_asked_by_id_ce8698fd_fk_people_user_id FOREIGN KEY (asked_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.desk_takeout
    ADD CONSTRAINT desk_takeout_progress_id_5238f446_fk_firm_progress_id FOREIGN KEY (progress_id) REFERENCES public.firm_progress(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_leaving
    ADD CONSTRAINT due_leaving_letter_id_12070f8e_fk_ledger_storedfile_hash FOREIGN KEY (letter_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_leaving
    ADD CONSTRAINT due_leaving_owner_id_eb27be81_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_leaving
    ADD CONSTRAINT due_leaving_proof_id_1b8d9cc3_fk_ledger_storedfile_hash FOREIGN KEY (proof_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_leaving
    ADD CONSTRAINT due_leaving_site_id_f23fdd62_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_leaving
    ADD CONSTRAINT due_leaving_written_by_id_afae979d_fk_people_user_id FOREIGN KEY (written_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_noreminders
    ADD CONSTRAINT due_noreminders_noted_by_id_8975f334_fk_people_user_id FOREIGN KEY (noted_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_noreminders
    ADD CONSTRAINT due_noreminders_party_id_c49dd3d4_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_undertaking
    ADD CONSTRAINT due_undertaking_by_id_57dec29c_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_undertaking
    ADD CONSTRAINT due_undertaking_instead_of_id_b537a1c8_fk_people_user_id FOREIGN KEY (instead_of_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.due_undertaking
    ADD CONSTRAINT due_undertaking_site_id_94acd531_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_dangernotice_observations
    ADD CONSTRAINT inspections_dangerno_dangernotice_id_734b79df_fk_inspectio FOREIGN KEY (dangernotice_id) REFERENCES public.inspections_dangernotice(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_dangernotice_observations
    ADD CONSTRAINT inspections_dangerno_observation_id_65258111_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_dangernotice
    ADD CONSTRAINT inspections_dangernotice_given_by_id_1150bbc2_fk_people_user_id FOREIGN KEY (given_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_dangernotice
    ADD CONSTRAINT inspections_dangernotice_site_id_68687cb1_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_factcorrection
    ADD CONSTRAINT inspections_factcorrection_by_id_965bd13e_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspectiondue
    ADD CONSTRAINT inspections_inspecti_after_id_41cbf1c8_fk_inspectio FOREIGN KEY (after_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection_boards
    ADD CONSTRAINT inspections_inspecti_board_id_decaccf7_fk_premises_ FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspecti_file_id_fac2c7eb_fk_ledger_st FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection_units
    ADD CONSTRAINT inspections_inspecti_inspection_id_22ca9069_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection_boards
    ADD CONSTRAINT inspections_inspecti_inspection_id_fa6ac0aa_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspecti_recorded_by_id_ab9f4a19_fk_people_us FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspecti_replaces_id_736fdb7e_fk_inspectio FOREIGN KEY (replaces_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection_units
    ADD CONSTRAINT inspections_inspecti_unit_id_47d70155_fk_premises_ FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspection_inspector_id_aaec4b84_fk_people_user_id FOREIGN KEY (inspector_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspection_issued_by_id_9b873f1e_fk_people_user_id FOREIGN KEY (issued_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspection
    ADD CONSTRAINT inspections_inspection_site_id_03179147_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspectiondue
    ADD CONSTRAINT inspections_inspectiondue_owner_id_91d9c319_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_inspectiondue
    ADD CONSTRAINT inspections_inspectiondue_unit_id_54b9ba56_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_asked_by_id_135f6f0c_fk_people_user_id FOREIGN KEY (asked_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_file_id_0d04ac8d_fk_ledger_storedfile_hash FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_inspection_id_97e29bd2_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_progress_id_73b91b6a_fk_firm_progress_id FOREIGN KEY (progress_id) REFERENCES public.firm_progress(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_site_id_44174be7_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_unit_id_99b1f343_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_intake
    ADD CONSTRAINT inspections_intake_uploaded_by_id_4ea7fdd2_fk_people_user_id FOREIGN KEY (uploaded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_limitation
    ADD CONSTRAINT inspections_limitati_covered_by_id_750a7b61_fk_inspectio FOREIGN KEY (covered_by_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_limitation
    ADD CONSTRAINT inspections_limitati_inspection_id_70124809_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_limitation
    ADD CONSTRAINT inspections_limitation_board_id_0967cce2_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_limitation
    ADD CONSTRAINT inspections_limitation_unit_id_44485bbf_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_madesafe
    ADD CONSTRAINT inspections_madesafe_by_id_115d1058_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_madesafe
    ADD CONSTRAINT inspections_madesafe_looker_id_0a885464_fk_people_user_id FOREIGN KEY (looker_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_madesafe
    ADD CONSTRAINT inspections_madesafe_observation_id_29214817_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_madesafe
    ADD CONSTRAINT inspections_madesafe_photo_id_49f02a91_fk_ledger_st FOREIGN KEY (photo_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_metercomparison
    ADD CONSTRAINT inspections_metercom_answers_id_00bff310_fk_inspectio FOREIGN KEY (answers_id) REFERENCES public.inspections_metercomparison(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_metercomparison
    ADD CONSTRAINT inspections_metercom_observation_id_6e44c31e_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_metercomparison
    ADD CONSTRAINT inspections_metercom_site_id_c53bae17_fk_premises_ FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_metercomparison
    ADD CONSTRAINT inspections_metercom_taken_by_id_84e8125b_fk_people_us FOREIGN KEY (taken_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_meterfigure
    ADD CONSTRAINT inspections_meterfig_comparison_id_e67393db_fk_inspectio FOREIGN KEY (comparison_id) REFERENCES public.inspections_metercomparison(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_meterfigure
    ADD CONSTRAINT inspections_meterfig_instrument_id_75934f51_fk_people_in FOREIGN KEY (instrument_id) REFERENCES public.people_instrument(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_notseenagain
    ADD CONSTRAINT inspections_notseena_inspection_id_1f676ed0_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_notseenagain
    ADD CONSTRAINT inspections_notseena_observation_id_89952e72_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_notseenagain
    ADD CONSTRAINT inspections_notseenagain_by_id_e574db51_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observationphoto
    ADD CONSTRAINT inspections_observat_added_by_id_a9e9e4c1_fk_people_us FOREIGN KEY (added_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observat_circuit_id_ff247a53_fk_premises_ FOREIGN KEY (circuit_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observat_continues_id_91e3d434_fk_inspectio FOREIGN KEY (continues_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observationphoto
    ADD CONSTRAINT inspections_observat_file_id_72c8492e_fk_ledger_st FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observat_inspection_id_a8633405_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observat_missed_in_id_40f6119c_fk_inspectio FOREIGN KEY (missed_in_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observationphoto
    ADD CONSTRAINT inspections_observat_observation_id_76b29fec_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observat_recorded_by_id_38674067_fk_people_us FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observation_board_id_3b0637f9_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observation_owner_id_b621fe28_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observation_site_id_a64c3047_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_observation
    ADD CONSTRAINT inspections_observation_unit_id_a0f3f868_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_occupancychange
    ADD CONSTRAINT inspections_occupanc_occupier_id_8427b352_fk_premises_ FOREIGN KEY (occupier_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_occupancychange
    ADD CONSTRAINT inspections_occupanc_recorded_by_id_0854c5ee_fk_people_us FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_occupancychange
    ADD CONSTRAINT inspections_occupanc_site_id_dd478f5a_fk_premises_ FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_occupancychange
    ADD CONSTRAINT inspections_occupanc_unit_id_8fcab0e0_fk_premises_ FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT inspections_paper_answered_by_id_65127de8_fk_people_user_id FOREIGN KEY (answered_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT inspections_paper_change_id_4e3c2570_fk_inspectio FOREIGN KEY (change_id) REFERENCES public.inspections_occupancychange(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT inspections_paper_inspection_id_42d476e7_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT inspections_paper_owner_id_2235eb60_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT inspections_paper_request_id_fbb89384_fk_inspectio FOREIGN KEY (request_id) REFERENCES public.inspections_paperrequest(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT inspections_paper_site_id_1ad1ea65_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paper
    ADD CONSTRAINT inspections_paper_unit_id_25aa624c_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paperdocument
    ADD CONSTRAINT inspections_paperdoc_file_id_a6caea20_fk_ledger_st FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paperdocument
    ADD CONSTRAINT inspections_paperdoc_paper_id_f7be725f_fk_inspectio FOREIGN KEY (paper_id) REFERENCES public.inspections_paper(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paperdocument
    ADD CONSTRAINT inspections_paperdocument_made_by_id_6c00ab1c_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paperrequest
    ADD CONSTRAINT inspections_paperreq_inspection_id_bda8eaed_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paperrequest
    ADD CONSTRAINT inspections_paperreq_recorded_by_id_84183bb4_fk_people_us FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paperrequest
    ADD CONSTRAINT inspections_paperrequest_site_id_0b8b6d26_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_paperrequest
    ADD CONSTRAINT inspections_paperrequest_unit_id_f8873d5d_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_papersupply
    ADD CONSTRAINT inspections_papersup_document_id_0f6a5120_fk_inspectio FOREIGN KEY (document_id) REFERENCES public.inspections_paperdocument(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_papersupply
    ADD CONSTRAINT inspections_papersup_file_id_7b4b8b40_fk_ledger_st FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_papersupply
    ADD CONSTRAINT inspections_papersup_paper_id_9e02c9d7_fk_inspectio FOREIGN KEY (paper_id) REFERENCES public.inspections_paper(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_papersupply
    ADD CONSTRAINT inspections_papersup_recorded_by_id_07996b0a_fk_people_us FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_papersupply
    ADD CONSTRAINT inspections_papersupply_party_id_190a7403_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_reading
    ADD CONSTRAINT inspections_reading_board_id_e06be890_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_reading
    ADD CONSTRAINT inspections_reading_circuit_id_9ab45840_fk_premises_circuit_id FOREIGN KEY (circuit_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_reading
    ADD CONSTRAINT inspections_reading_inspection_id_65cf91c2_fk_inspectio FOREIGN KEY (inspection_id) REFERENCES public.inspections_inspection(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_reading
    ADD CONSTRAINT inspections_reading_instrument_id_f968039d_fk_people_in FOREIGN KEY (instrument_id) REFERENCES public.people_instrument(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_reading
    ADD CONSTRAINT inspections_reading_site_id_ae51613c_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_reading
    ADD CONSTRAINT inspections_reading_supply_id_28bff485_fk_premises_supply_id FOREIGN KEY (supply_id) REFERENCES public.premises_supply(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_reading
    ADD CONSTRAINT inspections_reading_taken_by_id_82f8ae5a_fk_people_user_id FOREIGN KEY (taken_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_review
    ADD CONSTRAINT inspections_review_by_id_33fbc857_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.inspections_review
    ADD CONSTRAINT inspections_review_observation_id_11668fd6_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.ledger_document
    ADD CONSTRAINT ledger_document_file_id_bd461a52_fk_ledger_storedfile_hash FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.mfa_authenticator
    ADD CONSTRAINT mfa_authenticator_user_id_0c3a50c0_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_accesstoken
    ADD CONSTRAINT people_accesstoken_user_id_69d3c73f_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_competence
    ADD CONSTRAINT people_competence_recorded_by_id_59ff5e54_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_competence
    ADD CONSTRAINT people_competence_user_id_f21bb913_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_instrumentcheck
    ADD CONSTRAINT people_instrumentche_file_id_0d9a2d02_fk_ledger_st FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_instrumentcheck
    ADD CONSTRAINT people_instrumentche_instrument_id_9568ced1_fk_people_in FOREIGN KEY (instrument_id) REFERENCES public.people_instrument(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_instrumentcheck
    ADD CONSTRAINT people_instrumentche_recorded_by_id_40c8283a_fk_people_us FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_instrumentfault
    ADD CONSTRAINT people_instrumentfau_instrument_id_3449423f_fk_people_in FOREIGN KEY (instrument_id) REFERENCES public.people_instrument(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_instrumentfault
    ADD CONSTRAINT people_instrumentfau_recorded_by_id_d890aeac_fk_people_us FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_leave
    ADD CONSTRAINT people_leave_recorded_by_id_c5e2f81b_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_leave
    ADD CONSTRAINT people_leave_user_id_badcba00_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_privatelink
    ADD CONSTRAINT people_privatelink_made_by_id_fd99c115_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_shift
    ADD CONSTRAINT people_shift_week_id_c8a3444a_fk_people_workingweek_id FOREIGN KEY (week_id) REFERENCES public.people_workingweek(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_signin
    ADD CONSTRAINT people_signin_user_id_2cdf070e_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_skill
    ADD CONSTRAINT people_skill_recorded_by_id_42a0091a_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_skill
    ADD CONSTRAINT people_skill_user_id_dc4268a1_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_workingweek
    ADD CONSTRAINT people_workingweek_recorded_by_id_077519e4_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.people_workingweek
    ADD CONSTRAINT people_workingweek_user_id_63bf7a34_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_board
    ADD CONSTRAINT premises_board_label_noted_by_id_6e56a196_fk_people_user_id FOREIGN KEY (label_noted_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_board
    ADD CONSTRAINT premises_board_replaced_by_id_1504edd9_fk_premises_board_id FOREIGN KEY (replaced_by_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_board
    ADD CONSTRAINT premises_board_site_id_7a80edbe_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_board_units
    ADD CONSTRAINT premises_board_units_board_id_744f7894_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_board_units
    ADD CONSTRAINT premises_board_units_unit_id_3a0c4b4c_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_board
    ADD CONSTRAINT premises_board_verified_by_id_bfebce71_fk_people_user_id FOREIGN KEY (verified_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_boarddocument
    ADD CONSTRAINT premises_boarddocume_file_id_1850cbca_fk_ledger_st FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_boarddocument
    ADD CONSTRAINT premises_boarddocument_board_id_bf9144b0_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_boarddocument
    ADD CONSTRAINT premises_boarddocument_made_by_id_4863a7db_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_boarddocument
    ADD CONSTRAINT premises_boarddocument_site_id_7e194a7f_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_boardseen
    ADD CONSTRAINT premises_boardseen_board_id_ac2e9963_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_boardseen
    ADD CONSTRAINT premises_boardseen_test_id_145a5b35_fk_premises_ FOREIGN KEY (test_id) REFERENCES public.premises_switchingtest(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuit
    ADD CONSTRAINT premises_circuit_board_id_161c6935_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuit
    ADD CONSTRAINT premises_circuit_label_noted_by_id_7fb2137b_fk_people_user_id FOREIGN KEY (label_noted_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuit
    ADD CONSTRAINT premises_circuit_site_id_37a78bfb_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuit
    ADD CONSTRAINT premises_circuit_unit_id_5e5073b9_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuit
    ADD CONSTRAINT premises_circuit_verified_by_id_d41d0c63_fk_people_user_id FOREIGN KEY (verified_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuitlink
    ADD CONSTRAINT premises_circuitlink_noted_by_id_20be16d1_fk_people_user_id FOREIGN KEY (noted_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuitlink
    ADD CONSTRAINT premises_circuitlink_one_id_f34dd4f5_fk_premises_circuit_id FOREIGN KEY (one_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuitlink
    ADD CONSTRAINT premises_circuitlink_other_id_d4502b37_fk_premises_circuit_id FOREIGN KEY (other_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_circuitlink
    ADD CONSTRAINT premises_circuitlink_site_id_fb6c25c6_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_feed
    ADD CONSTRAINT premises_feed_board_id_e8d8b369_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_feed
    ADD CONSTRAINT premises_feed_from_circuit_id_cd90e594_fk_premises_circuit_id FOREIGN KEY (from_circuit_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_feed
    ADD CONSTRAINT premises_feed_from_supply_id_d9f59bbb_fk_premises_supply_id FOREIGN KEY (from_supply_id) REFERENCES public.premises_supply(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_feed
    ADD CONSTRAINT premises_feed_site_id_7758cbf1_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_feed
    ADD CONSTRAINT premises_feed_verified_by_id_89e13b38_fk_people_user_id FOREIGN KEY (verified_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_formercustomer
    ADD CONSTRAINT premises_formercustomer_party_id_09feb9de_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_formercustomer
    ADD CONSTRAINT premises_formercustomer_site_id_fd68fa8b_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_partyatunit
    ADD CONSTRAINT premises_partyatunit_party_id_4c591682_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_partyatunit
    ADD CONSTRAINT premises_partyatunit_unit_id_dfb978ce_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_secondsource
    ADD CONSTRAINT premises_secondsourc_circuit_id_65cef226_fk_premises_ FOREIGN KEY (circuit_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_secondsource
    ADD CONSTRAINT premises_secondsource_board_id_ca5d54a6_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_secondsource
    ADD CONSTRAINT premises_secondsource_site_id_60812b80_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_site
    ADD CONSTRAINT premises_site_customer_id_027006ba_fk_premises_party_id FOREIGN KEY (customer_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_site
    ADD CONSTRAINT premises_site_merged_into_id_b4216f8a_fk_premises_site_id FOREIGN KEY (merged_into_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_siteaccess
    ADD CONSTRAINT premises_siteaccess_site_id_aa43adb0_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_siteaccess
    ADD CONSTRAINT premises_siteaccess_user_id_6b4b47ea_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_supply
    ADD CONSTRAINT premises_supply_site_id_333b574c_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_switchingtest
    ADD CONSTRAINT premises_switchingte_off_circuit_id_2e652003_fk_premises_ FOREIGN KEY (off_circuit_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_switchingtest
    ADD CONSTRAINT premises_switchingte_off_supply_id_57112684_fk_premises_ FOREIGN KEY (off_supply_id) REFERENCES public.premises_supply(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_switchingtest
    ADD CONSTRAINT premises_switchingte_withdrawn_by_id_d057c632_fk_people_us FOREIGN KEY (withdrawn_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_switchingtest
    ADD CONSTRAINT premises_switchingtest_by_id_0bb96c3b_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_switchingtest
    ADD CONSTRAINT premises_switchingtest_site_id_b205629c_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_unit
    ADD CONSTRAINT premises_unit_site_id_8e480796_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_verification
    ADD CONSTRAINT premises_verificatio_circuit_id_a8c836dd_fk_premises_ FOREIGN KEY (circuit_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_verification
    ADD CONSTRAINT premises_verificatio_taken_back_by_id_d6877b96_fk_people_us FOREIGN KEY (taken_back_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_verification
    ADD CONSTRAINT premises_verification_board_id_b6b11665_fk_premises_board_id FOREIGN KEY (board_id) REFERENCES public.premises_board(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_verification
    ADD CONSTRAINT premises_verification_by_before_id_88a0ca5b_fk_people_user_id FOREIGN KEY (by_before_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_verification
    ADD CONSTRAINT premises_verification_by_id_b5eed020_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.premises_verification
    ADD CONSTRAINT premises_verification_site_id_763cfa2b_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_answer
    ADD CONSTRAINT quotes_answer_link_id_648d41b6_fk_people_privatelink_id FOREIGN KEY (link_id) REFERENCES public.people_privatelink(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_answer
    ADD CONSTRAINT quotes_answer_offer_id_d056e675_fk_quotes_offer_id FOREIGN KEY (offer_id) REFERENCES public.quotes_offer(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_answer
    ADD CONSTRAINT quotes_answer_party_id_ee009c6f_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_answer
    ADD CONSTRAINT quotes_answer_recorded_by_id_bd8ad8da_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_answer
    ADD CONSTRAINT quotes_answer_taken_back_by_id_e85e62f5_fk_people_user_id FOREIGN KEY (taken_back_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_costing
    ADD CONSTRAINT quotes_costing_job_id_06175095_fk_quotes_standardjob_id FOREIGN KEY (job_id) REFERENCES public.quotes_standardjob(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_costing
    ADD CONSTRAINT quotes_costing_priced_by_id_a155223d_fk_people_user_id FOREIGN KEY (priced_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_costing
    ADD CONSTRAINT quotes_costing_remedial_id_be0f5a1f_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_costing
    ADD CONSTRAINT quotes_costing_terms_id_8fd7f030_fk_quotes_terms_id FOREIGN KEY (terms_id) REFERENCES public.quotes_terms(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_line
    ADD CONSTRAINT quotes_line_offer_id_79263d14_fk_quotes_offer_id FOREIGN KEY (offer_id) REFERENCES public.quotes_offer(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_line
    ADD CONSTRAINT quotes_line_site_id_427dbe1c_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_lineanswer
    ADD CONSTRAINT quotes_lineanswer_answer_id_8033eb1e_fk_quotes_answer_id FOREIGN KEY (answer_id) REFERENCES public.quotes_answer(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_lineanswer
    ADD CONSTRAINT quotes_lineanswer_line_id_883b4864_fk_quotes_line_id FOREIGN KEY (line_id) REFERENCES public.quotes_line(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_lineremedial
    ADD CONSTRAINT quotes_lineremedial_line_id_9ab2cf4d_fk_quotes_line_id FOREIGN KEY (line_id) REFERENCES public.quotes_line(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_lineremedial
    ADD CONSTRAINT quotes_lineremedial_remedial_id_64bb1492_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_offer
    ADD CONSTRAINT quotes_offer_ended_by_id_e6f86174_fk_people_user_id FOREIGN KEY (ended_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_offer
    ADD CONSTRAINT quotes_offer_file_id_97f8daf5_fk_ledger_storedfile_hash FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_offer
    ADD CONSTRAINT quotes_offer_made_by_id_88f30a5b_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_offer
    ADD CONSTRAINT quotes_offer_quote_id_077729d3_fk_quotes_quote_id FOREIGN KEY (quote_id) REFERENCES public.quotes_quote(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_offer
    ADD CONSTRAINT quotes_offer_sent_by_id_8fe2826f_fk_people_user_id FOREIGN KEY (sent_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_question
    ADD CONSTRAINT quotes_question_closed_by_id_dec45728_fk_people_user_id FOREIGN KEY (closed_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_question
    ADD CONSTRAINT quotes_question_owner_id_57dafb13_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_question
    ADD CONSTRAINT quotes_question_quote_id_cabef0ab_fk_quotes_quote_id FOREIGN KEY (quote_id) REFERENCES public.quotes_quote(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_quote
    ADD CONSTRAINT quotes_quote_made_by_id_a8c0e1cb_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_quote
    ADD CONSTRAINT quotes_quote_owner_id_506b21f0_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_quote
    ADD CONSTRAINT quotes_quote_party_id_246deac8_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_quote
    ADD CONSTRAINT quotes_quote_variation_of_id_c1080611_fk_quotes_quote_id FOREIGN KEY (variation_of_id) REFERENCES public.quotes_quote(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_quotesite
    ADD CONSTRAINT quotes_quotesite_quote_id_760a0a87_fk_quotes_quote_id FOREIGN KEY (quote_id) REFERENCES public.quotes_quote(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_quotesite
    ADD CONSTRAINT quotes_quotesite_site_id_8c6398a9_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_rate
    ADD CONSTRAINT quotes_rate_terms_id_94585569_fk_quotes_terms_id FOREIGN KEY (terms_id) REFERENCES public.quotes_terms(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_remark
    ADD CONSTRAINT quotes_remark_by_id_0f3f1aa9_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_remark
    ADD CONSTRAINT quotes_remark_link_id_79ad50ce_fk_people_privatelink_id FOREIGN KEY (link_id) REFERENCES public.people_privatelink(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_remark
    ADD CONSTRAINT quotes_remark_question_id_824225e3_fk_quotes_question_id FOREIGN KEY (question_id) REFERENCES public.quotes_question(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_standarditem
    ADD CONSTRAINT quotes_standarditem_job_id_732a950f_fk_quotes_standardjob_id FOREIGN KEY (job_id) REFERENCES public.quotes_standardjob(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.quotes_terms
    ADD CONSTRAINT quotes_terms_set_by_id_85baa1ec_fk_people_user_id FOREIGN KEY (set_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.status_bundle
    ADD CONSTRAINT status_bundle_asked_by_id_0355b64d_fk_people_user_id FOREIGN KEY (asked_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.status_bundle
    ADD CONSTRAINT status_bundle_document_id_c5413697_fk_ledger_document_id FOREIGN KEY (document_id) REFERENCES public.ledger_document(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.status_bundle
    ADD CONSTRAINT status_bundle_party_id_933a9e5a_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.status_bundle
    ADD CONSTRAINT status_bundle_progress_id_e65bf487_fk_firm_progress_id FOREIGN KEY (progress_id) REFERENCES public.firm_progress(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.status_bundle
    ADD CONSTRAINT status_bundle_site_id_0a4771c2_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.status_erasure
    ADD CONSTRAINT status_erasure_by_id_05ce7bd3_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.status_erasure
    ADD CONSTRAINT status_erasure_party_id_a8bfb037_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.status_reportcopy
    ADD CONSTRAINT status_reportcopy_document_id_75436efe_fk_ledger_document_id FOREIGN KEY (document_id) REFERENCES public.ledger_document(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.usersessions_usersession
    ADD CONSTRAINT usersessions_usersession_user_id_af5e0a6d_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_accesstime
    ADD CONSTRAINT visits_accesstime_site_id_145e05ba_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_accesstime
    ADD CONSTRAINT visits_accesstime_unit_id_4ceaa826_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_alarmcode
    ADD CONSTRAINT visits_alarmcode_site_id_660f734d_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_attempt
    ADD CONSTRAINT visits_attempt_by_id_eeb9495f_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_attempt
    ADD CONSTRAINT visits_attempt_letter_id_86d021e7_fk_ledger_storedfile_hash FOREIGN KEY (letter_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_attempt
    ADD CONSTRAINT visits_attempt_photo_id_2bad41b6_fk_ledger_storedfile_hash FOREIGN KEY (photo_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_attempt
    ADD CONSTRAINT visits_attempt_site_id_99d89b8c_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_attempt
    ADD CONSTRAINT visits_attempt_unit_id_8f219f4c_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_attempt
    ADD CONSTRAINT visits_attempt_visit_id_ff2eeb92_fk_visits_visit_id FOREIGN KEY (visit_id) REFERENCES public.visits_visit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_attendance
    ADD CONSTRAINT visits_attendance_engineer_id_6410ddd0_fk_people_user_id FOREIGN KEY (engineer_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_attendance
    ADD CONSTRAINT visits_attendance_visit_id_5da99ba6_fk_visits_visit_id FOREIGN KEY (visit_id) REFERENCES public.visits_visit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_checkin
    ADD CONSTRAINT visits_checkin_site_id_bdae5569_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_checkin
    ADD CONSTRAINT visits_checkin_user_id_e4df5359_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_checkin
    ADD CONSTRAINT visits_checkin_visit_id_de30ba16_fk_visits_visit_id FOREIGN KEY (visit_id) REFERENCES public.visits_visit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_closeddays
    ADD CONSTRAINT visits_closeddays_site_id_189ca6d5_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_closeddays
    ADD CONSTRAINT visits_closeddays_unit_id_6d01899c_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_confirmation
    ADD CONSTRAINT visits_confirmation_recorded_by_id_7a3f7e8d_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_confirmation
    ADD CONSTRAINT visits_confirmation_visit_id_67fefca0_fk_visits_visit_id FOREIGN KEY (visit_id) REFERENCES public.visits_visit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_diaryterms
    ADD CONSTRAINT visits_diaryterms_set_by_id_e638a3ec_fk_people_user_id FOREIGN KEY (set_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_feed
    ADD CONSTRAINT visits_feed_made_by_id_7ebc562f_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_feed
    ADD CONSTRAINT visits_feed_user_id_d141fce5_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_keymove
    ADD CONSTRAINT visits_keymove_key_id_c00778e4_fk_visits_sitekey_id FOREIGN KEY (key_id) REFERENCES public.visits_sitekey(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_keymove
    ADD CONSTRAINT visits_keymove_recorded_by_id_4e7eb632_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_keymove
    ADD CONSTRAINT visits_keymove_who_id_0d2135ae_fk_people_user_id FOREIGN KEY (who_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_occupiernote
    ADD CONSTRAINT visits_occupiernote_site_id_f66fe1c9_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_occupiernote
    ADD CONSTRAINT visits_occupiernote_unit_id_bb039c0a_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_offeredtime
    ADD CONSTRAINT visits_offeredtime_offer_id_0ce20731_fk_visits_timesoffer_id FOREIGN KEY (offer_id) REFERENCES public.visits_timesoffer(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_plan
    ADD CONSTRAINT visits_plan_after_id_dd70826e_fk_visits_plan_id FOREIGN KEY (after_id) REFERENCES public.visits_plan(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_plan
    ADD CONSTRAINT visits_plan_made_by_id_fc68700a_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_proposal
    ADD CONSTRAINT visits_proposal_decided_by_id_dd8cecb3_fk_people_user_id FOREIGN KEY (decided_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_proposal_engineers
    ADD CONSTRAINT visits_proposal_engi_proposal_id_53b89e18_fk_visits_pr FOREIGN KEY (proposal_id) REFERENCES public.visits_proposal(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_proposal_engineers
    ADD CONSTRAINT visits_proposal_engineers_user_id_ea546617_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_proposal
    ADD CONSTRAINT visits_proposal_plan_id_72663554_fk_visits_plan_id FOREIGN KEY (plan_id) REFERENCES public.visits_plan(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_proposal_remedials
    ADD CONSTRAINT visits_proposal_reme_proposal_id_c6d1d858_fk_visits_pr FOREIGN KEY (proposal_id) REFERENCES public.visits_proposal(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_proposal_remedials
    ADD CONSTRAINT visits_proposal_reme_remedial_id_3eb72861_fk_works_rem FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_proposal
    ADD CONSTRAINT visits_proposal_site_id_5603d71e_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_proposal
    ADD CONSTRAINT visits_proposal_visit_id_80bf70ee_fk_visits_visit_id FOREIGN KEY (visit_id) REFERENCES public.visits_visit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_seeto
    ADD CONSTRAINT visits_seeto_owner_id_1653c743_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_seeto
    ADD CONSTRAINT visits_seeto_remedial_id_dccca687_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_seeto
    ADD CONSTRAINT visits_seeto_site_id_db7a3b75_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_seeto
    ADD CONSTRAINT visits_seeto_unit_id_5a76dc18_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_sitekey
    ADD CONSTRAINT visits_sitekey_out_to_id_10f34e00_fk_people_user_id FOREIGN KEY (out_to_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_sitekey
    ADD CONSTRAINT visits_sitekey_site_id_82e3de18_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer_engineers
    ADD CONSTRAINT visits_timesoffer_en_timesoffer_id_b07f1842_fk_visits_ti FOREIGN KEY (timesoffer_id) REFERENCES public.visits_timesoffer(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer_engineers
    ADD CONSTRAINT visits_timesoffer_engineers_user_id_6841df10_fk_people_user_id FOREIGN KEY (user_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer
    ADD CONSTRAINT visits_timesoffer_made_by_id_da3b1101_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer
    ADD CONSTRAINT visits_timesoffer_party_id_34f86983_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer_remedials
    ADD CONSTRAINT visits_timesoffer_re_remedial_id_644d073e_fk_works_rem FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer_remedials
    ADD CONSTRAINT visits_timesoffer_re_timesoffer_id_3e93b597_fk_visits_ti FOREIGN KEY (timesoffer_id) REFERENCES public.visits_timesoffer(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer
    ADD CONSTRAINT visits_timesoffer_site_id_48f841f6_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer
    ADD CONSTRAINT visits_timesoffer_unit_id_4249a59b_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_timesoffer
    ADD CONSTRAINT visits_timesoffer_visit_id_1db50ef4_fk_visits_visit_id FOREIGN KEY (visit_id) REFERENCES public.visits_visit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_unplanned
    ADD CONSTRAINT visits_unplanned_plan_id_11f4c3da_fk_visits_plan_id FOREIGN KEY (plan_id) REFERENCES public.visits_plan(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_unplanned
    ADD CONSTRAINT visits_unplanned_remedial_id_b420610b_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_visit
    ADD CONSTRAINT visits_visit_booked_by_id_26034123_fk_people_user_id FOREIGN KEY (booked_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_visit
    ADD CONSTRAINT visits_visit_site_id_3172f31b_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_visitline
    ADD CONSTRAINT visits_visitline_observation_id_2c749f37_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_visitline
    ADD CONSTRAINT visits_visitline_remedial_id_a396658d_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_visitline
    ADD CONSTRAINT visits_visitline_unit_id_fdb5fabc_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_visitline
    ADD CONSTRAINT visits_visitline_visit_id_06a22232_fk_visits_visit_id FOREIGN KEY (visit_id) REFERENCES public.visits_visit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_visitmove
    ADD CONSTRAINT visits_visitmove_by_id_e2625d6f_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.visits_visitmove
    ADD CONSTRAINT visits_visitmove_visit_id_14777054_fk_visits_visit_id FOREIGN KEY (visit_id) REFERENCES public.visits_visit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_approval
    ADD CONSTRAINT works_approval_party_id_e59676e8_fk_premises_party_id FOREIGN KEY (party_id) REFERENCES public.premises_party(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_approval
    ADD CONSTRAINT works_approval_recorded_by_id_ef70943a_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_approval
    ADD CONSTRAINT works_approval_remedial_id_6d4dc8c5_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_item
    ADD CONSTRAINT works_item_remedial_id_c9f13cc5_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_powerstep
    ADD CONSTRAINT works_powerstep_by_id_6bf011aa_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_powerstep
    ADD CONSTRAINT works_powerstep_remedial_id_2c92fca3_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proof
    ADD CONSTRAINT works_proof_certificate_file_id_7c0a3e58_fk_ledger_st FOREIGN KEY (certificate_file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proof
    ADD CONSTRAINT works_proof_done_by_id_a12ef6e8_fk_people_user_id FOREIGN KEY (done_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proof_readings
    ADD CONSTRAINT works_proof_readings_proof_id_a5efbe0b_fk_works_proof_id FOREIGN KEY (proof_id) REFERENCES public.works_proof(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proof_readings
    ADD CONSTRAINT works_proof_readings_reading_id_60432ded_fk_inspectio FOREIGN KEY (reading_id) REFERENCES public.inspections_reading(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proof
    ADD CONSTRAINT works_proof_remedial_id_ab565ae2_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proofphoto
    ADD CONSTRAINT works_proofphoto_added_by_id_20b3a41b_fk_people_user_id FOREIGN KEY (added_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proofphoto
    ADD CONSTRAINT works_proofphoto_file_id_8d97ec81_fk_ledger_storedfile_hash FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proofphoto
    ADD CONSTRAINT works_proofphoto_observation_id_61a28cbf_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proofphoto
    ADD CONSTRAINT works_proofphoto_proof_id_95077ec1_fk_works_proof_id FOREIGN KEY (proof_id) REFERENCES public.works_proof(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proofphoto
    ADD CONSTRAINT works_proofphoto_remedial_id_598a8817_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proofreview
    ADD CONSTRAINT works_proofreview_by_id_287a9e31_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_proofreview
    ADD CONSTRAINT works_proofreview_proof_id_f5558a6d_fk_works_proof_id FOREIGN KEY (proof_id) REFERENCES public.works_proof(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_recalldecision
    ADD CONSTRAINT works_recalldecision_by_id_d3cdc244_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_recalldecision
    ADD CONSTRAINT works_recalldecision_fault_id_7bce0f66_fk_people_in FOREIGN KEY (fault_id) REFERENCES public.people_instrumentfault(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_recalldecision
    ADD CONSTRAINT works_recalldecision_reading_id_781c69c0_fk_inspectio FOREIGN KEY (reading_id) REFERENCES public.inspections_reading(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_remedial
    ADD CONSTRAINT works_remedial_call_back_of_id_48cf9e83_fk_works_remedial_id FOREIGN KEY (call_back_of_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_remedial
    ADD CONSTRAINT works_remedial_made_by_id_1e217bc4_fk_people_user_id FOREIGN KEY (made_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_remedial
    ADD CONSTRAINT works_remedial_owner_id_a89960d2_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_remedial
    ADD CONSTRAINT works_remedial_site_id_dfdf839e_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_remedial
    ADD CONSTRAINT works_remedial_unit_id_a29b9e16_fk_premises_unit_id FOREIGN KEY (unit_id) REFERENCES public.premises_unit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_remedies
    ADD CONSTRAINT works_remedies_observation_id_e5193e1f_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_remedies
    ADD CONSTRAINT works_remedies_remedial_id_54018480_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_requiredreading
    ADD CONSTRAINT works_requiredreadin_circuit_id_ace1bb16_fk_premises_ FOREIGN KEY (circuit_id) REFERENCES public.premises_circuit(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_requiredreading
    ADD CONSTRAINT works_requiredreading_remedial_id_78cd5a68_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_stint
    ADD CONSTRAINT works_stint_by_id_cea18b4b_fk_people_user_id FOREIGN KEY (by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_stint
    ADD CONSTRAINT works_stint_proof_id_ed7f67d0_fk_works_proof_id FOREIGN KEY (proof_id) REFERENCES public.works_proof(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_stint
    ADD CONSTRAINT works_stint_remedial_id_d317e60c_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_used
    ADD CONSTRAINT works_used_stint_id_09997501_fk_works_stint_id FOREIGN KEY (stint_id) REFERENCES public.works_stint(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_waiting
    ADD CONSTRAINT works_waiting_observation_id_12fdc0c7_fk_inspectio FOREIGN KEY (observation_id) REFERENCES public.inspections_observation(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_waiting
    ADD CONSTRAINT works_waiting_owner_id_bed2c948_fk_people_user_id FOREIGN KEY (owner_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_waiting
    ADD CONSTRAINT works_waiting_recorded_by_id_e7e53cb9_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_waiting
    ADD CONSTRAINT works_waiting_remedial_id_c7e3062a_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_waiting
    ADD CONSTRAINT works_waiting_site_id_abfe22d3_fk_premises_site_id FOREIGN KEY (site_id) REFERENCES public.premises_site(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_wayout
    ADD CONSTRAINT works_wayout_file_id_47f1ca9d_fk_ledger_storedfile_hash FOREIGN KEY (file_id) REFERENCES public.ledger_storedfile(hash) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_wayout
    ADD CONSTRAINT works_wayout_looked_by_id_948b6078_fk_people_user_id FOREIGN KEY (looked_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_wayout
    ADD CONSTRAINT works_wayout_recorded_by_id_654522d5_fk_people_user_id FOREIGN KEY (recorded_by_id) REFERENCES public.people_user(id) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY public.works_wayout
    ADD CONSTRAINT works_wayout_remedial_id_75be608d_fk_works_remedial_id FOREIGN KEY (remedial_id) REFERENCES public.works_remedial(id) DEFERRABLE INITIALLY DEFERRED;
