"""What works hand down: the day on which they were done, the firm's notifications, and the documents made from their proof."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from inspections.models import Paper
from inspections.operations import issue_inspection, make_paper_document
from jobsite.ids import new_id
from jobsite.refused import Refused
from remedials.due.models import DueRow
from remedials.works.models import Remedial
from remedials.works.operations import done_by_others, reopen_remedial, review_proof
from remedials.works.operations.reviewing import Finding
from tests import factories as make
from tests.factories import TODAY, recorded
from tests.jobsite.papers import tags_of, words_of
from tests.jobsite.premises import posted, text_of
from tests.remedials.work import close

pytestmark = pytest.mark.django_db


@pytest.fixture
def let(db):
    site = make.make_site("Kiln Row", tenure="private-rented", address="4 Kiln Row, Ebbsford", postcode="QX4 9ZA")
    tenant = make.make_party("Ann Archer", email="ann@example.com")
    make.unit_of(site).parties.create(party=tenant, role="occupier", since=date(2020, 1, 1))
    return site


def required(site, *codes, **fields):
    """An issued report of `site` with an observation of each code, and a remedial on the way for each."""
    report = make.make_inspection(
        site, issued=False, inspected_on=date(2026, 1, 20), reference="R-7", by=make.anybody()
    )
    found = [
        make.make_observation(site, f"Defect {n}", code=code, inspection=report, draft=True, item=f"4.{n}")
        for n, code in enumerate(codes, 1)
    ]
    issue_inspection(report, by=make.make_qualified("Ida Issuer"), now=make.NOON)
    for observation in found:
        observation.refresh_from_db()
    usual = {"stage": "approved", "photo_required": False} | fields
    return report, [make.make_remedial(o, work=f"Mend {o.text}", **usual) for o in found]


def papers(trigger: str) -> list[tuple[str, str, date]]:
    rows = Paper.objects.standing().filter(trigger=trigger).order_by("duty")
    return list(rows.values_list("duty", "answer", "due_on"))


def accept(proof, by, now, **more):
    return review_proof(proof, decision="accepted", by=by, now=now, **more)


# --- confirmations ----------------------------------------------------------------------------------------------------


def test_confirmations_open_with_the_last_review_from_the_day_of_the_work(let, engineer, qualified, now) -> None:
    _, (one, other) = required(let, "C2", "C1")
    first = close(one, by=engineer, now=now)
    second = close(other, by=engineer, now=now + timedelta(days=2))
    accept(second, qualified, now + timedelta(days=9))
    assert papers("completion") == []  # one is done, but nobody has looked at its proof
    accept(first, qualified, now + timedelta(days=10))
    due = TODAY + timedelta(days=2 + 28)  # 28 days of the later day of work, not of the review
    assert {(answer, on) for _, answer, on in papers("completion")} == {("", due)}
    assert len(papers("completion")) == 3


def test_reopened_work_takes_the_confirmations_back(let, engineer, qualified, office, now) -> None:
    _, (one,) = required(let, "C2")
    accept(close(one, by=engineer, now=now), qualified, now)
    reopen_remedial(Remedial.objects.get(pk=one.pk), reason="The cover fell off", by=office, now=now)
    assert {answer for _, answer, _ in papers("completion")} == {"lapsed"}


def test_the_confirmation_says_item_by_item_what_was_done_by_whom_when_and_who_looked(
    let, engineer, qualified, office, now
) -> None:
    report, (one, fi) = required(let, "C2", "FI")
    make.make_observation(let, "No label", code="C3", inspection=report)
    accept(close(one, by=engineer, now=now), qualified, now + timedelta(days=1))
    proof = close(fi, by=engineer, now=now)
    accept(proof, qualified, now + timedelta(days=1), finding_code="", finding_text="The joint is sound")
    paper = Paper.objects.get(duty="england.confirmation.tenants")
    made = make_paper_document(paper, id=new_id(), by=office, now=now)
    assert {"H1", "Table", "TH"} <= set(tags_of(made))
    words = words_of(made)
    for said in (
        "Electrical works confirmed complete",
        "Ann Archer",
        "R-7",
        "They were completed on 3 Feb 2026",
        "C2",
        "item 4.1",
        "Mend Defect 1.",
        "Done by Edwin, 3 Feb 2026.",
        "Proof reviewed by Quentin, 4 Feb 2026.",
        "Mend Defect 2.",
        "Investigated, 3 Feb 2026: The joint is sound",
        "1 improvement recommended in the report (C3)",
        "It does not say that anybody inspected the installation anew.",
        "within 28 days of completion of the work on 3 Feb 2026",
        "Confirmed by a qualified person",
    ):
        assert said in words, said


def test_a_finding_that_was_put_right_stands_below_its_investigation(let, engineer, qualified, office, now) -> None:
    _, (fi,) = required(let, "FI")
    finding = Finding("C2", "The joint is burnt")
    accept(close(fi, by=engineer, now=now), qualified, now, finding_code=finding.code, finding_text=finding.text)
    assert papers("completion") == []
    found = fi.observations.get().continued_by.get()
    mend = make.make_remedial(found, stage="approved", work="Remake the joint", photo_required=False)
    accept(close(mend, by=engineer, now=now), qualified, now)
    paper = Paper.objects.get(duty="england.confirmation.obtained")
    words = words_of(make_paper_document(paper, id=new_id(), by=office, now=now))
    assert words.index("The joint is burnt") < words.index("Remake the joint.")


def test_what_is_not_complete_any_more_is_not_confirmed(let, engineer, qualified, office, now) -> None:
    _, (one,) = required(let, "C2")
    accept(close(one, by=engineer, now=now), qualified, now)
    reopen_remedial(Remedial.objects.get(pk=one.pk), reason="The cover fell off", by=office, now=now)
    paper = Paper.objects.filter(trigger="completion").first()
    with pytest.raises(Refused, match="not complete: there is nothing to confirm yet"):
        make_paper_document(paper, id=new_id(), by=office, now=now)


def test_work_of_others_counts_from_the_day_on_which_they_did_it(let, office, now) -> None:
    _, (one,) = required(let, "C2")
    done_by_others(one, who="Wattle Bros", reference="WB-7", on=date(2026, 1, 28), by=office, now=now)
    assert {due for _, _, due in papers("completion")} == {date(2026, 2, 25)}
    paper = Paper.objects.get(duty="england.confirmation.tenants")
    words = words_of(make_paper_document(paper, id=new_id(), by=office, now=now))
    assert "Put right by others, 28 Jan 2026. Done by Wattle Bros: WB-7" in words


# --- the firm's notifications -----------------------------------------------------------------------------------------


def test_closing_notifiable_work_opens_the_firms_notification(let, engineer, qualified, office, now) -> None:
    _, (one,) = required(let, "C2", notifiable=True, network="generation", certificate_kind="")
    with recorded() as told:
        proof = close(one, by=engineer, now=now)
    assert [t.verb for t in told].count("paper.opened") == 2
    due = {row.duty: (row.due_on, row.owed_by, row.about) for row in Paper.objects.filter(work=one.pk)}
    about = f"remedial {one.number}: Mend Defect 1"
    assert due == {
        "england.notify.building-control": (TODAY + timedelta(days=30), "firm", about),
        "england.notify.generation": (TODAY + timedelta(days=28), "firm", about),
    }
    assert DueRow.objects.filter(kind="notification").count() == 2
    review_proof(proof, decision="sent-back", reason="No picture", by=qualified, now=now)
    assert {row.answer for row in Paper.objects.filter(work=one.pk)} == {"lapsed"}
    close(Remedial.objects.get(pk=one.pk), by=engineer, now=now + timedelta(days=3))
    assert papers("notifiable-work") == [("england.notify.building-control", "", TODAY + timedelta(days=33))]


def test_other_work_notifies_nobody(let, engineer, now) -> None:
    _, (one,) = required(let, "C2")
    close(one, by=engineer, now=now)
    assert not Paper.objects.filter(work__isnull=False).exists()


@pytest.mark.parametrize(
    ("network", "trigger", "said"),
    [
        (
            "",
            "notifiable-work",
            ["Notifiable electrical work: the facts", "remedial", "4 Kiln Row", "Begun", "Completed"],
        ),
        (
            "generation",
            "connection",
            ["Connected to the supply: the facts", "Roof panels", "3.68 kW", "main fuse 60 A"],
        ),
        ("charging-point", "connection", ["Charging point", "Protection against an open neutral", "Load management"]),
    ],
)
def test_the_sheet_has_what_is_on_record_and_lines_for_the_rest(
    let, engineer, office, now, network, trigger, said
) -> None:
    board = make.make_board(let)
    make.make_second_source(board, rating_kw="3.68")
    let.supplies.update(main_fuse_a=60)
    _, (one,) = required(let, "C2", notifiable=not network, network=network)
    close(one, by=engineer, now=now)
    paper = Paper.objects.get(trigger=trigger)
    words = words_of(make_paper_document(paper, id=new_id(), by=office, now=now))
    for phrase in (*said, engineer.name, "A sheet of facts, not a form of theirs.", "owed by the firm", "From memory"):
        assert phrase in words, phrase


def test_the_page_says_that_the_firm_owes_it_and_to_check_the_rule(let, engineer, client, office, now) -> None:
    _, (one,) = required(let, "C2", notifiable=True)
    close(one, by=engineer, now=now)
    client.force_login(office)
    shown = text_of(client.get(reverse("inspections:paper", args=[Paper.objects.get(work=one.pk).pk])))
    assert "The firm owes this one itself." in shown
    assert "mostly written here from memory: check the current rule" in shown
    assert "The duty is the landlord" not in shown
    site_page = text_of(client.get(reverse("desk:site", args=[let.pk])))
    assert "Owed by the firm: Building Regulations 2010 regulation 20 (England)" in site_page


def test_the_office_says_what_the_network_operator_is_told_of(let, client, office) -> None:
    _, (one,) = required(let, "C2")
    client.force_login(office)
    page = client.get(reverse("works:edit", args=[one.pk]))
    client.post(reverse("works:edit", args=[one.pk]), posted(page) | {"network": "charging-point", "notifiable": "on"})
    one.refresh_from_db()
    assert (one.network, one.notifiable) == ("charging-point", True)
    shown = text_of(client.get(reverse("desk:remedial", args=[one.pk])))
    assert "is told of a charging point" in shown
