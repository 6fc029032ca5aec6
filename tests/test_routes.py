"""Every address of the service, tried by everybody: who gets in is written down here, and nowhere else.

A route that is not in the table fails, and so does a route whose mark differs from the table. Whoever adds a page adds
its name below, under the right that it needs.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from jobsite.firm.models import Policy
from jobsite.ids import new_id
from jobsite.ledger.files import store_file
from jobsite.people.rights import ROLES_WITH, Right
from tests import factories as make
from tests.factories import NOON, TODAY

NOBODY, BY_LINK = "nobody", "private-link"

ROUTES: dict[str, str] = {
    Right.SEE_WORK: """
        visits:no_access visits:settle
        desk:isolation premises:isolation
        people:tokens people:token_new people:token_end api:tokens api:token api:end_token
        desk:due desk:sites desk:site desk:board desk:history desk:history_text desk:observation desk:remedial desk:search
        premises:premises premises:site_page premises:board premises:at_the_board premises:labels
        premises:taken_out
        premises:tracing
        inspections:inspections inspections:inspection inspections:earlier inspections:codes inspections:ways inspections:file
        inspections:photo
        premises:board_documents premises:board_document
        inspections:made_safe_photo inspections:notice_document inspections:locks inspections:locks_at inspections:papers
        inspections:facts inspections:fact
        works:remedials works:parts_to_come works:photo works:certificate works:reopen visits:visit visits:job_sheet visits:bring visits:diary
        visits:getting_in visits:attempt_new visits:attempt_reply visits:attempt_photo visits:attempt_letter
        visits:keys_out visits:key visits:key_in visits:code visits:to_see_to visits:see_to_new visits:see_to_met
        visits:see_to_drop
        api:schema api:due api:sites api:site api:boards api:board api:observations api:observation api:readings api:reading api:remedials api:remedial
        api:units api:unit api:unit_parties api:unit_party api:supplies api:supply api:circuits api:circuit api:feeds api:feed
        api:circuit_links api:circuit_link api:second_sources api:second_source api:verifications api:verification
        api:switching_tests api:switching_test api:board_documents api:board_document api:board_document_file
        api:find api:site_history api:site_history_file
        api:site_supply api:site_isolation api:site_tracing api:site_labels
        api:approvals api:approval api:ways_out api:way_out api:waitings api:waiting api:stints api:stint
        api:power_steps api:power_step api:proofs api:proof api:proof_certificate
        api:proof_photos api:proof_photo api:proof_photo_file
        api:job_sheet api:bring api:visit_moves api:visit_move api:confirmations api:confirmation
        api:attempt_photo api:attempt_letter api:access_times api:access_time api:all_closed_days api:closed_days
        api:occupiers api:keys api:key api:alarm_codes api:alarm_code api:all_to_see_to api:to_see_to
        api:check_ins api:one_check_in
        api:note_to_see_to api:note_met api:need_not api:bring_key_in api:note_reply api:settle_line
        api:visits api:visit api:attempts api:attempt api:log_attempt api:no_access
        people:my_sessions people:session_end
        api:reopen due:step due:have_it due:give_back
        api:have_it api:give_back
        api:observation_photos api:observation_photo api:observation_photo_file api:code_reviews api:code_review
        api:inspections api:inspection api:inspection_file api:inspection_earlier api:inspections_due api:inspection_due
        api:limitations api:limitation api:not_seen_again api:draft_observations api:draft_observation
        api:many_made_safe api:made_safe api:made_safe_photo api:notices api:notice api:notice_document api:papers
        api:facts api:fact api:fact_corrections api:fact_correction""",
    Right.KEEP_PREMISES: """
        premises:supply_new premises:supply_edit premises:supply_retire
        premises:board_new premises:board_edit premises:board_retire premises:board_replace
        premises:feed_new premises:feed_edit premises:feed_remove
        premises:circuit_new premises:circuit_edit premises:circuit_retire premises:link_new premises:link_remove
        premises:board_verify premises:circuit_verify premises:circuit_spare premises:verification_take_back
        premises:switching_new premises:switching_withdraw premises:tracing_take_over premises:candidates
        premises:source_new premises:source_edit premises:source_retire premises:chart
        api:add_supply api:add_board api:note_switching_test api:take_over_certain api:edit_supply
        api:retire_supply api:bring_back_supply api:edit_second_source api:retire_second_source
        api:bring_back_second_source api:edit_board api:retire_board api:bring_back_board api:replace_board
        api:verify_board api:set_feed api:name_candidates api:add_circuit api:add_second_source api:make_chart
        api:make_labels api:make_board_label api:edit_feed api:remove_feed api:edit_circuit api:retire_circuit
        api:bring_back_circuit api:verify_circuit api:link_circuits api:unlink_circuits
        api:take_back_verification api:withdraw_switching_test
        premises:circuit_labels premises:board_label premises:two_sources_label""",
    Right.KEEP_CUSTOMERS: """
        premises:parties premises:party premises:party_new premises:party_edit premises:party_archive
        premises:site_new premises:site_edit premises:site_archive premises:site_merge premises:site_hand_over
        premises:unit_new premises:unit_edit premises:unit_retire premises:role_new premises:role_end
        inspections:occupancy inspections:paper inspections:paper_answer inspections:paper_make
        inspections:paper_mail inspections:paper_document inspections:supply_back inspections:supply_file
        inspections:asked_for due:reminders_to
        proof:portfolio proof:portfolio_summary proof:portfolio_summary_document proof:portfolio_unit proof:portfolio_photo
        proof:portfolio_document proof:portfolio_no_access proof:portfolio_year
        api:parties api:party api:site_goes_over
        api:portfolio api:portfolio_summary api:portfolio_summary_file api:portfolio_year api:portfolio_document
        api:portfolio_no_access
        api:open_site api:edit_site api:edit_plain_site api:archive_site api:bring_back_site api:merge_sites
        api:hand_over_site api:add_unit api:add_party api:edit_party api:archive_party api:bring_back_party
        api:edit_unit api:retire_unit api:bring_back_unit api:give_role api:end_role
        proof:copy_meets due:leaving due:closing due:letter due:proof due:send_letter due:deliver due:take_back
        api:reminders api:stop_reminders api:remind_again api:closing_letters api:closing_letter api:closing_letter_file
        api:closing_letter_proof api:write_closing_letter api:send_closing_letter api:deliver_closing_letter
        api:take_closing_letter_back
        api:paper api:paper_document_file api:paper_supply_file api:occupancy_changes api:occupancy_change
        api:paper_requests api:paper_request
        api:record_request api:change_occupancy api:answer_paper api:make_paper_document api:mail_paper
        api:record_supply api:take_back_supply""",
    Right.SHARE_STATUS: """api:private_links api:private_link api:withdraw_link premises:links premises:link_make premises:link_withdraw premises:every_link premises:portfolio_link proof:site_documents proof:document
        api:send_site_link api:send_portfolio_link
        proof:copy_new proof:copy proof:copy_file proof:copy_link
        api:site_documents api:site_document api:report_copies api:report_copy api:report_copy_file api:report_texts
        api:make_report_copy api:send_copy_link""",
    Right.DRAW_PROOF: """
        proof:site_record proof:archive proof:archive_file proof:archive_again proof:archive_here proof:assessor
        api:archives api:archive api:archive_file api:ask_for_pack api:ask_again api:ask_for_record""",
    Right.SEE_MESSAGES: """messages:messages messages:message messages:again messages:send_to messages:came_back
        api:messages api:message api:send_again api:send_to api:came_back""",
    Right.KEEP_PEOPLE: """
        api:people api:person api:invite_person api:invite_person_again api:edit_person api:person_left api:person_returned
        api:record_competence api:record_skill api:set_working_week api:competences api:competence api:end_competence
        api:skills api:skill api:end_skill api:working_weeks api:working_week
        api:add_instrument api:find_instrument_wrong api:archive_instrument
        people:token_end_of people:people people:person people:person_edit people:person_left people:invite people:invite_again people:invited
        people:competence_new people:competence_end people:skill_new people:skill_end people:week_new
        people:instrument_new people:instrument_archive works:found_wrong figures:engineers
        people:sign_ins people:person_sign_in people:sessions_end people:tries_clear people:second_step_away
        people:everybody_out
        api:figures_engineers""",
    Right.KEEP_FIRM: """
        api:firm api:describe_firm api:policies api:policy api:set_policy
        running:service figures:quotes people:firm people:firm_edit people:policy_new people:second_step_asked
        quotes:terms_set visits:terms api:set_terms
        due:settings bulk:take_outs bulk:progress bulk:file bulk:drop bulk:here
        api:reminding api:set_reminding api:figures_quotes
        api:all_diary_terms api:diary_terms api:set_diary_terms""",
    Right.INSPECT: """
        api:instruments api:instrument api:check_instrument api:instrument_checks api:instrument_check api:instrument_check_file
        inspections:new inspections:edit inspections:issue inspections:reissue inspections:bring_back inspections:delete
        inspections:limitation_new inspections:limitation_remove
        inspections:limitation_cover inspections:change inspections:drop inspections:make_safe inspections:look_again
        inspections:reconnect inspections:notice inspections:notice_answer inspections:take_on inspections:photo_add
        inspections:note_again inspections:found_gone inspections:not_looked inspections:take_back_answer
        inspections:same_in_report inspections:same_as inspections:like inspections:part inspections:there_after_all
        people:instruments people:instrument_check people:check_file works:instrument
        inspections:found inspections:reading inspections:judge_circuit inspections:board_readings
        people:instruments people:instrument_check people:check_file works:instrument
        inspections:judge_board inspections:meters inspections:count_again api:take_on_observation
        api:take_reading
        api:meter_comparisons api:meter_comparison api:compare_meters
        api:start_inspection api:edit_inspection api:add_limitation api:remove_limitation api:cover_limitation
        api:note_observation api:change_observation api:drop_observation api:bring_back_observation api:issue_inspection
        api:reissue_inspection api:delete_draft api:count_dates_again api:note_again api:answer_not_seen
        api:take_back_answer api:note_found api:add_observation_photo api:continue_earlier api:part_from_earlier
        api:there_after_all api:make_safe api:look_again api:reconnect api:answer_notice api:give_notice
        api:take_readings""",
    Right.REPORT_DEFECT: "inspections:rang api:report_defect",
    Right.TAKE_IN: """
        premises:take_in intake:new intake:columns intake:template intake:intake intake:read_here intake:read_again
        intake:leave_out intake:put_back intake:correct intake:as_in_file intake:set_aside
        intake:file
        api:intakes api:intake api:intake_template api:intake_file api:intake_rows api:intake_cells
        api:receive api:read_here api:read_again api:set_aside api:leave_out api:put_back api:put_right
        api:take_back_correction api:say_same api:ask_same_again api:take_in""",
    Right.REVIEW_CODES: """
        inspections:review inspections:missed inspections:finding inspections:withdraw_finding api:review_code
        inspections:correct_fact inspections:put_back_fact
        api:correct_fact api:put_back_fact api:add_missed api:record_finding api:withdraw_finding""",
    Right.PLAN_WORK: """
        works:make works:edit works:parts_ready works:take_on works:approve works:decline works:offer_again works:cancel works:by_others
        figures:ages figures:remedy figures:in_time figures:access figures:inspections
        desk:waits desk:waits_chase works:wait works:wait_observation works:chase works:end_waiting
        api:send_chase api:figures_ages api:figures_remedy api:figures_in_time api:figures_access api:figures_inspections
        api:edit_remedial api:parts_ready api:offer_again api:by_others api:wait_remedial api:wait_observation
        api:chase api:end_waiting
        api:make api:approve api:decline api:cancel api:take_on_remedial""",
    Right.PRICE: """
        quotes:new quotes:quote quotes:revise quotes:drop quotes:difference quotes:variation quotes:build quotes:describe
        quotes:lines_add quotes:order quotes:take_prices quotes:line_edit quotes:sums quotes:line_move quotes:line_remove
        quotes:send quotes:document quotes:withdraw quotes:chase quotes:take_on quotes:link_make quotes:link_withdraw
        quotes:record_answer quotes:take_back quotes:question quotes:question_close
        quotes:quotes quotes:figures quotes:accepted api:quotes api:quote
        api:quote_figures api:quote_difference api:accepted_lines api:accepted_sums
        api:all_terms api:terms api:price_book api:price_book_file api:standard_job api:costings api:costing
        api:offers api:offer api:offer_document api:quote_lines api:quote_line api:quote_answers api:quote_answer
        api:quote_questions api:quote_question
        api:add_job api:look_at_book api:take_in_book api:edit_job api:retire_job api:bring_back_job
        api:price_remedial api:fill_from_job api:fill_several
        api:begin_quote api:vary_quote api:revise_quote api:chase_quote api:take_on_quote
        api:describe_offer api:add_lines api:remove_lines api:order_lines api:group_by_danger api:take_prices
        api:drop_draft api:send_offer api:withdraw_offer api:answer_offer api:edit_line api:move_line
        api:take_back_quote_answer api:reply_to_question api:close_question
        quotes:terms quotes:book quotes:job quotes:job_new quotes:job_edit quotes:job_retire quotes:job_bring_back
        quotes:book_file quotes:book_take_in quotes:price quotes:price_sums quotes:price_fill quotes:pile""",
    Right.BOOK: """
        api:away api:one_away api:record_leave api:withdraw_leave
        visits:access_time_new visits:access_time_remove visits:closed_days_new visits:closed_days_remove visits:occupier
        visits:letter_new visits:evidence visits:key_new visits:key_out visits:key_back visits:code_new visits:code_retire
        visits:found_safe visits:times_offer_new visits:times_offer visits:times_link visits:times_withdraw
        visits:plans visits:plan_new visits:plan visits:plan_here visits:plan_accept_all
        visits:proposal_accept visits:proposal_refuse visits:driving visits:driving_file visits:driving_drop
        visits:calendars visits:calendar_make visits:calendar_make_all visits:calendar_withdraw
        people:away people:leave_new people:leave_withdraw
        visits:book visits:cancel visits:ask visits:answered visits:gap visits:diary_move
        api:times_offers api:times_offer api:plans api:plan api:proposals api:proposal api:driving_times api:driving_file
        api:calendars api:calendar
        api:add_access_time api:add_closed_days api:take_key api:write_letter api:print_attempts api:printed_attempts
        api:offer_times
        api:note_occupier api:remove_access_time api:remove_closed_days api:give_key_out api:give_key_back api:retire_code
        api:found_safe api:send_times api:withdraw_times api:ask_plan api:work_out_plan api:accept_all api:accept_proposal
        api:refuse_proposal api:replace_driving api:drop_driving api:withdraw_calendar
        api:book_visit api:move_visit api:cancel_visit api:ask_visit api:confirm_visit""",
    Right.DO_WORK: """
        desk:phone_pack
        works:close works:power works:photo_add works:photo_remove works:reading works:part_done visits:my_day
        visits:check_in visits:check_out
        visits:my_bring visits:my_calendar visits:my_calendar_make visits:my_calendar_withdraw
        api:my_calendars api:withdraw_my_calendar api:stay_longer api:remove_photo
        api:add_photo api:close api:leave api:power api:check_in api:check_out""",
    Right.KEEP_PRIVACY: """proof:personal proof:export proof:erase proof:retention proof:retention_edit proof:hold_site proof:holds proof:hold_lift
        api:holds api:hold api:hold_firm api:hold_site api:lift_hold api:all_kept api:kept api:set_kept
        api:personal_data api:export_personal_data api:personal_data_file api:erase_personal_data api:erasures api:erasure""",
    Right.REVIEW_PROOF: """
        works:reviews works:review works:recalls works:recall works:recall_decide api:review_proof
        api:recalls api:recall api:recall_readings api:decide_recall""",
    NOBODY: "status:privacy due:health running:ready running:metrics status:check phone:worker phone:manifest phone:here phone:nothing",
    BY_LINK: """
        visits:asked due:stop
        status:portfolio status:portfolio_summary status:portfolio_summary_document status:portfolio_unit
        status:portfolio_photo status:portfolio_document status:portfolio_no_access status:portfolio_year
        status:site status:photo status:copy status:copy_file status:document visits:times visits:times_choose visits:times_none visits:calendar
        quotes:offered quotes:offered_document quotes:look_over quotes:confirm quotes:ask quotes:pass_on""",
}
# Signing in and what belongs to one's own account: allauth's own pages, with its own tests.
ALLAUTH = ("account_", "mfa_", "usersessions_")

TABLE = {name: need for need, names in ROUTES.items() for name in names.split()}


# --- the routes -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Route:
    name: str
    pattern: str
    needs: str


def walk(resolver: URLResolver, before: str = "", within: str = "") -> Iterator[Route]:
    for entry in resolver.url_patterns:
        if isinstance(entry, URLPattern):
            needs = str(getattr(entry.callback, "needs", ""))
            yield Route(f"{within}{entry.name}", f"{before}{entry.pattern}", needs)
        else:
            deeper = f"{within}{entry.namespace}:" if entry.namespace else within
            yield from walk(entry, f"{before}{entry.pattern}", deeper)


ALL = list(walk(get_resolver()))
OURS = [route for route in ALL if not route.name.startswith(ALLAUTH)]


def test_every_route_is_in_the_table_with_its_right() -> None:
    found, written = {route.name: route.needs for route in OURS}, {name: str(need) for name, need in TABLE.items()}
    unlisted = {name: need for name, need in found.items() if name not in written}
    assert unlisted == {}, "add these to ROUTES above, under the right that they need"
    assert found == written


def test_no_name_stands_for_two_routes() -> None:
    names = [route.name for route in OURS]
    assert sorted(names) == sorted(set(names))


def test_every_right_opens_something() -> None:
    assert set(Right) - set(TABLE.values()) == set()


# --- a world in which each route has a row to be about ----------------------------------------------------------------


@pytest.fixture
def world(db) -> dict[str, Any]:
    """A row for each kind of thing in the addresses, by the address's segment."""
    from jobsite.messages.models import Message

    site = make.make_site("Yard")
    board = make.make_board(site)
    circuit, other = make.make_circuit(board), make.make_circuit(board)
    person = make.make_user("Pat Awaited", "office")
    person.set_unusable_password()
    person.save()
    role = make.unit_of(site).parties.create(party=site.customer, role="owner", since=TODAY)
    message = Message.objects.create(
        occasion="one",
        to_kind="staff",
        to_id=person.pk,
        address="a@example.com",
        subject="About",
        body="Words",
        state="failed",
        written_at=NOON,
        next_try_at=NOON,
        settled_at=NOON,
    )
    link, token = make.make_link(site, expires_at=NOON.replace(year=2999))
    _, of_all_units = make.make_portfolio_link(site.customer, expires_at=NOON.replace(year=2999))
    return {
        "sessions": 1,
        "people": person,
        "tokens": make.make_token(person),
        "competences": make.make_qualified("Quincy Proved").competences.get(),
        "skills": make.make_skill(person),
        "working-weeks": make_week(person),
        "policies": Policy.objects.create(holds_from=TODAY),
        "away": make.make_leave(person),
        **measured(),
        "messages": message,
        "customers": site.customer,
        "sites": site,
        "units": make.unit_of(site),
        "unit-parties": role,
        "supplies": make.supply_of(site),
        "boards": board,
        "feeds": board.feeds.get(),
        "circuits": circuit,
        "circuit-links": make.make_link_of_circuits(circuit, other),
        "sources": (source := make.make_second_source(board)),
        "second-sources": source,
        "parties": site.customer,
        "switching-tests": make.make_switching_test(circuit, alive=[board]),
        **handed_over(make.make_paper(site)),
        **noted_and_asked(site),
        **in_hand(make.make_observation(site)),
        "verifications": make.make_verification(circuit),
        "board-documents": make.make_board_document(board),
        "private-links": link,
        "s": token,
        "kept": "messages",
        "erasures": erased(),
        "export": exported(site.customer),
        "p": of_all_units,
        "documents": "outstanding",
        "years": 2026,
        **drawn(site),
        **copied(site),
        "stop": stop_token(site),
        **found_and_done(site, circuit),
        **asked(site),
        **make_calendar(),
        **planned(site),
        **getting_in(site),
    }


def make_week(person) -> Any:
    """Hours of the week of somebody."""
    from jobsite.people.models import WorkingWeek

    return WorkingWeek.objects.create(user=person, holds_from=TODAY, recorded_by=person)


def copied(site) -> dict[str, Any]:
    """A copy of a report with personal data left out, and a link to it."""
    copy = make.make_report_copy(make.make_inspection(site))
    return {"report-copies": copy, "copy": make.make_copy_link(copy, expires_at=NOON.replace(year=2999))[1]}


def drawn(site) -> dict[str, Any]:
    """An archive that was drawn out of the record, and a hold."""
    hold = make.make_hold(site)
    return {"archives": make.make_bundle(site), "holds": hold, "take-out": make.make_take_out()}


def erased():
    """That another customer's data were erased."""
    from remedials.status.models import Erasure

    by = make.anybody("manager")
    party = make.make_party("Erased customer 1")
    return Erasure.objects.create(
        party=party, asked_on=TODAY, erased={"why": "asked", "rows": {}}, kept=[], by=by, at=NOON
    )


def exported(party) -> UUID:
    """The form by which it was noted that a customer's data are handed over."""
    from remedials.status.privacy.operations.exporting import note_export

    form = new_id()
    note_export(party, id=form, asked_on=TODAY, by=make.anybody("manager"), now=NOON)
    return form


def in_hand(observation) -> dict[str, Any]:
    """A row of the due list that somebody has in hand."""
    make.make_undertaking("decide", observation.pk)
    return {"due": "decide", "<slug:kind>": observation}


def stop_token(site) -> str:
    """What stands in the address by which a customer stops reminders."""
    from remedials.due.operations.stopping import token_of

    return token_of(make.make_reminder(site))


def handed_over(paper) -> dict[str, Any]:
    """A paper with a document that was made for it, and who has it."""
    by = make.anybody()
    file = store_file(b"%PDF-1.7 a letter", media_type="application/pdf", now=NOON)
    document = paper.documents.create(file=file, name="covering-letter.pdf", made_by=by, made_at=NOON)
    supply = paper.supplies.create(
        form=new_id(), to="A", came="given", how="hand", on=TODAY, document=document, file=file, file_name="receipt.pdf",
        recorded_by=by, recorded_at=NOON,
    )  # fmt: skip
    return {"papers": paper, "paper-documents": document, "paper-supplies": supply}


def noted_and_asked(site) -> dict[str, Any]:
    """What stands in no page's address of its own: rows that only the API names."""
    from inspections.models import Review

    unit, by = make.unit_of(site), make.anybody()
    seen, draft = make.make_observation(site, code="FI"), make.make_inspection(site, issued=False)
    decided = Review.objects.create(observation=seen, decision="recode", code="C2", reason="r", by=by, at=NOON)
    return {
        "draft-observations": make.make_observation(site, inspection=draft, draft=True),
        "code-reviews": decided,
        "inspections-due": make.make_inspection_due(unit),
        "occupancy-changes": make.make_occupancy_change(unit),
        "paper-requests": make.make_paper_request(make.make_inspection(site)),
        "meter-comparisons": make.make_comparison(seen),
        "fact-corrections": make.make_correction(),
    }


def getting_in(site) -> dict[str, Any]:
    """What is known of getting in to the site."""
    visit, offer = make.make_visit(site), make.make_times_offer(site)
    return {
        "times-offers": offer,
        "occupiers": make.make_occupier(make.unit_of(site)),
        "diary-terms": make.make_diary_terms(),
        "t": make.make_times_link(offer, expires_at=NOON.replace(year=2999))[1],
        "access-times": make.make_access_time(site),
        "closed-days": make.make_closed_days(site),
        "keys": make.make_key(site),
        "alarm-codes": make.make_code(site),
        "to-see-to": make.make_see_to(site),
        "check-ins": make.make_check_in(visit, make.make_user("Ina Alone", "engineer")),
    }


def asked(site) -> dict[str, Any]:
    """The private page on which the customer says whether a visit suits."""
    visit = make.make_visit(site, start=NOON.replace(year=2998))
    return {"v": make.make_visit_link(visit, expires_at=NOON.replace(year=2999))[1]}


def planned(site) -> dict[str, Any]:
    """A plan and what it proposes."""
    work = make.make_remedial(make.make_observation(site), stage="approved")
    proposal = make.make_proposal(make.make_plan(), work, engineers=[make.anybody("engineer")])
    return {"plans": proposal.plan, "proposals": proposal}


def found_and_done(site, circuit) -> dict[str, Any]:
    """Inspections, observations, remedials, visits and what hangs on them."""
    from datetime import timedelta

    from inspections.models import DangerNotice, MadeSafe, ObservationPhoto
    from jobsite.people.models import Instrument
    from remedials.quotes.models import Offer
    from remedials.visits.models import Visit
    from remedials.works.models import Proof, ProofPhoto, Waiting

    by = make.anybody()
    file = store_file(make.picture(kind="JPEG"), media_type="image/jpeg", now=NOON)
    photo = {"file": file, "width": 1, "height": 1, "added_by": by, "added_at": NOON}
    draft = make.make_inspection(site, issued=False, file=file, file_name="report.pdf")
    observation = make.make_observation(site, code="C2")
    remedial = make.make_remedial(observation, stage="approved")
    proof = Proof.objects.create(
        remedial=remedial, done_by=by, done_at=NOON, state="sent-back", certificate_file=file, certificate_number="1"
    )
    notice = DangerNotice.objects.create(
        number=1, site=site, why="w", advised="a", given_to="g", how="hand", given_at=NOON, given_by=by
    )
    notice.observations.add(observation)
    made_safe = MadeSafe.objects.create(
        observation=observation,
        how="covered",
        what="w",
        agreed_with="a",
        at=NOON,
        by=by,
        look_again_on=TODAY,
        photo=file,
    )
    quoted = make.make_sent_offer(make.make_remedial(observation))
    make.make_line(Offer.objects.create(quote=quoted.quote, number=2, consumer=True, made_by=by, made_at=NOON))
    visit = Visit.objects.create(
        number=1, site=site, start=NOON, end=NOON + timedelta(hours=1), booked_by=by, booked_at=NOON
    )
    waiting = Waiting.objects.create(
        site=site,
        remedial=remedial,
        on_whom="o",
        for_what="f",
        asked_on=TODAY,
        chase_on=TODAY,
        owner=by,
        recorded_by=by,
    )
    return {
        "intake": make_intake(site, file, by),
        "intakes": make_intake(site, file, by),
        "templates": "boards",
        "facts": "insulation.to-500-v",
        "inspections": draft,
        "limitations": draft.limitations.create(what="the loft"),
        "observations": observation,
        "notices": notice,
        "closing-letters": make.make_leaving(site, letter=file, proof=file),
        "photos": ObservationPhoto.objects.create(observation=observation, **photo),
        "made-safe": made_safe,
        "remedials": remedial,
        **make.make_answered(quoted, until=NOON.replace(year=2999)),
        "price-book": make.make_job(),
        "terms": make.make_terms(),
        "costings": make.make_costing(remedial),
        "offers": quoted.quote.offers.get(number=2),
        "quotes": quoted.quote,
        "quote-lines": quoted.quote.offers.get(number=2).lines.get(),
        "quote-links": make.make_quote_link(quoted, expires_at=NOON.replace(year=2999))[0],
        "waiting": waiting,
        "readings": make.make_reading(circuit, by=by, instrument=Instrument.objects.get()),
        "required-readings": remedial.required_readings.create(circuit=circuit),
        "proofs": proof,
        "proof-photos": ProofPhoto.objects.create(remedial=remedial, **photo),
        "attempts": make.make_attempt(site, by=by, photo=file, letter=file),
        "printed-attempts": make.make_printed_attempts(site, by=by),
        "visits": visit,
        **make.make_told(remedial, visit),
    }


def measured() -> dict[str, Any]:
    """An instrument with a check and its certificate, found wrong."""
    instrument = make.make_instrument()
    paper = store_file(b"%PDF-1.7 not really", media_type="application/pdf", now=NOON)
    return {
        "instruments": instrument,
        "instrument-checks": make.make_check(instrument, file=paper),
        "recalls": make.make_fault(instrument),
    }


def make_calendar() -> dict[str, Any]:
    """An address of everybody's visits and its token."""
    from jobsite.ids import new_id
    from remedials.visits.operations import make_feed

    feed, token = make_feed(user=None, id=new_id(), by=make.anybody("office"), now=NOON)
    return {"calendar": token, "calendar-addresses": feed}


def make_intake(site, file, by):
    """A spreadsheet that was sent and not yet read."""
    from inspections.models import Intake
    from jobsite.firm.models import Progress

    progress = Progress.objects.create(what="reading", changed_at=NOON)
    sent = {"kind": "boards", "file": file, "file_name": "boards.xlsx", "uploaded_by": by, "uploaded_at": NOON}
    return Intake.objects.create(site=site, unit=make.unit_of(site), progress=progress, **sent)


def address(route: Route, world: dict[str, Any]) -> str:
    """The address of the route, about the rows of `world`."""
    parts = route.pattern.strip("/").split("/")
    values = [world[parts[at - 1]] for at, part in enumerate(parts) if part.startswith("<")]
    return reverse(route.name, args=[getattr(value, "pk", value) for value in values])


# --- everybody tries every route --------------------------------------------------------------------------------------

ROLES = ("office", "engineer", "manager")
IN, SIGN_IN, UNSIGNED, FORBIDDEN, NOT_THERE = "in", "sign in", "401", "403", "404"


def answer(client: Client, where: str) -> str:
    """What came of asking for `where`, undone afterwards: by GET, or by an empty POST where only that is taken."""
    with transaction.atomic():
        response = client.get(where)
        if response.status_code == 405:
            response = client.post(
                where, **({"content_type": "application/json", "data": "{}"} if "/api/" in where else {})
            )
        if response.streaming:
            response.close()
        transaction.set_rollback(True)
    if response.status_code == 302 and response["Location"].startswith(reverse("account_login")):
        return SIGN_IN
    return IN if response.status_code in {200, 302, 400, 409, 415, 422} else str(response.status_code)


def answers(client: Client, world: dict[str, Any], names: set[str]) -> dict[str, str]:
    return {route.name: answer(client, address(route, world)) for route in OURS if route.name in names}


def astray(got: dict[str, Any], wanted: dict[str, Any]) -> dict[str, str]:
    """The routes whose answer is another than the one written down."""
    return {name: f"{got.get(name)}, not {wanted.get(name)}" for name in wanted if got.get(name) != wanted[name]}


def of_rights() -> set[str]:
    """The routes that ask for a right."""
    return {name for name, need in TABLE.items() if need not in {NOBODY, BY_LINK}}


def test_nobody_gets_in_without_signing_in(client, world) -> None:
    wanted = {name: UNSIGNED if name.startswith("api:") else SIGN_IN for name in of_rights()}
    assert astray(answers(client, world, of_rights()), wanted) == {}


@pytest.mark.parametrize("role", ROLES)
def test_role_gets_into_what_its_rights_open(client, world, role) -> None:
    user = make.make_qualified("Robin Roleplay", role)  # a right alone opens pages; some acts need competence
    client.force_login(user)
    type(world["tokens"]).objects.update(user=user)  # others than managers see their own only
    wanted = {name: IN if role in ROLES_WITH[TABLE[name]] else FORBIDDEN for name in of_rights()}
    assert astray(answers(client, world, of_rights()), wanted) == {}


@pytest.mark.parametrize("role", ROLES)
def test_posting_without_the_right_is_refused_too(client, world, role) -> None:
    """GET and POST pass the same door: what a page refuses to show it refuses to do."""
    client.force_login(make.make_user("Robin Roleplay", role))
    without = {name for name in of_rights() if role not in ROLES_WITH[TABLE[name]]}
    got = {route.name: client.post(address(route, world)).status_code for route in OURS if route.name in without}
    assert astray(got, dict.fromkeys(without, 403)) == {}


def test_somebody_who_left_is_signed_out(client, world) -> None:
    user = make.make_user("Lou Goneby", "manager")
    client.force_login(user)
    type(user).objects.filter(pk=user.pk).update(is_active=False)
    assert answers(client, world, {"desk:due", "people:people"}) == {"desk:due": SIGN_IN, "people:people": SIGN_IN}


def test_subcontractor_without_access_finds_nothing(client, world) -> None:
    """Every row of a site that is not theirs is not there, whatever their roles; only lists open, and they are empty."""
    client.force_login(make.make_user("Sid Lent", *ROLES, subcontractor=True))
    elsewhere = {
        "calendar-addresses",
        "people",
        "tokens",
        "working-weeks",
        "policies",
        "competences",
        "skills",
        "away",
        "instruments",
        "instrument-checks",
        "recalls",
        "diary-terms",
        "templates",
        "facts",
        "fact-corrections",
        "kept",
    }  # what stands at no site
    about_a_site = {
        route.name
        for route in OURS
        if route.name in of_rights() and "<" in route.pattern and not elsewhere & set(route.pattern.split("/"))
    }
    assert astray(answers(client, world, about_a_site), dict.fromkeys(about_a_site, NOT_THERE)) == {}


def test_private_link_opens_its_own_pages_and_no_other(client, world) -> None:
    names = {name for name, need in TABLE.items() if need == BY_LINK}
    got = answers(client, world, names)
    assert astray(got, dict.fromkeys(names, IN)) == {}
    world["copy"] = world["p"] = world["stop"] = world["t"] = world["s"] = world["q"] = world["v"] = world[
        "calendar"
    ] = "A" * 43
    assert answers(client, world, names) == dict.fromkeys(names, NOT_THERE)


def test_health_is_open_to_all(client, world) -> None:
    assert client.get(reverse("due:health")).status_code in {200, 503}


# Who they are is asked again before anything is looked for.
ASKED_AGAIN = {"people:second_step_away", "people:session_end", "people:sessions_end"}


def test_key_that_names_nothing_is_not_there(client, db) -> None:
    """A made-up key in the address is 404, never an error."""
    client.force_login(make.make_user("Robin Roleplay", *ROLES))
    wrong = {}
    for route in OURS:
        parts = [part for part in route.pattern.split("/") if part.startswith("<")]
        if not parts:
            continue
        where = reverse(
            route.name, args=[UUID(int=7) if "uuid:" in part else 7 if "int:" in part else "A" * 43 for part in parts]
        )
        codes = {client.get(where).status_code, client.post(where).status_code}
        if route.name in ASKED_AGAIN:
            assert codes <= {302, 405}, route.name
            continue
        # 429: after many wrong private links the same plain page says when to come again.
        if not codes & {404, 429} or not codes <= {400, 404, 405, 429}:
            wrong[route.name] = codes
    assert wrong == {}
