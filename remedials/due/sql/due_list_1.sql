-- Every open obligation, one row each. Reads stored facts only: no present date, no function of ours.
-- rank: 4 C1, 3 C2, 2 FI, 1 C3, 0 none. due 9999-12-31: there is no date.
CREATE VIEW due_list AS
WITH ranked (code, rank) AS (VALUES ('C1', 4), ('C2', 3), ('FI', 2), ('C3', 1), ('', 0)),
seen AS (
    SELECT o.*, r.rank, (u.id IS NULL OR NOT u.is_active) AS unowned
    FROM inspections_observation o JOIN ranked r ON r.code = o.code
    JOIN premises_site s ON s.id = o.site_id AND s.archived_at IS NULL
    LEFT JOIN people_user u ON u.id = o.owner_id
    WHERE o.ended = '' AND NOT o.draft
),
-- The most dangerous open observation of each remedial that still has a step of its own.
led AS (
    SELECT DISTINCT ON (m.id) m.id AS remedial_id, o.id AS observation_id
    FROM works_remedial m JOIN works_remedies l ON l.remedial_id = m.id JOIN seen o ON o.id = l.observation_id
    LEFT JOIN works_proof p ON p.remedial_id = m.id AND p.state = 'stands'
    WHERE m.stage IN ('to-price', 'quoted', 'approved', 'booked')
    OR (m.stage = 'done' AND (o.rank >= 2 OR p.exception_reason <> ''))
    ORDER BY m.id, o.rank DESC, o.first_recorded_on, o.id
),
at_visit AS (
    SELECT l.remedial_id, v.id AS visit_id, (v.start AT TIME ZONE 'Europe/London')::date AS day,
        (SELECT min(a.engineer_id::text)::uuid FROM visits_attendance a WHERE a.visit_id = v.id AND NOT a.cancelled)
            AS engineer_id
    FROM visits_visitline l JOIN visits_visit v ON v.id = l.visit_id AND v.state = 'booked' WHERE l.active
),
declined AS (
    SELECT DISTINCT ON (w.remedial_id) w.remedial_id, w.offer_again_on
    FROM works_wayout w WHERE w.stage = 'declined' ORDER BY w.remedial_id, w.recorded_at DESC, w.id
),
offered AS (
    SELECT DISTINCT ON (o.id) o.id AS observation_id, m.id AS remedial_id, m.owner_id, d.offer_again_on
    FROM seen o JOIN works_remedies l ON l.observation_id = o.id JOIN works_remedial m ON m.id = l.remedial_id
    JOIN declined d ON d.remedial_id = m.id
    WHERE m.stage = 'declined'
    ORDER BY o.id, d.offer_again_on NULLS LAST, m.id
),
waited AS (
    SELECT DISTINCT w.observation_id FROM works_waiting w WHERE w.ended_at IS NULL AND w.observation_id IS NOT NULL
)

SELECT 'uncoded'::text AS kind, o.id AS ref, o.site_id, o.unit_id, o.id AS observation, NULL::uuid AS remedial,
    o.board_id AS board, o.code, o.rank, o.made_safe, FALSE AS loose, o.text AS subject,
    'Have it coded by a qualified person'::text AS next_step,
    'Nobody competent has looked at it yet'::text AS rule, o.owner_id, ''::text AS waits_on,
    COALESCE(o.step_by, o.recorded_on) AS due, DATE '0001-01-01' AS shows_from, o.first_recorded_on, o.remedy_by
FROM seen o WHERE o.code = ''

UNION ALL
SELECT 'decide', o.id, o.site_id, o.unit_id, o.id, NULL, o.board_id, o.code, o.rank, o.made_safe,
    o.rank >= 2 AND (o.unowned OR o.step_by IS NULL), o.text,
    CASE WHEN o.code = 'C1' AND NOT o.made_safe THEN 'Make it safe, then decide what it needs'
        WHEN o.code = 'FI' THEN 'Decide how to investigate it' ELSE 'Decide what it needs' END,
    o.remedy_basis, o.owner_id, '', COALESCE(o.step_by, DATE '9999-12-31'), DATE '0001-01-01',
    o.first_recorded_on, o.remedy_by
FROM seen o
WHERE o.code <> '' AND NOT EXISTS (
    SELECT 1 FROM works_remedies l JOIN led ON led.remedial_id = l.remedial_id WHERE l.observation_id = o.id
) AND NOT EXISTS (SELECT 1 FROM offered f WHERE f.observation_id = o.id)
AND NOT EXISTS (SELECT 1 FROM waited w WHERE w.observation_id = o.id)

UNION ALL
SELECT CASE m.stage WHEN 'to-price' THEN 'price' WHEN 'quoted' THEN 'answer' WHEN 'approved' THEN 'book'
        WHEN 'booked' THEN 'visit' ELSE 'review' END,
    m.id, m.site_id, m.unit_id, o.id, m.id, o.board_id, o.code, o.rank, o.made_safe,
    o.rank >= 2 AND (u.id IS NULL OR NOT u.is_active OR CASE m.stage WHEN 'booked' THEN v.day ELSE m.step_by END IS NULL),
    m.work,
    CASE m.stage WHEN 'to-price' THEN 'Price the work' WHEN 'quoted' THEN 'Chase the answer to the quote'
        WHEN 'approved' THEN 'Book the work' WHEN 'booked' THEN 'Do the work and close it with proof'
        ELSE 'Review the proof' END,
    o.remedy_basis, CASE m.stage WHEN 'booked' THEN v.engineer_id ELSE m.owner_id END, '',
    COALESCE(CASE m.stage WHEN 'booked' THEN v.day ELSE m.step_by END, DATE '9999-12-31'), DATE '0001-01-01',
    o.first_recorded_on, o.remedy_by
FROM led JOIN works_remedial m ON m.id = led.remedial_id JOIN seen o ON o.id = led.observation_id
LEFT JOIN at_visit v ON v.remedial_id = m.id
LEFT JOIN people_user u ON u.id = CASE m.stage WHEN 'booked' THEN v.engineer_id ELSE m.owner_id END

UNION ALL
SELECT 'offer-again', o.id, o.site_id, o.unit_id, o.id, f.remedial_id, o.board_id, o.code, o.rank, o.made_safe,
    o.rank >= 2 AND (u.id IS NULL OR NOT u.is_active OR f.offer_again_on IS NULL), o.text,
    'Offer the work again: it was declined', o.remedy_basis, f.owner_id, '',
    COALESCE(f.offer_again_on, DATE '9999-12-31'), DATE '0001-01-01', o.first_recorded_on, o.remedy_by
FROM offered f JOIN seen o ON o.id = f.observation_id LEFT JOIN people_user u ON u.id = f.owner_id
WHERE NOT EXISTS (
    SELECT 1 FROM works_remedies l JOIN led ON led.remedial_id = l.remedial_id WHERE l.observation_id = o.id
)

UNION ALL
SELECT 'look-again', k.id, o.site_id, o.unit_id, o.id, NULL, o.board_id, o.code, o.rank, o.made_safe, FALSE, o.text,
    'Look again at what was made safe', 'Made safe is temporary: the defect is still open',
    COALESCE(k.looker_id, o.owner_id), '', k.look_again_on, DATE '0001-01-01', o.first_recorded_on, o.remedy_by
FROM inspections_madesafe k JOIN seen o ON o.id = k.observation_id WHERE k.ended = ''

UNION ALL
SELECT 'chase', w.id, w.site_id, COALESCE(o.unit_id, m.unit_id), o.id, m.id, o.board_id, COALESCE(o.code, ''),
    COALESCE(o.rank, 0), COALESCE(o.made_safe, FALSE),
    COALESCE(o.rank, 0) >= 2 AND (u.id IS NULL OR NOT u.is_active), w.for_what, 'Chase it',
    'Waiting on somebody outside', w.owner_id, w.on_whom, w.chase_on, DATE '0001-01-01',
    o.first_recorded_on, o.remedy_by
FROM works_waiting w
LEFT JOIN works_remedial m ON m.id = w.remedial_id
LEFT JOIN led ON led.remedial_id = w.remedial_id
LEFT JOIN seen o ON o.id = COALESCE(w.observation_id, led.observation_id)
LEFT JOIN people_user u ON u.id = w.owner_id
JOIN premises_site s ON s.id = w.site_id AND s.archived_at IS NULL
WHERE w.ended_at IS NULL AND (w.observation_id IS NULL OR o.id IS NOT NULL)
AND (m.id IS NULL OR m.stage IN ('to-price', 'quoted', 'approved', 'booked', 'done'))

UNION ALL
SELECT 'inspection', d.unit_id, t.site_id, t.id, NULL, NULL, NULL, '', 0, FALSE, FALSE,
    CASE WHEN t.whole_site THEN 'Next inspection' ELSE 'Next inspection of ' || t.name END,
    'Offer and book the next inspection', d.basis, d.owner_id, '', d.due_on, d.shows_from, NULL, NULL
FROM inspections_inspectiondue d JOIN premises_unit t ON t.id = d.unit_id AND t.retired_at IS NULL
JOIN premises_site s ON s.id = t.site_id AND s.archived_at IS NULL

UNION ALL
-- A report that is being written says nothing to anybody yet: it stands here by the worst that is in it.
SELECT 'draft', i.id, i.site_id, NULL, NULL, NULL, NULL, COALESCE(worst.code, ''), COALESCE(worst.rank, 0), FALSE,
    COALESCE(worst.rank, 0) >= 2 AND NOT u.is_active, COALESCE(worst.text, 'Nothing entered yet'),
    'Finish the report and issue it', 'What a draft holds is in force only when it is issued',
    i.recorded_by_id, '', (i.recorded_at AT TIME ZONE 'Europe/London')::date, DATE '0001-01-01', NULL, NULL
FROM inspections_inspection i JOIN people_user u ON u.id = i.recorded_by_id
JOIN premises_site s ON s.id = i.site_id AND s.archived_at IS NULL
LEFT JOIN LATERAL (
    SELECT o.code, r.rank, o.text FROM inspections_observation o JOIN ranked r ON r.code = o.code
    WHERE o.inspection_id = i.id AND o.draft ORDER BY r.rank DESC, o.id LIMIT 1
) worst ON TRUE
WHERE i.state = 'draft'

UNION ALL
-- Its observations ended some other way (no code, a finding, a later report): somebody must call the work off.
SELECT 'nothing-left', m.id, m.site_id, m.unit_id, NULL, m.id, NULL, '', 0, FALSE, FALSE, m.work,
    'Call it off: nothing is left to put right', 'Its observations are no longer open', m.owner_id, '',
    COALESCE(m.step_by, (m.made_at AT TIME ZONE 'Europe/London')::date), DATE '0001-01-01', NULL, NULL
FROM works_remedial m JOIN premises_site s ON s.id = m.site_id AND s.archived_at IS NULL
WHERE m.stage IN ('to-price', 'quoted', 'approved', 'booked')
AND NOT EXISTS (SELECT 1 FROM led WHERE led.remedial_id = m.id);
