-- Every open obligation, one row each. Reads stored facts only: no present date, no function of ours.
-- rank: 4 C1, 3 C2, 2 FI, 1 C3, 0 none; somebody alone in a place has that of a C1. due 9999-12-31: there is no date.
-- shows_from, shows_until: the days on which the row stands in the list. Days are London's.
-- A visit is said with its day: what is booked is due on it, and the first of its engineers who still works here has it.
-- Each part is written so that a condition on ref, site or due reaches its index: lists ask for keys first, then rows.
-- So that a list reads but the rows that it needs, in the large parts these are columns of one table: not_before, never
-- later than due (year 1: a part that is small; none: there is no date); own_owner_id, whose it is without an undertaking;
-- lacking: it wants an owner or a date.
-- Around the parts: whoever has a row in hand has it while its own owner and day are those that they found, since who
-- changed either has acted since. `weighs`: without an owner who works here and a date it is a loose end.
CREATE VIEW due_list AS
SELECT r.kind, r.ref, r.site_id, r.unit_id, r.observation, r.remedial, r.board, r.code, r.rank, r.made_safe,
    r.loose_else OR (r.weighs AND (NOT COALESCE(w.is_active, FALSE) OR (
        r.due = DATE '9999-12-31' AND u.id IS NULL
    ))) AS loose,
    r.subject, r.next_step, r.rule, COALESCE(u.by_id, r.owner_id) AS owner_id, r.waits_on,
    CASE WHEN r.due = DATE '9999-12-31' THEN COALESCE(u.until, r.due) ELSE r.due END AS due,
    r.shows_from, r.first_recorded_on, r.remedy_by, r.quote, r.shows_until, r.visit, r.person,
    u.until AS in_hand_until, u.reason AS in_hand_why,
    r.owner_id AS own_owner_id, r.not_before, r.lacking
FROM (

SELECT 'uncoded'::text AS kind, o.id AS ref, o.site_id, o.unit_id, o.id AS observation, NULL::uuid AS remedial,
    o.board_id AS board, o.code, 0 AS rank, o.made_safe, FALSE AS weighs, FALSE AS loose_else, o.text AS subject,
    COALESCE('Booked for ' || b.said || ': look at it and have it coded', 'Have it coded by a qualified person')
        AS next_step,
    'Nobody competent has looked at it yet'::text AS rule, COALESCE(b.lead, o.owner_id) AS owner_id, ''::text AS waits_on,
    LEAST(b.on, COALESCE(o.step_by, o.recorded_on)) AS due, DATE '0001-01-01' AS shows_from, o.first_recorded_on, o.remedy_by,
    NULL::uuid AS quote, DATE '9999-12-31' AS shows_until, b.id AS visit, NULL::uuid AS person,
    DATE '0001-01-01' AS not_before, FALSE AS lacking
FROM inspections_observation o JOIN premises_site s ON s.id = o.site_id AND s.archived_at IS NULL
LEFT JOIN LATERAL (
    SELECT v.id, d.on, to_char(d.on, 'FMDD Mon YYYY') AS said, (
        SELECT a.engineer_id FROM visits_attendance a JOIN people_user p ON p.id = a.engineer_id AND p.is_active
        WHERE a.visit_id = v.id AND NOT a.cancelled ORDER BY a.id LIMIT 1
    ) AS lead
    FROM visits_visitline l JOIN visits_visit v ON v.id = l.visit_id AND v.state = 'booked'
    CROSS JOIN LATERAL (SELECT (v.start AT TIME ZONE 'Europe/London')::date AS on) d
    WHERE l.observation_id = o.id AND l.kind = 'call-out' AND l.active AND l.settled_at IS NULL LIMIT 1
) b ON TRUE
WHERE o.ended = '' AND NOT o.draft AND o.code = ''

UNION ALL
-- Nobody outside is waited for, no remedial carries it, none was declined.
SELECT 'decide', o.id, o.site_id, o.unit_id, o.id, NULL, o.board_id, o.code,
    CASE o.code WHEN 'C1' THEN 4 WHEN 'C2' THEN 3 WHEN 'FI' THEN 2 ELSE 1 END, o.made_safe,
    o.code <> 'C3', FALSE, o.text,
    CASE WHEN o.code = 'C1' AND NOT o.made_safe THEN 'Make it safe, then decide what it needs'
        WHEN o.code = 'FI' THEN 'Decide how to investigate it' ELSE 'Decide what it needs' END,
    o.remedy_basis, o.owner_id, '', COALESCE(o.step_by, DATE '9999-12-31'), DATE '0001-01-01',
    o.first_recorded_on, o.remedy_by, NULL, DATE '9999-12-31', NULL, NULL,
    o.step_by, o.owner_id IS NULL OR o.step_by IS NULL
FROM inspections_observation o JOIN premises_site s ON s.id = o.site_id AND s.archived_at IS NULL
WHERE o.ended = '' AND NOT o.draft AND o.code <> '' AND NOT EXISTS (
    SELECT 1 FROM works_remedies l JOIN works_remedial m ON m.id = l.remedial_id
    WHERE l.observation_id = o.id AND (
        m.stage IN ('to-price', 'quoted', 'approved', 'booked', 'declined') OR (m.stage = 'done' AND m.step_by IS NOT NULL)
    )
) AND NOT EXISTS (SELECT 1 FROM works_waiting w WHERE w.observation_id = o.id AND w.ended_at IS NULL)

UNION ALL
-- A remedial by its stage, led by the most dangerous of its open observations, what nobody made safe before what is made
-- safe: else one that is safe would hide one that is not. A done one awaits review while it has a
-- step; a booked one is due on the day of its visit and is the engineer's; a quoted one names the quote that offers it;
-- one to book is not due before its parts are ready, unless one of its observations must be remedied earlier.
SELECT CASE m.stage WHEN 'to-price' THEN 'price' WHEN 'quoted' THEN 'answer' WHEN 'approved' THEN 'book'
        WHEN 'booked' THEN 'visit' ELSE 'review' END,
    m.id, m.site_id, m.unit_id, o.id, m.id, o.board_id, o.code, o.rank, o.made_safe,
    o.rank >= 2, o.rank >= 2 AND m.stage = 'booked' AND v.id IS NULL, m.work,
    CASE m.stage WHEN 'to-price' THEN 'Price the work and get an answer'
        WHEN 'quoted' THEN COALESCE('Get an answer to quote ' || q.number || ', which stands until '
            || to_char(q.valid_until, 'FMDD Mon YYYY'), 'Chase the answer to the quote')
        WHEN 'approved' THEN COALESCE(
            'Book the work: parts are ready on ' || to_char(m.parts_ready_on, 'FMDD Mon YYYY'), 'Book the work'
        ) WHEN 'booked' THEN 'Do the work and close it with proof'
        ELSE 'Review the proof' END,
    o.remedy_basis, m.owner_id, '', CASE WHEN m.step_by IS NULL THEN DATE '9999-12-31'
        WHEN m.stage = 'approved' AND m.parts_ready_on IS NOT NULL
            THEN GREATEST(m.step_by, LEAST(m.parts_ready_on, o.remedy_by))
        ELSE m.step_by END, DATE '0001-01-01',
    o.first_recorded_on, o.remedy_by, q.id, DATE '9999-12-31', v.visit_id, NULL,
    m.step_by, m.owner_id IS NULL OR m.step_by IS NULL
FROM works_remedial m JOIN premises_site s ON s.id = m.site_id AND s.archived_at IS NULL
CROSS JOIN LATERAL (
    SELECT o.id, o.board_id, o.code, o.made_safe, first_value(o.remedy_basis) OVER soonest AS remedy_basis,
        o.first_recorded_on, first_value(o.remedy_by) OVER soonest AS remedy_by,
        CASE o.code WHEN 'C1' THEN 4 WHEN 'C2' THEN 3 WHEN 'FI' THEN 2 WHEN 'C3' THEN 1 ELSE 0 END AS rank
    FROM works_remedies l JOIN inspections_observation o ON o.id = l.observation_id
    WHERE l.remedial_id = m.id AND o.ended = '' AND NOT o.draft
    WINDOW soonest AS (ORDER BY o.remedy_by, o.first_recorded_on, o.id)
    ORDER BY rank DESC, o.made_safe, o.first_recorded_on, o.id LIMIT 1
) o
LEFT JOIN LATERAL (
    SELECT q.id, q.number, f.valid_until
    FROM quotes_lineremedial r JOIN quotes_line l ON l.id = r.line_id
    JOIN quotes_offer f ON f.id = l.offer_id AND f.state = 'sent' JOIN quotes_quote q ON q.id = f.quote_id
    WHERE m.stage = 'quoted' AND r.remedial_id = m.id ORDER BY q.chase_on, q.id LIMIT 1
) q ON TRUE
LEFT JOIN visits_visitline v ON v.remedial_id = m.id AND v.active AND m.stage = 'booked'
WHERE m.stage IN ('to-price', 'quoted', 'approved', 'booked') OR (m.stage = 'done' AND m.step_by IS NOT NULL)

UNION ALL
-- What was declined and that nothing else carries is offered again.
SELECT 'offer-again', o.id, o.site_id, o.unit_id, o.id, m.id, o.board_id, o.code,
    CASE o.code WHEN 'C1' THEN 4 WHEN 'C2' THEN 3 WHEN 'FI' THEN 2 WHEN 'C3' THEN 1 ELSE 0 END, o.made_safe,
    o.code IN ('C1', 'C2', 'FI'), FALSE, o.text,
    'Offer the work again: it was declined', o.remedy_basis, m.owner_id, '',
    COALESCE(m.offer_again_on, DATE '9999-12-31'), DATE '0001-01-01', o.first_recorded_on, o.remedy_by,
    NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM inspections_observation o JOIN premises_site s ON s.id = o.site_id AND s.archived_at IS NULL
CROSS JOIN LATERAL (
    SELECT m.id, m.owner_id, w.offer_again_on
    FROM works_remedies l JOIN works_remedial m ON m.id = l.remedial_id AND m.stage = 'declined'
    LEFT JOIN LATERAL (
        SELECT w.offer_again_on FROM works_wayout w WHERE w.remedial_id = m.id AND w.stage = 'declined' AND w.taken_back_at IS NULL
        ORDER BY w.recorded_at DESC, w.id LIMIT 1
    ) w ON TRUE
    WHERE l.observation_id = o.id ORDER BY w.offer_again_on NULLS LAST, m.id LIMIT 1
) m
WHERE o.ended = '' AND NOT o.draft
AND EXISTS (
    SELECT 1 FROM works_remedies l JOIN works_remedial d ON d.id = l.remedial_id AND d.stage = 'declined'
    WHERE l.observation_id = o.id
) AND NOT EXISTS (
    SELECT 1 FROM works_remedies l JOIN works_remedial c ON c.id = l.remedial_id
    WHERE l.observation_id = o.id AND (
        c.stage IN ('to-price', 'quoted', 'approved', 'booked') OR (c.stage = 'done' AND c.step_by IS NOT NULL)
    )
)

UNION ALL
SELECT 'look-again', k.id, o.site_id, o.unit_id, o.id, NULL, o.board_id, o.code,
    CASE o.code WHEN 'C1' THEN 4 WHEN 'C2' THEN 3 WHEN 'FI' THEN 2 WHEN 'C3' THEN 1 ELSE 0 END, o.made_safe, FALSE, FALSE, o.text,
    COALESCE('Booked for ' || b.said || ': look again at what was made safe', 'Look again at what was made safe'),
    'Made safe is temporary: the defect is still open',
    COALESCE(b.lead, k.looker_id, o.owner_id), '', LEAST(b.on, k.look_again_on), DATE '0001-01-01',
    o.first_recorded_on, o.remedy_by, NULL, DATE '9999-12-31', b.id, NULL,
    DATE '0001-01-01', FALSE
FROM inspections_madesafe k JOIN inspections_observation o ON o.id = k.observation_id AND o.ended = '' AND NOT o.draft
JOIN premises_site s ON s.id = o.site_id AND s.archived_at IS NULL
LEFT JOIN LATERAL (
    SELECT v.id, d.on, to_char(d.on, 'FMDD Mon YYYY') AS said, (
        SELECT a.engineer_id FROM visits_attendance a JOIN people_user p ON p.id = a.engineer_id AND p.is_active
        WHERE a.visit_id = v.id AND NOT a.cancelled ORDER BY a.id LIMIT 1
    ) AS lead
    FROM visits_visitline l JOIN visits_visit v ON v.id = l.visit_id AND v.state = 'booked'
    CROSS JOIN LATERAL (SELECT (v.start AT TIME ZONE 'Europe/London')::date AS on) d
    WHERE l.observation_id = o.id AND l.kind = 'look-again' AND l.active AND l.settled_at IS NULL LIMIT 1
) b ON TRUE
WHERE k.ended = ''

UNION ALL
-- What waits on somebody outside; a remedial that waits is led by its most dangerous open observation, as above.
SELECT 'chase', w.id, w.site_id, COALESCE(o.unit_id, m.unit_id), o.id, m.id, o.board_id, COALESCE(o.code, ''),
    COALESCE(o.rank, 0), COALESCE(o.made_safe, FALSE),
    COALESCE(o.rank, 0) >= 2, FALSE, w.for_what, 'Chase it',
    'Waiting on somebody outside', w.owner_id, w.on_whom, w.chase_on, DATE '0001-01-01',
    o.first_recorded_on, o.remedy_by, NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM works_waiting w JOIN premises_site s ON s.id = w.site_id AND s.archived_at IS NULL
LEFT JOIN works_remedial m ON m.id = w.remedial_id
LEFT JOIN LATERAL (
    SELECT o.id, o.unit_id, o.board_id, o.code, o.made_safe, o.first_recorded_on,
        min(o.remedy_by) OVER () AS remedy_by,
        CASE o.code WHEN 'C1' THEN 4 WHEN 'C2' THEN 3 WHEN 'FI' THEN 2 WHEN 'C3' THEN 1 ELSE 0 END AS rank
    FROM inspections_observation o
    WHERE o.ended = '' AND NOT o.draft AND (o.id = w.observation_id OR o.id IN (
        SELECT l.observation_id FROM works_remedies l WHERE l.remedial_id = w.remedial_id
    ))
    ORDER BY rank DESC, o.made_safe, o.first_recorded_on, o.id LIMIT 1
) o ON TRUE
WHERE w.ended_at IS NULL AND (w.observation_id IS NULL OR o.id IS NOT NULL)
AND (m.id IS NULL OR m.stage IN ('to-price', 'quoted', 'approved', 'booked', 'done'))

UNION ALL
-- Inspections that no visit is booked for by their date; those that are booked by their visits, which are few.
SELECT 'inspection', d.unit_id, t.site_id, t.id, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE,
    CASE WHEN t.whole_site THEN 'Next inspection' ELSE 'Next inspection of ' || t.name END,
    'Offer and book the next inspection', d.basis, d.owner_id, '', d.due_on, d.shows_from,
    NULL, NULL, NULL, DATE '9999-12-31', NULL, NULL,
    d.due_on, FALSE
FROM inspections_inspectiondue d JOIN premises_unit t ON t.id = d.unit_id AND t.retired_at IS NULL
JOIN premises_site s ON s.id = t.site_id AND s.archived_at IS NULL
WHERE NOT EXISTS (
    SELECT 1 FROM visits_visitline l JOIN visits_visit v ON v.id = l.visit_id AND v.state = 'booked'
    WHERE l.unit_id = d.unit_id AND l.active AND l.settled_at IS NULL
)

UNION ALL
SELECT 'inspection', d.unit_id, t.site_id, t.id, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE,
    CASE WHEN t.whole_site THEN 'Next inspection' ELSE 'Next inspection of ' || t.name END,
    'Booked for ' || to_char(b.on, 'FMDD Mon YYYY') || CASE WHEN b.on > d.due_on THEN ', after it is due' ELSE '' END
        || ': do it and record it',
    d.basis, COALESCE((
        SELECT a.engineer_id FROM visits_attendance a JOIN people_user p ON p.id = a.engineer_id AND p.is_active
        WHERE a.visit_id = v.id AND NOT a.cancelled ORDER BY a.id LIMIT 1
    ), d.owner_id), '', b.on, DATE '0001-01-01', NULL, NULL, NULL, DATE '9999-12-31', v.id, NULL,
    DATE '0001-01-01', FALSE
FROM visits_visitline l JOIN visits_visit v ON v.id = l.visit_id AND v.state = 'booked'
CROSS JOIN LATERAL (SELECT (v.start AT TIME ZONE 'Europe/London')::date AS on) b
JOIN inspections_inspectiondue d ON d.unit_id = l.unit_id
JOIN premises_unit t ON t.id = d.unit_id AND t.retired_at IS NULL
JOIN premises_site s ON s.id = t.site_id AND s.archived_at IS NULL
WHERE l.active AND l.settled_at IS NULL

UNION ALL
-- A report that is being written says nothing to anybody yet: it stands here by the worst that is in it.
SELECT 'draft', i.id, i.site_id, NULL, NULL, NULL, NULL, COALESCE(worst.code, ''), COALESCE(worst.rank, 0), FALSE,
    COALESCE(worst.rank, 0) >= 2, FALSE, COALESCE(worst.text, 'Nothing entered yet'),
    'Finish the report and issue it', 'What a draft holds is in force only when it is issued',
    i.recorded_by_id, '', (i.recorded_at AT TIME ZONE 'Europe/London')::date, DATE '0001-01-01', NULL, NULL,
    NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM inspections_inspection i
JOIN premises_site s ON s.id = i.site_id AND s.archived_at IS NULL
LEFT JOIN LATERAL (
    SELECT o.code, o.text,
        CASE o.code WHEN 'C1' THEN 4 WHEN 'C2' THEN 3 WHEN 'FI' THEN 2 WHEN 'C3' THEN 1 ELSE 0 END AS rank
    FROM inspections_observation o WHERE o.inspection_id = i.id AND o.draft ORDER BY rank DESC, o.id LIMIT 1
) worst ON TRUE
WHERE i.state = 'draft'

UNION ALL
-- Its observations ended some other way (no code, a finding, a later report): somebody must call the work off.
-- Of one that is done and awaits review, what it was to put right was decided otherwise or found again meanwhile.
SELECT 'nothing-left', m.id, m.site_id, m.unit_id, NULL, m.id, NULL, '', 0, FALSE, FALSE, FALSE, m.work,
    CASE m.stage WHEN 'done' THEN 'Look at its proof: what it was to put right ended otherwise, or was found again'
        ELSE 'Call it off: nothing is left to put right' END,
    'Its observations are no longer open', m.owner_id, '',
    m.step_by, DATE '0001-01-01', NULL, NULL, NULL, DATE '9999-12-31', v.visit_id, NULL,
    m.step_by, FALSE
FROM works_remedial m JOIN premises_site s ON s.id = m.site_id AND s.archived_at IS NULL
LEFT JOIN visits_visitline v ON v.remedial_id = m.id AND v.active AND m.stage = 'booked'
WHERE m.stage IN ('to-price', 'quoted', 'approved', 'booked', 'done') AND m.step_by IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM works_remedies l JOIN inspections_observation o ON o.id = l.observation_id
    WHERE l.remedial_id = m.id AND o.ended = '' AND NOT o.draft
)

UNION ALL
SELECT 'nothing-left', m.id, m.site_id, m.unit_id, NULL, m.id, NULL, '', 0, FALSE, FALSE, FALSE, m.work,
    CASE m.stage WHEN 'done' THEN 'Look at its proof: what it was to put right ended otherwise, or was found again'
        ELSE 'Call it off: nothing is left to put right' END,
    'Its observations are no longer open', m.owner_id, '',
    (m.made_at AT TIME ZONE 'Europe/London')::date, DATE '0001-01-01', NULL, NULL, NULL, DATE '9999-12-31', v.visit_id, NULL,
    DATE '0001-01-01', FALSE
FROM works_remedial m JOIN premises_site s ON s.id = m.site_id AND s.archived_at IS NULL
LEFT JOIN visits_visitline v ON v.remedial_id = m.id AND v.active AND m.stage = 'booked'
WHERE m.stage IN ('to-price', 'quoted', 'approved', 'booked') AND m.step_by IS NULL AND NOT EXISTS (
    SELECT 1 FROM works_remedies l JOIN inspections_observation o ON o.id = l.observation_id
    WHERE l.remedial_id = m.id AND o.ended = '' AND NOT o.draft
)

UNION ALL
-- Another firm's codes wait for a qualified person: one row a report, by the day that was set when it was taken in.
SELECT 'codes', i.id, i.site_id, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE,
    CASE w.many WHEN 1 THEN '1 code to decide' ELSE w.many || ' codes to decide' END || ' in report ' || i.number
        || COALESCE(' of ' || NULLIF(i.firm_name, ''), ''),
    'Review the codes of another firm', 'Another firm''s codes are looked at by a qualified person of ours',
    i.issued_by_id, '', COALESCE(i.codes_by, (i.issued_at AT TIME ZONE 'Europe/London')::date), DATE '0001-01-01',
    NULL, NULL, NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM inspections_inspection i JOIN premises_site s ON s.id = i.site_id AND s.archived_at IS NULL
CROSS JOIN LATERAL (
    SELECT count(*) AS many FROM inspections_observation o
    WHERE o.inspection_id = i.id AND o.ended = '' AND NOT o.draft AND o.code <> '' AND NOT o.reviewed
) w
WHERE i.state = 'issued' AND i.other_firm AND w.many > 0

UNION ALL
-- What the law asks for in writing; what the firm itself owes is a notification.
SELECT CASE p.owed_by WHEN 'firm' THEN 'notification' ELSE 'paper' END, p.id, p.site_id, p.unit_id, NULL, NULL, NULL,
    '', 0, FALSE, FALSE, FALSE, p.what || COALESCE(' to ' || NULLIF(p.to, ''), '') || COALESCE(': ' || NULLIF(p.about, ''), ''),
    CASE p.owed_by WHEN 'firm' THEN 'Send it, and say when and how' ELSE 'See that it is given, and say when' END,
    p.basis, p.owner_id, '', p.due_on, DATE '0001-01-01', NULL, NULL, NULL, DATE '9999-12-31', NULL, NULL,
    p.due_on, FALSE
FROM inspections_paper p LEFT JOIN premises_unit t ON t.id = p.unit_id
JOIN premises_site s ON s.id = p.site_id AND s.archived_at IS NULL
WHERE p.answer = '' AND t.retired_at IS NULL

UNION ALL
-- A version that is with the customer, where no quoted remedial of it stands above with the same owner and day already.
-- OFFSET 0 keeps the planner from trying every order in which eight tables may be joined: a quarter of all its time.
SELECT 'quote', q.id, w.site_id, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, q.name,
    'Get an answer to quote ' || q.number || ', which stands until ' || to_char(f.valid_until, 'FMDD Mon YYYY'),
    'What is with the customer is chased before it lapses', q.owner_id, '',
    COALESCE(q.chase_on, DATE '9999-12-31'), DATE '0001-01-01', NULL, NULL, q.id, DATE '9999-12-31', NULL, NULL,
    q.chase_on, FALSE
FROM quotes_offer f JOIN quotes_quote q ON q.id = f.quote_id
CROSS JOIN LATERAL (
    SELECT w.site_id FROM quotes_quotesite w JOIN premises_site s ON s.id = w.site_id AND s.archived_at IS NULL
    WHERE w.quote_id = q.id ORDER BY w.site_id LIMIT 1
) w
WHERE f.state = 'sent' AND NOT EXISTS (
    SELECT 1 FROM quotes_line l JOIN quotes_lineremedial r ON r.line_id = l.id
    JOIN works_remedial m ON m.id = r.remedial_id AND m.stage = 'quoted'
    JOIN premises_site s ON s.id = m.site_id AND s.archived_at IS NULL
    WHERE l.offer_id = f.id AND EXISTS (
        SELECT 1 FROM works_remedies i JOIN inspections_observation o ON o.id = i.observation_id
        WHERE i.remedial_id = m.id AND o.ended = '' AND NOT o.draft OFFSET 0
    ) OFFSET 0
)

UNION ALL
-- What the customer asked about a quote, by the code of the line it is about, or the worst of the quote. It bears no code
-- itself: the danger has its own row.
SELECT 'question', n.id, w.site_id, NULL, NULL, NULL, NULL, '', COALESCE(worst.rank, 0), FALSE,
    COALESCE(worst.rank, 0) >= 2, FALSE,
    'Quote ' || q.number || COALESCE(': ' || said.text, ''), 'Answer the question about the quote',
    'The customer waits for it before saying yes or no', n.owner_id, '', n.reply_by, DATE '0001-01-01',
    NULL, NULL, q.id, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM quotes_question n JOIN quotes_quote q ON q.id = n.quote_id
CROSS JOIN LATERAL (
    SELECT w.site_id FROM quotes_quotesite w JOIN premises_site s ON s.id = w.site_id AND s.archived_at IS NULL
    WHERE w.quote_id = q.id ORDER BY w.site_id LIMIT 1
) w
LEFT JOIN LATERAL (
    SELECT r.text FROM quotes_remark r WHERE r.question_id = n.id ORDER BY r.at DESC, r.id DESC LIMIT 1
) said ON TRUE
LEFT JOIN LATERAL (
    SELECT CASE l.code WHEN 'C1' THEN 4 WHEN 'C2' THEN 3 WHEN 'FI' THEN 2 WHEN 'C3' THEN 1 ELSE 0 END AS rank
    FROM quotes_offer f JOIN quotes_line l ON l.offer_id = f.id
    WHERE f.quote_id = q.id AND f.state <> 'draft' AND (n.line_key IS NULL OR l.key = n.line_key)
    ORDER BY f.number DESC, rank DESC LIMIT 1
) worst ON TRUE
WHERE n.open

UNION ALL
-- Refused work for a C1 or C2, and nobody has left the danger in writing; not where other work for it was accepted.
SELECT 'notice', o.id, o.site_id, o.unit_id, o.id, m.id, o.board_id, o.code, CASE o.code WHEN 'C1' THEN 4 ELSE 3 END,
    o.made_safe, TRUE, FALSE, o.text, 'Leave a danger notice: the work was refused',
    'Whoever refuses has been told of the danger in writing (common practice)', m.owner_id, '',
    COALESCE(m.on, DATE '9999-12-31'), DATE '0001-01-01', o.first_recorded_on, o.remedy_by, NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM inspections_observation o JOIN premises_site s ON s.id = o.site_id AND s.archived_at IS NULL
CROSS JOIN LATERAL (
    SELECT m.id, m.owner_id, w.on
    FROM works_remedies l JOIN works_remedial m ON m.id = l.remedial_id AND m.stage = 'declined'
    LEFT JOIN LATERAL (
        SELECT w.on FROM works_wayout w WHERE w.remedial_id = m.id AND w.stage = 'declined' AND w.taken_back_at IS NULL
        ORDER BY w.recorded_at DESC, w.id LIMIT 1
    ) w ON TRUE
    WHERE l.observation_id = o.id ORDER BY w.on NULLS LAST, m.id LIMIT 1
) m
WHERE o.ended = '' AND NOT o.draft AND o.code IN ('C1', 'C2')
AND EXISTS (
    SELECT 1 FROM works_remedies l JOIN works_remedial d ON d.id = l.remedial_id AND d.stage = 'declined'
    WHERE l.observation_id = o.id
) AND NOT EXISTS (
    SELECT 1 FROM inspections_dangernotice_observations g WHERE g.observation_id = o.id
) AND NOT EXISTS (
    SELECT 1 FROM works_remedies l JOIN works_remedial c ON c.id = l.remedial_id
    WHERE l.observation_id = o.id AND c.stage IN ('approved', 'booked', 'done')
)

UNION ALL
-- A visit that somebody should confirm, while anything on it is still to be done and until its day.
SELECT 'confirm', v.id, v.site_id, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE,
    'Visit ' || v.number || ' on ' || to_char(v.start AT TIME ZONE 'Europe/London', 'FMDD Mon YYYY at HH24:MI'),
    CASE v.answered WHEN 'cannot' THEN 'Find another time' WHEN 'asked' THEN 'Chase the confirmation'
        ELSE 'Ask whether the time suits' END,
    'A visit that was confirmed is seldom in vain (common practice)', v.booked_by_id,
    CASE WHEN v.answered = 'asked' THEN COALESCE(c.whom, 'customer') ELSE '' END, v.confirm_by, DATE '0001-01-01',
    NULL, NULL, NULL, (v.start AT TIME ZONE 'Europe/London')::date, v.id, NULL,
    v.confirm_by, FALSE
FROM visits_visit v JOIN premises_site s ON s.id = v.site_id AND s.archived_at IS NULL
LEFT JOIN LATERAL (
    SELECT c.whom FROM visits_confirmation c WHERE c.visit_id = v.id AND c.answered = 'asked'
    ORDER BY c.at DESC, c.id DESC LIMIT 1
) c ON TRUE
WHERE v.state = 'booked' AND v.confirm_by IS NOT NULL AND v.answered <> 'confirmed' AND EXISTS (
    SELECT 1 FROM visits_visitline l LEFT JOIN works_remedial m ON m.id = l.remedial_id
    WHERE l.visit_id = v.id AND l.active AND (m.stage = 'booked' OR (m.id IS NULL AND l.settled_at IS NULL))
)

UNION ALL
-- A visit that was, with something on it of which nobody said what became of it. Remedials have rows of their own.
SELECT 'unclosed', v.id, v.site_id, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE,
    'Visit ' || v.number || ' on ' || to_char(v.start AT TIME ZONE 'Europe/London', 'FMDD Mon YYYY'),
    'Say what was done at the visit', 'What a visit was for is settled by the day after it (common practice)',
    COALESCE((
        SELECT a.engineer_id FROM visits_attendance a JOIN people_user p ON p.id = a.engineer_id AND p.is_active
        WHERE a.visit_id = v.id AND NOT a.cancelled ORDER BY a.id LIMIT 1
    ), v.booked_by_id), '', e.on + 1, e.on + 1, NULL, NULL, NULL, DATE '9999-12-31', v.id, NULL,
    DATE '0001-01-01', FALSE
FROM visits_visit v JOIN premises_site s ON s.id = v.site_id AND s.archived_at IS NULL
CROSS JOIN LATERAL (SELECT (v.end AT TIME ZONE 'Europe/London')::date AS on) e
WHERE v.state = 'booked' AND EXISTS (
    SELECT 1 FROM visits_visitline l
    WHERE l.visit_id = v.id AND l.kind <> 'remedial' AND l.active AND l.settled_at IS NULL
)

UNION ALL
-- The last attempt to get in somewhere says when to try again. A visit booked there since is that next try.
SELECT 'access', a.id, a.site_id, a.unit_id, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE,
    'Nobody let us in so far: ' || a.whom, 'Try again to get in',
    'Each attempt is kept as evidence of reasonable steps', COALESCE(v.booked_by_id, a.by_id), '', a.next_on,
    DATE '0001-01-01', NULL, NULL, NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM visits_attempt a JOIN premises_site s ON s.id = a.site_id AND s.archived_at IS NULL
LEFT JOIN visits_visit v ON v.id = a.visit_id
WHERE a.next_on IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM visits_attempt n
    WHERE n.site_id = a.site_id AND n.unit_id IS NOT DISTINCT FROM a.unit_id AND (n.at, n.id) > (a.at, a.id)
) AND NOT EXISTS (
    SELECT 1 FROM visits_visit b
    WHERE b.site_id = a.site_id AND b.state = 'booked' AND b.booked_at > a.recorded_at AND (a.unit_id IS NULL OR EXISTS (
        SELECT 1 FROM visits_visitline l LEFT JOIN works_remedial m ON m.id = l.remedial_id
        WHERE l.visit_id = b.id AND l.active AND a.unit_id IN (l.unit_id, m.unit_id)
    ))
)

UNION ALL
-- What must be seen to before work: not yet, or no longer. What has run out is asked for only where work is still open.
SELECT 'see-to', t.id, t.site_id, COALESCE(t.unit_id, m.unit_id), NULL, t.remedial_id, NULL, '', 0, FALSE, FALSE, FALSE, t.what,
    CASE WHEN t.met_on IS NULL THEN 'See to it before work begins'
        ELSE 'See to it again: it held until ' || to_char(t.holds_until, 'FMDD Mon YYYY') END,
    'It must be seen to before work begins', t.owner_id, '',
    CASE WHEN t.met_on IS NULL THEN t.by ELSE t.holds_until + 1 END,
    CASE WHEN t.met_on IS NULL THEN DATE '0001-01-01' ELSE t.holds_until + 1 END,
    NULL, NULL, NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM visits_seeto t JOIN premises_site s ON s.id = t.site_id AND s.archived_at IS NULL
LEFT JOIN works_remedial m ON m.id = t.remedial_id
WHERE t.withdrawn_at IS NULL AND (m.id IS NULL OR m.stage IN ('to-price', 'quoted', 'approved', 'booked'))
AND (t.met_on IS NULL OR (t.holds_until IS NOT NULL AND EXISTS (
    SELECT 1 FROM works_remedial o
    WHERE o.site_id = t.site_id AND o.stage IN ('to-price', 'quoted', 'approved', 'booked')
        AND (t.unit_id IS NULL OR o.unit_id = t.unit_id)
)))

UNION ALL
-- A key that is out. Its tag is not said: this list goes out by mail, and the tag must never stand beside the address.
SELECT 'key', k.id, k.site_id, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, 'Key: ' || k.what, 'Bring the key back',
    'Who holds a key, and until when, is kept', k.out_to_id, '', k.back_by, k.back_by, NULL, NULL, NULL,
    DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM visits_sitekey k JOIN premises_site s ON s.id = k.site_id AND s.archived_at IS NULL
WHERE k.out_to_id IS NOT NULL AND k.back_by IS NOT NULL

UNION ALL
-- Somebody is in there alone, and not out yet: first of its day, whatever else is due.
SELECT 'check-out', c.id, c.site_id, NULL, NULL, NULL, NULL, '', 4, FALSE, TRUE, FALSE,
    u.name || ' works alone here, to be out by ' || to_char(c.out_by AT TIME ZONE 'Europe/London', 'HH24:MI'),
    'Check out, or make sure that all is well', 'Who works alone says when they are out', c.user_id, '',
    (c.out_by AT TIME ZONE 'Europe/London')::date, DATE '0001-01-01', NULL, NULL, NULL, DATE '9999-12-31', c.visit_id, NULL,
    DATE '0001-01-01', FALSE
FROM visits_checkin c JOIN premises_site s ON s.id = c.site_id JOIN people_user u ON u.id = c.user_id
WHERE c.out_at IS NULL

UNION ALL
-- Times offered that nobody answered, or of which none suits, while the work waits to be booked and was not offered anew.
SELECT 'times', f.id, f.site_id, f.unit_id, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, f.subject,
    CASE f.state WHEN 'open' THEN 'Chase the answer to the times offered' ELSE 'Offer other times: none of those suits' END,
    'Times are offered once and then chased (common practice)', f.made_by_id,
    CASE f.state WHEN 'open' THEN COALESCE(f.name, 'customer') ELSE '' END, f.due, f.due, NULL, NULL, NULL,
    DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM (
    SELECT f.*, p.name,
        CASE f.state WHEN 'open' THEN f.answer_by
            ELSE COALESCE((f.answered_at AT TIME ZONE 'Europe/London')::date, f.answer_by) END AS due,
        'Times for ' || CASE w.many WHEN 1 THEN '1 remedial' ELSE w.many || ' remedials' END AS subject
    FROM visits_timesoffer f LEFT JOIN premises_party p ON p.id = f.party_id
    CROSS JOIN LATERAL (
        SELECT count(*) AS many FROM visits_timesoffer_remedials r JOIN works_remedial m ON m.id = r.remedial_id
        WHERE r.timesoffer_id = f.id AND m.stage = 'approved'
    ) w
    WHERE f.state IN ('open', 'none-suits') AND w.many > 0
) f JOIN premises_site s ON s.id = f.site_id AND s.archived_at IS NULL
WHERE NOT EXISTS (
    SELECT 1 FROM visits_timesoffer n JOIN visits_timesoffer_remedials r ON r.timesoffer_id = n.id
    WHERE n.site_id = f.site_id AND n.made_at > f.made_at AND n.state <> 'withdrawn' AND r.remedial_id IN (
        SELECT o.remedial_id FROM visits_timesoffer_remedials o WHERE o.timesoffer_id = f.id
    )
)

UNION ALL
-- The firm's part at a site ends, and the letter that says what is open there was not delivered yet.
SELECT 'letter', l.id, l.site_id, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, 'Closing letter to ' || l.to_name,
    'Deliver the closing letter, and say how', 'Whoever leaves is told in writing what is still open (common practice)',
    l.owner_id, '', l.deliver_by, DATE '0001-01-01', NULL, NULL, NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM due_leaving l JOIN premises_site s ON s.id = l.site_id AND s.archived_at IS NULL
WHERE l.delivered_on IS NULL AND l.taken_back_at IS NULL

UNION ALL
-- The firm's own: no site has these. They show so long before as their owners hear of them, 90 days at least.
-- An instrument is looked after by whoever recorded its last calibration.
SELECT 'instrument', i.id, NULL, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, i.name || ', ' || i.serial_number,
    'Have its accuracy checked', 'What an instrument shows counts only within its check', (
        SELECT c.recorded_by_id FROM people_instrumentcheck c JOIN people_user p ON p.id = c.recorded_by_id AND p.is_active
        WHERE c.instrument_id = i.id AND c.kind = 'calibration' ORDER BY c.checked_on DESC, c.recorded_at DESC, c.id LIMIT 1
    ), '', i.check_due, i.check_due - o.days, NULL, NULL, NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM people_instrument i
CROSS JOIN (SELECT GREATEST(90, (SELECT before FROM due_reminderrule WHERE sort = 'own')) AS days) o
WHERE i.archived_at IS NULL AND i.check_due IS NOT NULL

UNION ALL
-- The last day of what a person is competent for, unless it was ended knowingly or they were found competent for longer.
SELECT 'competence', c.id, NULL, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, p.name || ': qualified person',
    'Renew it, and record what shows it',
    'Only who is competent on the day reviews codes and proof', p.id, '', c.until, c.until - o.days,
    NULL, NULL, NULL, DATE '9999-12-31', NULL, p.id,
    DATE '0001-01-01', FALSE
FROM people_competence c JOIN people_user p ON p.id = c.user_id AND p.is_active
CROSS JOIN (SELECT GREATEST(90, (SELECT before FROM due_reminderrule WHERE sort = 'own')) AS days) o
WHERE c.until IS NOT NULL AND NOT c.ended AND NOT EXISTS (
    SELECT 1 FROM people_competence n
    WHERE n.user_id = c.user_id AND n.kind = c.kind AND n.id <> c.id
        AND (COALESCE(n.until, DATE '9999-12-31'), n.since, n.id) > (c.until, c.since, c.id)
)

UNION ALL
SELECT 'competence', k.id, NULL, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, p.name || ': ' || k.name,
    'Renew it, and record what shows it', 'Work that needs a skill goes to who has it on the day', p.id, '', k.until,
    k.until - o.days, NULL, NULL, NULL, DATE '9999-12-31', NULL, p.id,
    DATE '0001-01-01', FALSE
FROM people_skill k JOIN people_user p ON p.id = k.user_id AND p.is_active
CROSS JOIN (SELECT GREATEST(90, (SELECT before FROM due_reminderrule WHERE sort = 'own')) AS days) o
WHERE k.until IS NOT NULL AND NOT k.ended AND NOT EXISTS (
    SELECT 1 FROM people_skill n
    WHERE n.user_id = k.user_id AND n.sort = k.sort AND n.id <> k.id
        AND (COALESCE(n.until, DATE '9999-12-31'), n.since, n.id) > (k.until, k.since, k.id)
)

UNION ALL
SELECT 'insurance', p.id, NULL, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, 'Insurance of ' || p.name,
    'Get the new insurance dates, and record them', 'A subcontractor works with insurance that holds on the day', p.id, '',
    p.insured_until, p.insured_until - o.days, NULL, NULL, NULL, DATE '9999-12-31', NULL, p.id,
    DATE '0001-01-01', FALSE
FROM people_user p
CROSS JOIN (SELECT GREATEST(90, (SELECT before FROM due_reminderrule WHERE sort = 'own')) AS days) o
WHERE p.is_active AND p.subcontractor AND p.insured_until IS NOT NULL

UNION ALL
-- Readings of an instrument that was found wrong, of which nobody has decided what becomes. The same condition as
-- `inspections.queries.doubted`, which says the reasons; a test holds the two together.
SELECT 'recall', f.id, NULL, NULL, NULL, NULL, NULL, '', 0, FALSE, FALSE, FALSE, i.name || ', ' || i.serial_number || ': ' || f.what,
    'Look through what it has shown, and decide what is read again',
    'Work may rest on readings of an instrument that was found wrong', p.id, '',
    (f.recorded_at AT TIME ZONE 'Europe/London')::date + 7, DATE '0001-01-01', NULL, NULL, NULL, DATE '9999-12-31', NULL, NULL,
    DATE '0001-01-01', FALSE
FROM people_instrumentfault f JOIN people_instrument i ON i.id = f.instrument_id
LEFT JOIN people_user p ON p.id = f.recorded_by_id AND p.is_active
WHERE EXISTS (
    SELECT 1 FROM inspections_reading g CROSS JOIN LATERAL (SELECT (g.taken_at AT TIME ZONE 'Europe/London')::date AS on) d
    WHERE g.instrument_id = f.instrument_id AND d.on >= f.last_good_on AND NOT EXISTS (
        SELECT 1 FROM works_recalldecision r WHERE r.fault_id = f.id AND r.reading_id = g.id AND r.replaced_at IS NULL
    ) AND (d.on <= f.found_on OR NOT (COALESCE(i.checked_on > f.found_on, FALSE) AND (
        i.checked_on <= d.on OR (g.instrument_in_check AND f.recorded_at <= g.taken_at)
    ) OR EXISTS (
        SELECT 1 FROM people_instrumentcheck c
        WHERE c.instrument_id = f.instrument_id AND c.kind = 'calibration' AND c.result <> 'failed' AND c.checked_on <= d.on
            AND (c.checked_on > f.found_on OR (c.checked_on = f.found_on AND c.result = 'adjusted'))
    )))
)

) r
LEFT JOIN due_undertaking u ON u.kind = r.kind AND u.ref = r.ref AND u.ended_at IS NULL
    AND u.instead_of_id IS NOT DISTINCT FROM r.owner_id AND u.due_was = r.due
LEFT JOIN people_user w ON w.id = COALESCE(u.by_id, r.owner_id);
