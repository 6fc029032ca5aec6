"""Papers open by themselves, and stay true: a report, its works, who asked, a reissue, another tenure."""

from datetime import date, timedelta

import pytest

from inspections import operations
from inspections.models import InspectionDue, Observation, OccupancyChange, Paper, PaperRequest
from inspections.standards.notifications import Told
from jobsite.ids import new_id
from jobsite.premises import operations as premises
from jobsite.refused import NotAllowed, Refused
from remedials.due.models import DueRow
from tests import factories as make
from tests.factories import TODAY, recorded
from tests.remedials.desk import statements

pytestmark = pytest.mark.django_db
INSPECTED = date(2026, 1, 20)
COPY, COUNCIL, MAYBE = "england.copy.tenants", "england.copy.authority", "england.copy.prospective-tenant"
CONFIRMED = ["england.confirmation.authority", "england.confirmation.obtained", "england.confirmation.tenants"]


def duties(**about) -> list[str]:
    """The keys of the open papers."""
    return sorted(Paper.objects.open().filter(**about).values_list("duty", flat=True))


def papers(trigger: str) -> list[tuple[str, str, date]]:
    rows = Paper.objects.standing().filter(trigger=trigger).order_by("duty")
    return list(rows.values_list("duty", "answer", "due_on"))


def remedied(observation, by, now, **more):
    return operations.end_observation(observation, ended="remedied", reason="Cover fitted", by=by, now=now, **more)


def reopened(observation, by, now):
    return operations.reopen_observation(observation, reason="It came off again", by=by, now=now)


def reissued(report, by, now, *, change=None, **fields):
    draft = operations.reissue_inspection(report, id=new_id(), reason="A slip", by=by, now=now)
    if change:
        change(draft)
    return operations.issue_inspection(draft, by=by, now=now, **fields)


def lives_there(site, name: str, since=date(2020, 1, 1), until=None):
    party = make.make_party(name, email=f"{name.split(maxsplit=1)[0].lower()}@example.com")
    make.unit_of(site).parties.create(party=party, role="occupier", since=since, until=until)
    return party


# --- a report ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("nation", "tenure", "found"),
    [
        # England: 28 days of the inspection; Wales: 14 days starting with it; Northern Ireland: counted from the day itself.
        ("england", "private-rented", [(COPY, date(2026, 2, 17))]),
        ("england", "social-rented", [(COPY, date(2026, 2, 17))]),
        ("wales", "private-rented", [("wales.copy.inspection", date(2026, 2, 2))]),
        ("wales", "social-rented", [("wales.copy.inspection", date(2026, 2, 2))]),
        ("northern-ireland", "private-rented", [("northern-ireland.copy.tenant", date(2026, 2, 16))]),
        ("northern-ireland", "social-rented", []),
        ("scotland", "private-rented", []),
        ("england", "owner-occupied", []),
        ("england", "not-a-home", []),
    ],
)
def test_issuing_opens_what_nation_and_tenure_ask_for(site, issued, nation, tenure, found) -> None:
    site.nation = nation
    site.save()
    site.units.update(tenure=tenure)
    issued("C2")
    assert [(duty, due) for duty, _, due in papers("inspection")] == found


def test_a_paper_names_the_occupiers_of_that_day_and_says_its_rule(site, issued, office, qualified) -> None:
    lives_there(site, "Bo Brook")
    lives_there(site, "Ann Archer")
    lives_there(site, "Gone Before", until=date(2026, 1, 19))
    lives_there(site, "Come After", since=date(2026, 1, 21))
    report, _ = issued("C2")
    paper = Paper.objects.get()
    assert (paper.named, paper.to, paper.owed_by) == ("Ann Archer and Bo Brook", "each existing tenant", "landlord")
    assert (paper.inspection, paper.event_on, paper.trigger) == (report, INSPECTED, "inspection")
    assert paper.basis.startswith(
        "SI 2020/312 regulation 3 (England), as amended by SI 2025/1043: a copy of the report"
    )
    assert "within 28 days of the inspection on 20 Jan 2026; owed by the landlord." in paper.basis
    assert paper.owner == office  # the qualified person, an engineer, keeps no papers
    assert not qualified.may("keep-customers")
    assert DueRow.objects.get(kind="paper").due == date(2026, 2, 17)


def test_each_let_unit_has_its_own(site, start, now) -> None:
    first = make.unit_of(site)
    flats = [make.make_unit(site, name, tenure="private-rented") for name in ("Flat 2", "Flat 3")]
    owned = make.make_unit(site, "Flat 4", tenure="owner-occupied")
    draft = start(units=[first, *flats, owned])
    operations.issue_inspection(draft, by=draft.recorded_by, now=now)
    assert set(Paper.objects.values_list("unit", "duty")) == {(unit.pk, COPY) for unit in (first, *flats)}


@pytest.mark.parametrize("kind", ["survey", "call-out"])
def test_what_is_no_inspection_and_test_opens_nothing(issued, kind) -> None:
    issued("C2", kind=kind)
    assert not Paper.objects.exists()


def test_another_firms_old_report_leaves_its_paper_as_past_to_be_opened(issued, office, now) -> None:
    issued("C2", other_firm=True, inspected_on=date(2024, 5, 1))
    paper = Paper.objects.get()
    assert (paper.answer, paper.due_on) == ("past", date(2024, 5, 29))
    assert paper.how == (
        "Its last day, 29 May 2024, had passed when it came to us. Ask the landlord whether it was given, and open it "
        "again if not."
    )
    operations.answer_paper(paper, answer="", answered_on=None, how="", version=1, by=office, now=now)
    assert duties() == [COPY]


def test_issuing_twice_opens_once_and_tells_it_once(issued, now) -> None:
    with recorded() as told:
        report, _ = issued("C2")
        operations.issue_inspection(report, by=report.issued_by, now=now)
    opened = [t for t in told if t.verb == "paper.opened"]
    assert [(t.subject, t.facts) for t in opened] == [(Paper.objects.get().pk, {
        "duty": COPY, "due_on": "2026-02-17", "event_on": "2026-01-20", "inspection": str(report.pk),
    })]  # fmt: skip


# --- its works --------------------------------------------------------------------------------------------------------


def test_the_last_of_the_works_opens_the_confirmations_from_the_day_it_was_done(issued, office, now) -> None:
    _, (one, other, third) = issued("C1", "C2", "C3")
    remedied(one, office, now)
    assert papers("completion") == []
    with recorded() as told:
        remedied(other, office, now, done_on=date(2026, 1, 30))
    # Work completed 30 Jan is earlier than the other's, ended today: the later day counts, 28 days of it.
    assert papers("completion") == [(key, "", TODAY + timedelta(days=28)) for key in CONFIRMED]
    assert [t.verb for t in told] == ["observation.ended", *["paper.opened"] * 3]
    assert not third.ended  # a C3 need not be put right


def test_the_day_of_the_work_counts_not_that_of_the_review(issued, office, now) -> None:
    _, (one,) = issued("C2")
    remedied(one, office, now, done_on=date(2026, 1, 25))
    assert {due for _, _, due in papers("completion")} == {date(2026, 2, 22)}


def test_works_done_by_others_count_and_what_was_withdrawn_does_not(issued, office, now) -> None:
    _, (one, other) = issued("C2", "C2")
    operations.end_observation(one, ended="withdrawn", reason="Entered twice", by=office, now=now)
    assert papers("completion") == []
    operations.end_observation(other, ended="others", reason="Their letter", by=office, now=now)
    assert len(papers("completion")) == 3


def test_an_investigation_that_finds_a_defect_goes_on_with_it(issued, qualified, office, now) -> None:
    _, (fi,) = issued("FI")
    found = operations.record_finding(fi, id=new_id(), code="C2", text="No earth", by=qualified, now=now)
    assert papers("completion") == []
    remedied(found, office, now)
    assert len(papers("completion")) == 3


def test_an_investigation_that_finds_nothing_is_work_that_is_confirmed(issued, qualified, now) -> None:
    _, (fi,) = issued("FI")
    operations.record_finding(fi, id=new_id(), code="", text="All sound", by=qualified, now=now)
    assert len(papers("completion")) == 3
    operations.withdraw_finding(fi, reason="The wrong board", by=qualified, now=now)
    assert [answer for _, answer, _ in papers("completion")] == ["lapsed"] * 3


def test_where_no_work_was_needed_there_is_nothing_to_confirm(issued, qualified, now) -> None:
    _, (one,) = issued("C2")
    operations.review(one, decision="no-code", reason="A label only", by=qualified, now=now)
    assert papers("completion") == []


def test_each_unit_is_complete_by_itself(site, start, note, office, now) -> None:
    flat = make.make_unit(site, "Flat 2", tenure="private-rented")
    draft = start(units=[make.unit_of(site), flat])
    one, other = note(draft, "C2"), note(draft, "C2", unit=flat)
    operations.issue_inspection(draft, by=draft.recorded_by, now=now)
    remedied(Observation.objects.get(pk=other.pk), office, now)
    assert set(Paper.objects.filter(trigger="completion").values_list("unit", flat=True)) == {flat.pk}
    assert Observation.objects.get(pk=one.pk).ended == ""


@pytest.mark.parametrize("flats", [1, 6])
def test_closing_one_observation_looks_at_its_own_unit_only(site, start, note, office, now, flats) -> None:
    units = [make.make_unit(site, f"Flat {n + 2}", tenure="private-rented") for n in range(flats)]
    draft = start(units=[make.unit_of(site), *units])
    for unit in units:
        note(draft, "C2", unit=unit)
    mine, _ = note(draft, "C2"), note(draft, "C2")
    operations.issue_inspection(draft, by=draft.recorded_by, now=now)
    seen = Observation.objects.get(pk=mine.pk)
    with statements() as sql:
        remedied(seen, office, now)
    assert len(sql) == 16


def test_reopened_works_take_back_what_is_open_and_owe_anew_what_was_given(issued, office, now) -> None:
    _, (one,) = issued("C2")
    one = remedied(one, office, now)
    obtained = Paper.objects.get(duty=CONFIRMED[1])
    operations.answer_paper(
        obtained, answer="done", answered_on=TODAY, how="Made and signed", version=1, by=office, now=now
    )
    with recorded() as told:
        one = reopened(one, office, now)
    assert [t.verb for t in told] == ["observation.reopened", "paper.superseded", "paper.lapsed", "paper.lapsed"]
    assert papers("completion") == [(key, "lapsed", date(2026, 3, 3)) for key in (CONFIRMED[0], CONFIRMED[2])]
    later = now + timedelta(days=10)
    with recorded() as told:
        remedied(one, office, later)
    assert [t.verb for t in told if t.verb.startswith("paper")] == ["paper.opened", "paper.again", "paper.again"]
    assert papers("completion") == [(key, "", TODAY + timedelta(days=38)) for key in CONFIRMED]
    obtained.refresh_from_db()
    assert (obtained.answer, obtained.superseded_at, obtained.superseded_why) == (
        "done", now, "The works that the report required are not complete any more.",
    )  # fmt: skip
    assert Paper.objects.filter(duty=CONFIRMED[1]).count() == 2


def test_what_is_recorded_twice_opens_nothing_twice(issued, office, now) -> None:
    _, (one,) = issued("C2")
    remedied(one, office, now)
    with recorded() as told:
        remedied(one, office, now)
        report = one.inspection
        operations.count_dates_again(report, by=office, now=now)
    assert [t for t in told if t.verb.startswith("paper")] == []


# --- who asked --------------------------------------------------------------------------------------------------------


def asks(report, by, now, **told):
    usual = {
        "id": new_id(),
        "asked_by": "authority-asks",
        "who": "Ebbsford Council",
        "asked_on": TODAY,
        "how": "letter",
    }
    return operations.record_request(report, report.units.get(), by=by, now=now, **usual | told)


@pytest.mark.parametrize(
    ("nation", "asked_by", "found"),
    [
        ("england", "authority-asks", [(COUNCIL, TODAY + timedelta(days=7))]),
        ("england", "prospective-tenant-asks", [(MAYBE, TODAY + timedelta(days=28))]),
        ("northern-ireland", "authority-asks", [("northern-ireland.copy.authority", TODAY + timedelta(days=6))]),
        ("wales", "authority-asks", []),
    ],
)
def test_a_written_request_opens_its_paper(site, issued, office, now, nation, asked_by, found) -> None:
    site.nation = nation
    site.save()
    report, _ = issued()
    request = asks(report, office, now, asked_by=asked_by, id=(key := new_id()))
    assert asks(report, office, now, asked_by=asked_by, id=key) == request
    assert [(p.duty, p.due_on) for p in request.papers.all()] == found
    assert {p.named for p in request.papers.all()} <= {"Ebbsford Council"}
    assert PaperRequest.objects.count() == 1


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        ({"who": " "}, "Say who asked"),
        ({"asked_by": "somebody"}, "Say who asked"),
        ({"asked_on": TODAY + timedelta(days=1)}, "still to come"),
        ({"asked_on": date(2026, 1, 1)}, "before the inspection was done"),
    ],
)
def test_a_request_that_cannot_be(issued, office, now, told, sentence) -> None:
    report, _ = issued()
    with recorded() as entries, pytest.raises(Refused, match=sentence):
        asks(report, office, now, **told)
    assert entries == []


def test_an_engineer_records_no_request(issued, engineer, now) -> None:
    with pytest.raises(NotAllowed):
        asks(issued()[0], engineer, now)


# --- a reissue --------------------------------------------------------------------------------------------------------


def test_a_reissue_takes_open_papers_over(issued, office, now) -> None:
    report, _ = issued("C2")
    request = asks(report, office, now)
    before = set(Paper.objects.values_list("pk", flat=True))
    with recorded() as told:
        again = reissued(report, report.issued_by, now)
    assert set(Paper.objects.values_list("pk", "inspection")) == {(key, again.pk) for key in before}
    assert [t.verb for t in told].count("paper.moved") == 2
    request.refresh_from_db()
    assert request.inspection == again
    assert duties() == [COUNCIL, COPY]


def test_a_copy_that_was_given_is_owed_anew_of_the_corrected_report(issued, office, now) -> None:
    report, _ = issued("C2")
    given = Paper.objects.get()
    operations.answer_paper(given, answer="done", answered_on=TODAY, how="by hand", version=1, by=office, now=now)
    later = now + timedelta(days=60)
    again = reissued(report, report.issued_by, later)
    given.refresh_from_db()
    assert (given.inspection, given.answer, given.superseded_at) == (report, "done", later)
    anew = Paper.objects.get(inspection=again)
    assert (anew.answer, anew.due_on) == ("", TODAY + timedelta(days=60))  # its own last day is past: due at once
    assert anew.basis.endswith("The rule names no day for that: take it as due at once.")
    with recorded() as told:
        operations.count_dates_again(again, by=office, now=later + timedelta(days=5))
    assert [t for t in told if t.verb.startswith("paper")] == []


def test_what_is_not_needed_stays_so_and_a_corrected_day_counts_anew(issued, office, qualified, now) -> None:
    report, _ = issued("C2")
    paper = Paper.objects.get()
    operations.answer_paper(
        paper, answer="not-needed", answered_on=TODAY, how="Nobody lives there", version=1, by=office, now=now
    )
    asks(report, office, now)
    again = reissued(report, report.issued_by, now)
    assert duties() == [COUNCIL]
    third = reissued(
        again, again.issued_by, now,
        change=lambda draft: operations.edit_inspection(
            draft, version=draft.version, inspected_on=date(2026, 1, 25), by=qualified, now=now
        ),
    )  # fmt: skip
    paper.refresh_from_db()
    assert (paper.inspection, paper.answer) == (third, "not-needed")


def test_a_reissue_with_another_day_counts_from_that(issued, qualified, now) -> None:
    report, _ = issued("C2")
    reissued(
        report, report.issued_by, now,
        change=lambda draft: operations.edit_inspection(
            draft, version=draft.version, inspected_on=date(2026, 1, 25), by=qualified, now=now
        ),
    )  # fmt: skip
    assert Paper.objects.get().due_on == date(2026, 2, 22)


def test_confirmations_go_over_and_lapse_where_the_corrected_report_wants_more(issued, note, office, now) -> None:
    report, (one,) = issued("C2")
    remedied(one, office, now)
    again = reissued(report, report.issued_by, now)
    assert {p.inspection for p in Paper.objects.filter(trigger="completion")} == {again}
    assert [answer for _, answer, _ in papers("completion")] == [""] * 3
    third = reissued(again, again.issued_by, now, change=lambda draft: note(draft, "C1", "Left out before"))
    assert [answer for _, answer, _ in papers("completion")] == ["lapsed"] * 3
    (missed,) = third.observations.filter(ended="")
    remedied(missed, office, now)
    assert [answer for _, answer, _ in papers("completion")] == [""] * 3


# --- another tenure, nation or tenancy --------------------------------------------------------------------------------


def becomes(site, by, now, **fields):
    unit = make.unit_of(site)
    return premises.edit_unit(unit, version=unit.version, by=by, now=now, **fields)


def test_another_tenure_lapses_what_is_open_and_brings_it_back(site, issued, office, now) -> None:
    _, (one,) = issued("C2")
    remedied(one, office, now)
    with recorded() as told:
        becomes(site, office, now, tenure="owner-occupied")
    assert [t.verb for t in told].count("paper.lapsed") == 4
    assert duties() == []
    assert {p.how for p in Paper.objects.all()} == {
        "The law does not ask for it any more: nation, tenure and tenancy as they are recorded now."
    }
    with recorded() as told:
        becomes(site, office, now, tenure="private-rented")
    assert [t.verb for t in told].count("paper.again") == 4
    assert duties() == sorted([COPY, *CONFIRMED])


def test_a_home_that_turns_out_to_be_let_gets_its_papers(site, issued, office, now) -> None:
    site.units.update(tenure="owner-occupied")
    issued("C2")
    assert not Paper.objects.exists()
    becomes(site, office, now, tenure="private-rented")
    assert duties() == [COPY]


def test_a_tenancy_granted_since_the_inspection_had_no_existing_tenant(site, issued, office, now) -> None:
    site.units.update(tenure="owner-occupied")
    issued("C2")
    becomes(site, office, now, tenure="private-rented", tenancy_granted_on=TODAY)
    assert duties() == []


def test_a_report_of_years_ago_does_not_make_work_when_a_home_is_let(site, issued, office, now) -> None:
    site.units.update(tenure="owner-occupied")
    issued("C2", inspected_on=date(2024, 1, 20))
    becomes(site, office, now, tenure="private-rented")
    assert [(p.duty, p.answer) for p in Paper.objects.all()] == [(COPY, "past")]


def test_who_moved_in_is_judged_by_the_tenure_as_it_is_now(site, office, now) -> None:
    change = operations.change_occupancy(make.unit_of(site), id=new_id(), since=TODAY, by=office, now=now)
    assert change.papers.open().count() == 2
    becomes(site, office, now, tenure="owner-occupied")
    assert set(change.papers.values_list("answer", flat=True)) == {"lapsed"}
    becomes(site, office, now, tenure="social-rented")
    assert change.papers.open().count() == 2
    assert OccupancyChange.objects.count() == 1
    assert not InspectionDue.objects.filter(after__isnull=False).exists()


# --- the firm's own notifications -------------------------------------------------------------------------------------


def notices(site, told, by, now, work, done_on=date(2026, 2, 1)) -> None:
    from jobsite.ledger.operations import operation

    operation(operations.settle_notices)(
        make.unit_of(site), work=work, about="remedial 7: New board", told=told, done_on=done_on, by=by, now=now
    )


@pytest.mark.parametrize(
    ("nation", "told", "duty", "due"),
    [
        # England and Wales: not more than 30 days after completion; from memory, and said so.
        ("england", Told.NOTIFIABLE, "england.notify.building-control", date(2026, 3, 3)),
        ("wales", Told.NOTIFIABLE, "wales.notify.building-control", date(2026, 3, 3)),
        # No number of days was found: due on the day itself.
        ("scotland", Told.NOTIFIABLE, "scotland.notify.building-control", date(2026, 2, 1)),
        ("northern-ireland", Told.NOTIFIABLE, "northern-ireland.notify.building-control", date(2026, 2, 1)),
        ("england", Told.GENERATION, "england.notify.generation", date(2026, 3, 1)),
        ("scotland", Told.CHARGING_POINT, "scotland.notify.charging-point", date(2026, 3, 1)),
    ],
)
def test_work_that_is_notified(site, office, now, nation, told, duty, due) -> None:
    site.nation = nation
    site.save()
    notices(site, [told], office, now, work := new_id())
    paper = Paper.objects.get()
    assert (paper.duty, paper.due_on, paper.owed_by, paper.work) == (duty, due, "firm", work)
    assert "owed by the firm" in paper.basis
    assert "From memory" in paper.basis


def test_the_firms_own_number_of_days(site, office, now) -> None:
    corrector = make.make_qualified("Cora Corrector")
    operations.correct_fact(
        "duty.scotland.notify.building-control.days", id=new_id(), value="21", source="The council's letter", reason="Asked them",
        holds_from=date(2026, 1, 1), by=corrector, now=now,
    )  # fmt: skip
    site.nation = "scotland"
    site.save()
    notices(site, [Told.NOTIFIABLE], office, now, new_id())
    paper = Paper.objects.get()
    assert paper.due_on == date(2026, 2, 22)
    assert "within 21 days of completion" in paper.basis
    assert "As put right from The council's letter." in paper.basis


def test_work_that_is_opened_again_is_not_notified_and_then_anew(site, office, now) -> None:
    both = [Told.NOTIFIABLE, Told.GENERATION]
    notices(site, both, office, now, work := new_id())
    told_of = Paper.objects.get(trigger="notifiable-work")
    operations.answer_paper(
        told_of, answer="done", answered_on=TODAY, how="By the scheme", version=1, by=office, now=now
    )
    notices(site, [], office, now, work)
    assert duties() == []
    notices(site, both, office, now, work, done_on=TODAY)
    assert duties() == ["england.notify.building-control", "england.notify.generation"]
    assert Paper.objects.count() == 3
