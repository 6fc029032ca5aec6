"""Approval, declining, offering again, cancelling, done by others; and what visits do to a stage."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from inspections.operations import give_danger_notice
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from remedials.works.models import Approval, Remedial, WayOut
from remedials.works.operations import (
    approve_remedial,
    cancel_remedial,
    decline_remedial,
    done_by_others,
    leave_remedial,
    mark_booked,
    mark_unbooked,
    offer_again,
)
from tests.factories import (
    TODAY,
    Told,
    make_observation,
    make_party,
    make_remedial,
    recorded,
    unit_of,
)

YES = {"given_by": "Petra Landlady", "how": "phone", "given_on": TODAY}
NO = {"who": "Petra Landlady", "reason": "Too dear", "offer_again_on": date(2026, 5, 1)}


def notice(*observations, by, now):
    return give_danger_notice(
        observations, id=new_id(), why="Live parts can be touched", advised="Do not use it", given_to="Petra Landlady",
        how="hand", by=by, now=now,
    )  # fmt: skip


# --- yes --------------------------------------------------------------------------------------------------------------


def test_approve(office, site, now) -> None:
    remedial = make_remedial(make_observation(site), by=office)
    with recorded() as told:
        approved = approve_remedial(remedial, **YES, pounds=Decimal("120.50"), reference="PO 7", by=office, now=now)
    approval = Approval.objects.get()
    assert (approved.stage, approved.step_by, approved.owner) == ("approved", date(2026, 2, 8), office)
    assert (approval.given_by, approval.how, approval.pounds) == ("Petra Landlady", "phone", Decimal("120.50"))
    facts = {"approval": str(approval.pk), "how": "phone", "given_on": "2026-02-03", "pounds": "120.50", "party": None}
    words = {"given_by": "Petra Landlady", "reference": "PO 7"}
    assert told == [Told("remedial.approved", remedial.pk, facts, words)]


def test_approve_again_is_harmless(office, site, now) -> None:
    remedial = approve_remedial(make_remedial(make_observation(site)), **YES, by=office, now=now)
    with recorded() as told:
        assert approve_remedial(remedial, **YES, by=office, now=now).stage == "approved"
    assert (told, Approval.objects.count()) == ([], 1)


def test_another_yes_to_what_is_approved_is_not_passed_over(office, site, now) -> None:
    remedial = approve_remedial(make_remedial(make_observation(site)), **YES, by=office, now=now)
    with pytest.raises(Refused, match="cannot be approved: its stage is approved"):
        approve_remedial(remedial, **YES, pounds=Decimal(90), by=office, now=now)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"given_by": " "}, "given_by"),
        ({"given_on": TODAY + timedelta(days=1)}, "given_on"),
        ({"pounds": Decimal(-1)}, "pounds"),
        ({"how": "standing"}, "party"),
    ],
)
def test_approve_refuses(office, site, now, change, field) -> None:
    with pytest.raises(Refused) as refused:
        approve_remedial(make_remedial(make_observation(site)), **YES | change, by=office, now=now)
    assert refused.value.field == field


@pytest.mark.parametrize("stage", ["booked", "done", "reviewed", "declined", "cancelled", "by-others"])
def test_approve_refuses_other_stages(office, site, now, stage) -> None:
    with pytest.raises(Refused, match="cannot be approved: its stage is"):
        approve_remedial(make_remedial(make_observation(site), stage=stage), **YES, by=office, now=now)


def test_approve_is_the_offices(engineer, site, now) -> None:
    with pytest.raises(NotAllowed):
        approve_remedial(make_remedial(make_observation(site)), **YES, by=engineer, now=now)


@pytest.mark.parametrize(
    ("role", "pounds", "sentence"),
    [
        ({"role": "approver", "limit_pounds": Decimal(250)}, Decimal("250.00"), ""),
        ({"role": "approver", "limit_pounds": Decimal(250)}, Decimal("250.01"), "is £250.00: ask for this sum"),
        ({"role": "approver", "limit_pounds": Decimal(250)}, None, "how much of the standing limit"),
        ({"role": "approver", "limit_pounds": None}, Decimal(10), "holds no standing limit here"),
        ({"role": "owner", "limit_pounds": Decimal(250)}, Decimal(10), "holds no standing limit here"),
        ({"role": "approver", "limit_pounds": Decimal(250), "until": date(2026, 1, 1)}, Decimal(10), "no standing"),
        ({"role": "approver", "limit_pounds": Decimal(250), "since": date(2026, 3, 1)}, Decimal(10), "no standing"),
    ],
)
def test_approve_by_standing_limit(office, site, now, role, pounds, sentence) -> None:
    party = make_party("Agnes Agent")
    unit_of(site).parties.create(**{"party": party, "since": date(2025, 1, 1)} | role)
    remedial = make_remedial(make_observation(site))

    def approve():
        fields = {"given_by": "Agnes Agent", "how": "standing", "given_on": TODAY, "party": party, "pounds": pounds}
        return approve_remedial(remedial, **fields, by=office, now=now)

    if sentence:
        with pytest.raises(Refused, match=sentence):
            approve()
    else:
        assert approve().stage == "approved"


# --- no ---------------------------------------------------------------------------------------------------------------


def test_decline_with_a_notice_on_record(office, site, now) -> None:
    observation = make_observation(site, code="C2")
    notice(observation, by=office, now=now)
    remedial = make_remedial(observation)
    with recorded() as told:
        for _ in range(2):
            declined = decline_remedial(remedial, **NO, by=office, now=now)
    out = WayOut.objects.get()
    assert (declined.stage, declined.owner, declined.step_by) == ("declined", office, date(2026, 5, 1))
    assert (out.stage, out.who, out.on, out.offer_again_on) == ("declined", "Petra Landlady", TODAY, date(2026, 5, 1))
    words = {"who": "Petra Landlady", "reason": "Too dear"}
    assert told == [Told("remedial.declined", remedial.pk, {"offer_again_on": "2026-05-01"}, words)]
    observation.refresh_from_db()
    assert observation.ended == ""


@pytest.mark.parametrize("code", ["C1", "C2"])
def test_decline_asks_for_a_danger_notice(office, site, now, code) -> None:
    observation = make_observation(site, code=code)
    told = make_observation(site, code=code)
    notice(told, by=office, now=now)
    with pytest.raises(Refused, match=f"none is on record for observation {observation.number}"):
        decline_remedial(make_remedial(observation, told), **NO, by=office, now=now)


@pytest.mark.parametrize(("code", "refused"), [("FI", True), ("", True), ("C3", False)])
def test_decline_asks_when_to_offer_again_where_it_may_be_dangerous(office, site, now, code, refused) -> None:
    remedial = make_remedial(make_observation(site, code=code))
    if refused:
        with pytest.raises(Refused, match="Choose the day to offer it again"):
            decline_remedial(remedial, **NO | {"offer_again_on": None}, by=office, now=now)
    else:
        assert decline_remedial(remedial, **NO | {"offer_again_on": None}, by=office, now=now).step_by is None


def test_decline_refuses(office, engineer, site, now) -> None:
    remedial = make_remedial(make_observation(site, code="C3"))
    with pytest.raises(Refused, match="who declined"):
        decline_remedial(remedial, **NO | {"who": ""}, by=office, now=now)
    with pytest.raises(Refused, match="past"):
        decline_remedial(remedial, **NO | {"offer_again_on": TODAY - timedelta(days=1)}, by=office, now=now)
    with pytest.raises(NotAllowed):
        decline_remedial(remedial, **NO, by=engineer, now=now)
    with pytest.raises(Refused, match="cannot be declined: its stage is booked"):
        decline_remedial(make_remedial(make_observation(site), stage="booked"), **NO, by=office, now=now)


def test_offer_again(office, engineer, site, now) -> None:
    remedial = make_remedial(make_observation(site), stage="declined")
    with recorded() as told:
        again = offer_again(remedial, by=office, now=now)
        offer_again(remedial, by=office, now=now)  # again: no error, no second entry
    assert (again.stage, again.owner, again.step_by) == ("to-price", office, TODAY)
    assert told == [Told("remedial.offered-again", remedial.pk, {}, {})]
    approve_remedial(remedial, **YES, by=office, now=now)
    with pytest.raises(Refused, match="cannot be offered again: its stage is approved"):
        offer_again(remedial, by=office, now=now)
    with pytest.raises(NotAllowed):
        offer_again(remedial, by=engineer, now=now)


# --- not at all -------------------------------------------------------------------------------------------------------


def test_cancel_gives_its_observations_a_next_step(office, site, now) -> None:
    observation = make_observation(site, code="C2", owner=None, step_by=None, remedy_by=TODAY + timedelta(days=1))
    remedial = make_remedial(observation)
    with recorded() as told:
        cancelled = cancel_remedial(remedial, reason="It was made twice by mistake", by=office, now=now)
    observation.refresh_from_db()
    assert (cancelled.stage, cancelled.owner, cancelled.step_by) == ("cancelled", None, None)
    assert (observation.owner, observation.step_by, observation.ended) == (office, TODAY + timedelta(days=1), "")
    assert [entry.verb for entry in told] == ["remedial.cancelled", "observation.taken-on"]
    assert told[0] == Told(
        "remedial.cancelled", remedial.pk, {}, {"who": "Olive Deskworth", "reason": "It was made twice by mistake"}
    )
    with recorded() as again:
        cancel_remedial(remedial, reason="It was made twice by mistake", by=office, now=now)
    assert again == []


def test_cancel_leaves_an_observation_that_another_remedial_carries(office, engineer, site, now) -> None:
    observation = make_observation(site, owner=engineer, step_by=date(2026, 3, 1))
    make_remedial(observation, stage="approved")
    cancel_remedial(make_remedial(observation), reason="It was made twice by mistake", by=office, now=now)
    observation.refresh_from_db()
    assert (observation.owner, observation.step_by) == (engineer, date(2026, 3, 1))


def test_cancel_with_nothing_more_to_do_ends_what_others_put_right(office, site, now) -> None:
    observation = make_observation(site)
    make_remedial(observation, stage="reviewed")
    cancel_remedial(make_remedial(observation), reason="One was enough", nothing_more=True, by=office, now=now)
    observation.refresh_from_db()
    assert (observation.ended, observation.ended_reason) == ("remedied", "Nothing more is needed: One was enough")


@pytest.mark.parametrize("other", [None, "approved", "declined", "done"])
def test_cancel_with_nothing_more_to_do_needs_another_that_put_it_right(office, site, now, other) -> None:
    observation = make_observation(site)
    if other:
        make_remedial(observation, stage=other)
    with pytest.raises(Refused, match="No other closed remedial"):
        cancel_remedial(make_remedial(observation), reason="Enough", nothing_more=True, by=office, now=now)
    observation.refresh_from_db()
    assert observation.ended == ""


def test_cancel_refuses(office, engineer, site, now) -> None:
    remedial = make_remedial(make_observation(site))
    with pytest.raises(Refused, match="why it is cancelled"):
        cancel_remedial(remedial, reason="", by=office, now=now)
    with pytest.raises(NotAllowed):
        cancel_remedial(remedial, reason="x", by=engineer, now=now)
    with pytest.raises(Refused, match="its stage is done"):
        cancel_remedial(make_remedial(make_observation(site), stage="done"), reason="x", by=office, now=now)


# --- done by others ---------------------------------------------------------------------------------------------------


def test_done_by_others(office, site, now) -> None:
    one, shared = make_observation(site), make_observation(site)
    make_remedial(shared, stage="approved")
    remedial = make_remedial(one, shared)
    with recorded() as told:
        for _ in range(2):
            done_by_others(
                remedial, who="Another Firm", reference="MW 12", on=date(2026, 1, 30), by=office, now=now, reason="Urgent"
            )  # fmt: skip
    one.refresh_from_db()
    shared.refresh_from_db()
    out = WayOut.objects.get()
    assert (one.ended, one.ended_reason, shared.ended) == ("others", "Done by Another Firm: MW 12", "")
    assert (out.stage, out.on, out.reference) == ("by-others", date(2026, 1, 30), "MW 12")
    words = {"who": "Another Firm", "reference": "MW 12", "reason": "Urgent"}
    assert told[0] == Told("remedial.by-others", remedial.pk, {"on": "2026-01-30", "file": None}, words)
    assert [entry.verb for entry in told] == ["remedial.by-others", "observation.ended"]


@pytest.mark.parametrize(("code", "refused"), [("C1", True), ("C2", True), ("FI", True), ("", True), ("C3", False)])
def test_done_by_others_wants_their_paper_for_dangerous_items(office, site, now, code, refused) -> None:
    remedial = make_remedial(make_observation(site, code=code))
    fields = {"who": "Another Firm", "reference": " ", "on": TODAY, "by": office, "now": now}
    if refused:
        with pytest.raises(Refused, match="Name their certificate or letter"):
            done_by_others(remedial, **fields)
    else:
        assert done_by_others(remedial, **fields).stage == "by-others"


def test_done_by_others_refuses(office, engineer, site, now) -> None:
    remedial = make_remedial(make_observation(site))
    fields = {"who": "Another Firm", "reference": "1", "on": TODAY, "now": now}
    with pytest.raises(Refused, match="who did the work"):
        done_by_others(remedial, **fields | {"who": ""}, by=office)
    with pytest.raises(Refused, match="not come yet"):
        done_by_others(remedial, **fields | {"on": TODAY + timedelta(days=1)}, by=office)
    with pytest.raises(NotAllowed):
        done_by_others(remedial, **fields, by=engineer)


# --- what visits do ---------------------------------------------------------------------------------------------------


def test_mark_booked_and_unbooked(office, engineer, site, now) -> None:
    remedial = make_remedial(make_observation(site), stage="approved")
    with recorded() as told:
        booked = mark_booked(remedial, visit_start=now + timedelta(days=3), owner=engineer, by=office, now=now)
        assert (booked.stage, booked.owner, booked.step_by) == ("booked", engineer, TODAY + timedelta(days=3))
        for _ in range(2):
            free = mark_unbooked(remedial, by=office, now=now)
    assert (free.stage, free.owner, free.step_by) == ("approved", office, TODAY)
    assert told == [
        Told("remedial.booked", remedial.pk, {"day": "2026-02-06", "owner": str(engineer.pk)}, {}),
        Told("remedial.unbooked", remedial.pk, {}, {}),
    ]


def test_mark_booked_refuses(office, engineer, site, now) -> None:
    remedial = make_remedial(make_observation(site))
    with pytest.raises(Refused, match="cannot be booked: its stage is to price"):
        mark_booked(remedial, visit_start=now, by=office, now=now)
    with pytest.raises(NotAllowed):
        mark_booked(remedial, visit_start=now, by=engineer, now=now)
    with pytest.raises(NotAllowed):
        mark_unbooked(remedial, by=engineer, now=now)
    with pytest.raises(Refused, match="cannot be taken off a visit"):
        mark_unbooked(remedial, by=office, now=now)


def test_part_done(office, engineer, site, now) -> None:
    remedial, form = make_remedial(make_observation(site), stage="booked", by=office), new_id()
    with recorded() as told:
        for _ in range(2):
            stint = leave_remedial(remedial, id=form, because="Second fix ", by=engineer, now=now)
    rest = Remedial.objects.get()
    assert (rest.stage, rest.owner, rest.step_by) == ("approved", office, date(2026, 2, 8))
    assert told == [Told("remedial.part-done", remedial.pk, {"stint": str(form)}, {"left": "Second fix"})]
    assert (stint.came, stint.because, stint.minutes, stint.at) == ("part-done", "Second fix", None, now)
    with pytest.raises(NotAllowed):
        leave_remedial(remedial, id=new_id(), because="Second fix", by=office, now=now)
