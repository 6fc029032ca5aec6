"""Whatever a page shows, an address of the API gives to the same people; or it is said here why not."""

from tests.test_routes import BY_LINK, NOBODY, TABLE

# Pages that show rows, with the addresses that give the same rows. One of them at least asks for the page's own right.
SHOWN: dict[str, str] = {
    "desk:due": "due observations",
    "desk:sites": "sites",
    "desk:site": "site boards observations remedials visits inspections_due quotes site_supply",
    "desk:board": "board circuits feeds readings observations",
    "desk:history": "site_history",
    "desk:history_text": "site_history_file",
    "desk:observation": "observation observation_photos code_reviews many_made_safe notices remedials waitings",
    "desk:remedial": "remedial approvals proofs proof_photos readings power_steps stints waitings ways_out",
    "desk:search": "find",
    "desk:isolation": "site_isolation",
    "desk:waits": "waitings send_chase",
    "premises:isolation": "site_isolation",
    "premises:premises": "units supplies boards unit_parties",
    "premises:site_page": "site units supplies boards",
    "premises:board": "board circuits feeds circuit_links second_sources verifications",
    "premises:at_the_board": "board circuits verifications",
    "premises:labels": "site_labels",
    "premises:taken_out": "boards circuits supplies units second_sources",
    "premises:tracing": "site_tracing switching_tests",
    "premises:board_documents": "board_documents",
    "premises:board_document": "board_document_file",
    "premises:parties": "parties",
    "premises:party": "party unit_parties sites reminders",
    "premises:site_merge": "site_goes_over",
    "premises:links": "private_links",
    "premises:every_link": "private_links",
    "inspections:inspections": "inspections",
    "inspections:inspection": "inspection draft_observations observations limitations not_seen_again",
    "inspections:earlier": "inspection_earlier",
    "inspections:codes": "observations code_reviews",
    "inspections:file": "inspection_file",
    "inspections:photo": "observation_photo_file",
    "inspections:made_safe_photo": "made_safe_photo",
    "inspections:notice_document": "notice_document",
    "inspections:locks": "many_made_safe power_steps",
    "inspections:locks_at": "many_made_safe power_steps",
    "inspections:papers": "papers",
    "inspections:paper": "paper",
    "inspections:paper_document": "paper_document_file",
    "inspections:supply_file": "paper_supply_file",
    "inspections:facts": "facts",
    "inspections:fact": "fact fact_corrections",
    "inspections:meters": "meter_comparisons",
    "intake:intake": "intake intake_rows intake_cells",
    "intake:file": "intake_file",
    "intake:template": "intake_template",
    "works:remedials": "remedials",
    "works:parts_to_come": "remedials",
    "works:photo": "proof_photo_file",
    "works:certificate": "proof_certificate",
    "works:reviews": "proofs review_proof",
    "works:review": "proof review_proof",
    "works:recalls": "recalls",
    "works:recall": "recall recall_readings",
    "works:instrument": "instrument instrument_checks readings",
    "people:instruments": "instruments",
    "people:check_file": "instrument_check_file",
    "people:tokens": "tokens",
    "people:people": "people competences",
    "people:person": "person competences skills working_weeks",
    "people:away": "away",
    "people:firm": "firm policies",
    "quotes:quotes": "quotes",
    "quotes:quote": "quote quote_answers quote_questions private_links",
    "quotes:build": "offer quote_lines",
    "quotes:document": "offer_document",
    "quotes:difference": "quote_difference",
    "quotes:question": "quote_question",
    "quotes:figures": "quote_figures",
    "quotes:accepted": "accepted_lines accepted_sums",
    "quotes:terms": "all_terms",
    "quotes:book": "price_book",
    "quotes:book_file": "price_book_file",
    "quotes:job": "standard_job",
    "quotes:pile": "remedials costings",
    "visits:visit": "visit visit_moves confirmations attempts",
    "visits:job_sheet": "job_sheet",
    "visits:bring": "bring",
    "visits:diary": "visits",
    "visits:my_day": "visits my_calendars",
    "visits:my_bring": "bring my_calendars",
    "visits:my_calendar": "my_calendars",
    "visits:getting_in": "access_times all_closed_days occupiers keys alarm_codes attempts all_to_see_to",
    "visits:attempt_photo": "attempt_photo",
    "visits:attempt_letter": "attempt_letter",
    "visits:keys_out": "keys",
    "visits:key": "key",
    "visits:to_see_to": "all_to_see_to",
    "visits:evidence": "printed_attempts attempts",
    "visits:times_offer": "times_offer",
    "visits:plans": "plans",
    "visits:plan": "plan proposals",
    "visits:driving": "driving_times",
    "visits:driving_file": "driving_file",
    "visits:calendars": "calendars",
    "visits:terms": "all_diary_terms",
    "due:step": "due",
    "due:settings": "reminding",
    "due:reminders_to": "reminders",
    "due:leaving": "closing_letters",
    "due:closing": "closing_letter",
    "due:letter": "closing_letter_file",
    "due:proof": "closing_letter_proof",
    "messages:messages": "messages",
    "messages:message": "message",
    "proof:site_documents": "site_documents",
    "proof:document": "site_document",
    "proof:copy_new": "report_texts report_copies",
    "proof:copy": "report_copy private_links",
    "proof:copy_file": "report_copy_file",
    "proof:site_record": "archives holds",
    "proof:assessor": "archives",
    "proof:archive": "archive",
    "proof:archive_file": "archive_file",
    "proof:holds": "holds",
    "proof:retention": "all_kept",
    "proof:personal": "personal_data erasures",
    "proof:portfolio": "portfolio",
    "proof:portfolio_summary": "portfolio_summary",
    "proof:portfolio_summary_document": "portfolio_summary_file",
    "proof:portfolio_unit": "portfolio observations inspections limitations inspections_due",
    "proof:portfolio_photo": "portfolio observation_photo_file proof_photo_file",
    "proof:portfolio_document": "portfolio_document",
    "proof:portfolio_no_access": "portfolio_no_access",
    "proof:portfolio_year": "portfolio_year",
    "figures:ages": "figures_ages",
    "figures:remedy": "figures_remedy",
    "figures:in_time": "figures_in_time",
    "figures:engineers": "figures_engineers",
    "figures:quotes": "figures_quotes",
    "figures:access": "figures_access",
    "figures:inspections": "figures_inspections",
}
SIGN_IN = "how somebody signs in is shown only to a person who has just shown again who they are, which no token does"
EVERYTHING = "all that the firm owns leaves only by a person who has just shown once more who they are"
TYPING = "what a page says while somebody types; the verb that keeps it answers with the same"
NOT_GIVEN: dict[str, str] = {
    "people:my_sessions": SIGN_IN,
    "people:sign_ins": SIGN_IN,
    "people:person_sign_in": SIGN_IN,
    "bulk:take_outs": EVERYTHING,
    "bulk:progress": EVERYTHING,
    "bulk:file": EVERYTHING,
    "visits:code": "an alarm code must not leave by a token: an engineer who is booked there looks at it on its page",
    "running:service": "of the server and no row of the firm's; programs read `metrics/` and `ready/`",
    "desk:phone_pack": "the phone's own list of pages to keep",
    "inspections:ways": TYPING,
    "inspections:like": TYPING,
    "inspections:judge_circuit": TYPING,
    "inspections:judge_board": TYPING,
    "quotes:sums": TYPING,
    "quotes:price_sums": TYPING,
    "visits:gap": TYPING,
    "intake:columns": TYPING,
}
# Pages that ask for something to be done: `test_api_complete` sees to their verbs.
ACTS = """
    bulk:drop bulk:here desk:waits_chase due:deliver due:give_back due:have_it due:send_letter due:take_back
    inspections:asked_for inspections:board_readings inspections:bring_back inspections:change inspections:correct_fact
    inspections:count_again inspections:delete inspections:drop inspections:edit inspections:finding inspections:found
    inspections:found_gone inspections:issue inspections:limitation_cover inspections:limitation_new
    inspections:limitation_remove inspections:look_again inspections:make_safe inspections:missed inspections:new
    inspections:not_looked inspections:note_again inspections:notice inspections:notice_answer inspections:occupancy
    inspections:paper_answer inspections:paper_mail inspections:paper_make inspections:part inspections:photo_add
    inspections:put_back_fact inspections:rang inspections:reading inspections:reconnect inspections:reissue
    inspections:review inspections:same_as inspections:same_in_report inspections:supply_back
    inspections:take_back_answer inspections:take_on inspections:there_after_all inspections:withdraw_finding
    intake:as_in_file intake:correct intake:leave_out intake:new intake:put_back intake:read_again intake:read_here
    intake:set_aside messages:again messages:came_back messages:send_to people:competence_end people:competence_new
    people:everybody_out people:firm_edit people:instrument_archive people:instrument_check people:instrument_new
    people:invite people:invite_again people:invited people:leave_new people:leave_withdraw people:person_edit people:person_left
    people:policy_new people:second_step_asked people:second_step_away people:session_end people:sessions_end
    people:skill_end people:skill_new people:token_end people:token_end_of people:token_new people:tries_clear
    people:week_new premises:board_edit premises:board_label premises:board_new premises:board_replace
    premises:board_retire premises:board_verify premises:candidates premises:chart premises:circuit_edit
    premises:circuit_labels premises:circuit_new premises:circuit_retire premises:circuit_spare premises:circuit_verify
    premises:feed_edit premises:feed_new premises:feed_remove premises:link_make premises:link_new premises:link_remove
    premises:link_withdraw premises:party_archive premises:party_edit premises:party_new premises:portfolio_link
    premises:role_end premises:role_new premises:site_archive premises:site_edit premises:site_hand_over
    premises:site_new premises:source_edit premises:source_new premises:source_retire premises:supply_edit
    premises:supply_new premises:supply_retire premises:switching_new premises:switching_withdraw premises:take_in
    premises:tracing_take_over premises:two_sources_label premises:unit_edit premises:unit_new premises:unit_retire
    premises:verification_take_back proof:archive_again proof:archive_here proof:copy_link proof:copy_meets proof:erase
    proof:export proof:hold_lift proof:hold_site proof:retention_edit quotes:book_take_in quotes:chase quotes:describe
    quotes:drop quotes:job_bring_back quotes:job_edit quotes:job_new quotes:job_retire quotes:line_edit quotes:line_move
    quotes:line_remove quotes:lines_add quotes:link_make quotes:link_withdraw quotes:new quotes:order quotes:price
    quotes:price_fill quotes:question_close quotes:record_answer quotes:revise quotes:send quotes:take_back
    quotes:take_on quotes:take_prices quotes:terms_set quotes:variation quotes:withdraw visits:access_time_new
    visits:access_time_remove visits:answered visits:ask visits:attempt_new visits:attempt_reply visits:book
    visits:calendar_make visits:calendar_make_all visits:calendar_withdraw visits:cancel visits:check_in
    visits:check_out visits:closed_days_new visits:closed_days_remove visits:code_new visits:code_retire
    visits:diary_move visits:driving_drop visits:found_safe visits:key_back visits:key_in visits:key_new visits:key_out
    visits:letter_new visits:my_calendar_make visits:my_calendar_withdraw visits:no_access visits:occupier
    visits:plan_accept_all visits:plan_here visits:plan_new visits:proposal_accept visits:proposal_refuse
    visits:see_to_drop visits:see_to_met visits:see_to_new visits:settle visits:times_link visits:times_offer_new
    visits:times_withdraw works:approve works:by_others works:cancel works:chase works:close works:decline works:edit
    works:end_waiting works:found_wrong works:make works:offer_again works:part_done works:parts_ready works:photo_add
    works:photo_remove works:power works:reading works:recall_decide works:reopen works:take_on works:wait
    works:wait_observation
"""


def pages() -> set[str]:
    """The pages of people who are signed in."""
    return {name for name, need in TABLE.items() if need not in (NOBODY, BY_LINK) and not name.startswith("api:")}


def test_every_page_shows_what_the_api_gives_or_asks_for_something_to_be_done() -> None:
    listed = [*SHOWN, *NOT_GIVEN, *ACTS.split()]
    assert sorted(pages() - set(listed)) == [], "say which address of the API gives what these pages show"
    assert sorted(set(listed) - pages()) == []
    assert len(listed) == len(set(listed))


def test_addresses_are_there_and_one_asks_for_the_right_of_the_page() -> None:
    given = {page: [f"api:{name}" for name in names.split()] for page, names in SHOWN.items()}
    assert sorted({name for names in given.values() for name in names} - set(TABLE)) == []
    assert {page: TABLE[page] for page, names in given.items() if TABLE[page] not in map(TABLE.get, names)} == {}
