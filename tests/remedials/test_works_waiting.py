"""Waiting on somebody outside."""

from datetime import date, timedelta

import pytest

from inspections import operations as inspections
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from remedials.works import operations as do
from remedials.works.models import Waiting
from remedials.works.operations import chase, end_waiting, wait_on
from tests.factories import TODAY, Told, make_observation, make_remedial, recorded
from tests.remedials.work import close, on_the_way


def begun(by, now, **more):
    usual = {"on_whom": "Network operator", "for_what": "New cut-out", "asked_on": TODAY, "chase_on": date(2026, 2, 17)}
    return wait_on(**{"id": new_id(), "by": by, "now": now} | usual | more)


def test_wait_on_for_an_observation(office, engineer, site, now) -> None:
    observation, key = make_observation(site), new_id()
    with recorded() as told:
        for _ in range(2):
            waiting = begun(
                office, now, id=key, observation=observation, reference="Job 55", owner=engineer, promised_for=date(2026, 2, 20)
            )  # fmt: skip
    assert (waiting.site, waiting.owner, waiting.chase_on, waiting.ended_at) == (
        site,
        engineer,
        date(2026, 2, 17),
        None,
    )
    facts = {
        "of": str(observation.pk),
        "asked_on": "2026-02-03",
        "promised_for": "2026-02-20",
        "chase_on": "2026-02-17",
        "owner": str(engineer.pk),
    }
    words = {"on_whom": "Network operator", "for_what": "New cut-out", "reference": "Job 55"}
    assert told == [Told("waiting.begun", key, facts, words)]
    assert Waiting.objects.count() == 1


def test_chase_and_end(office, site, now) -> None:
    waiting, form = begun(office, now, remedial=make_remedial(make_observation(site))), new_id()
    with recorded() as told:
        for _ in range(2):
            chased = chase(waiting, id=form, chase_on=date(2026, 3, 1), said="Next month", by=office, now=now)
        ended = end_waiting(waiting, how="Cut-out changed", by=office, now=now)
        end_waiting(waiting, how="Cut-out changed", by=office, now=now)
    assert (chased.chase_on, ended.ended_how, ended.ended_at) == (date(2026, 3, 1), "Cut-out changed", now)
    assert told == [
        Told("waiting.chased", waiting.pk, {"chase_on": "2026-03-01", "form": str(form)}, {"said": "Next month"}),
        Told("waiting.ended", waiting.pk, {}, {"how": "Cut-out changed"}),
    ]
    assert chase(waiting, id=form, chase_on=date(2026, 3, 1), by=office, now=now) == waiting  # again: no error
    with pytest.raises(Refused, match="has ended"):
        chase(waiting, id=new_id(), chase_on=date(2026, 3, 1), by=office, now=now)


def test_two_calls_with_the_same_answer_are_two(office, site, now) -> None:
    waiting = begun(office, now, observation=make_observation(site))
    with recorded() as told:
        for _ in range(2):
            chase(waiting, id=new_id(), chase_on=date(2026, 3, 1), said="Engaged", by=office, now=now)
    assert [entry.words for entry in told] == [{"said": "Engaged"}] * 2


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"on_whom": " "}, "on_whom"),
        ({"for_what": ""}, "for_what"),
        ({"asked_on": TODAY + timedelta(days=1)}, "asked_on"),
        ({"chase_on": TODAY - timedelta(days=1)}, "chase_on"),
        ({"promised_for": TODAY - timedelta(days=1)}, "promised_for"),
    ],
)
def test_wait_on_refuses(office, site, now, more, field) -> None:
    with pytest.raises(Refused) as refused:
        begun(office, now, observation=make_observation(site), **more)
    assert (refused.value.field, Waiting.objects.count()) == (field, 0)


def test_only_what_is_open_waits(office, site, now) -> None:
    with pytest.raises(Refused, match="it waits for nothing"):
        begun(office, now, observation=make_observation(site, ended="remedied", ended_on=TODAY))
    with pytest.raises(Refused, match="it waits for nothing"):
        begun(office, now, remedial=make_remedial(make_observation(site), stage="cancelled"))
    with pytest.raises(Refused, match="it waits for nothing"):
        begun(office, now, remedial=close(on_the_way("C3")).remedial)
    with pytest.raises(TypeError):
        begun(office, now)


def test_waiting_is_the_offices(office, engineer, site, now) -> None:
    with pytest.raises(NotAllowed):
        begun(engineer, now, observation=make_observation(site))
    waiting = begun(office, now, observation=make_observation(site))
    with pytest.raises(NotAllowed):
        chase(waiting, id=new_id(), chase_on=TODAY, by=engineer, now=now)
    with pytest.raises(NotAllowed):
        end_waiting(waiting, how="x", by=engineer, now=now)


def test_ending_says_how(office, site, now) -> None:
    waiting = begun(office, now, observation=make_observation(site))
    with pytest.raises(Refused, match="how it ended"):
        end_waiting(waiting, how=" ", by=office, now=now)
    with pytest.raises(Refused, match="past"):
        chase(waiting, id=new_id(), chase_on=TODAY - timedelta(days=1), by=office, now=now)


# --- what ends the work ends the waiting ------------------------------------------------------------------------------

ENDINGS = {
    "closed with proof": lambda r, by: close(r, by=by["engineer"], now=by["now"]),
    "cancelled": lambda r, by: do.cancel_remedial(r, reason="Not wanted any more", by=by["office"], now=by["now"]),
    "declined": lambda r, by: do.decline_remedial(
        r, who="Owner", reason="", offer_again_on=TODAY, by=by["office"], now=by["now"]
    ),
    "done by others": lambda r, by: do.done_by_others(
        r, who="A Spark", reference="Letter", on=TODAY, by=by["office"], now=by["now"]
    ),
}


@pytest.fixture
def by(office, engineer, qualified, now):
    return {"office": office, "engineer": engineer, "qualified": qualified, "now": now}


@pytest.mark.parametrize("how", ENDINGS)
def test_a_remedial_that_ends_waits_no_more(by, how) -> None:
    remedial = on_the_way("C3")
    waiting = begun(by["office"], by["now"], remedial=remedial)
    with recorded() as told:
        ENDINGS[how](remedial, by)
    waiting.refresh_from_db()
    remedial.refresh_from_db()
    assert waiting.ended_at == by["now"]
    assert waiting.ended_how == f"Remedial {remedial.number}: {remedial.get_stage_display()}"
    (entry,) = [entry for entry in told if entry.subject == remedial.pk]
    assert entry.facts["waitings_ended"] == [str(waiting.pk)]


def test_a_review_ends_what_was_begun_while_it_was_awaited(by) -> None:
    proof = close(on_the_way("C2"), by=by["engineer"], now=by["now"])
    waiting = begun(by["office"], by["now"], remedial=proof.remedial)
    do.review_proof(proof, decision="accepted", by=by["qualified"], now=by["now"])
    waiting.refresh_from_db()
    assert waiting.ended_how == f"Remedial {proof.remedial.number}: reviewed"


OBSERVATION_ENDINGS = {
    "needs no code": lambda o, by: inspections.review(
        o, decision="no-code", reason="Compliant", by=by["qualified"], now=by["now"]
    ),
    "remedied": lambda o, by: close(make_remedial(o, stage="approved", photo_required=False), by=by["engineer"]),
    "withdrawn": lambda o, by: inspections.end_observation(
        o, ended="withdrawn", reason="Twice", by=by["office"], now=by["now"]
    ),
}


@pytest.mark.parametrize("how", OBSERVATION_ENDINGS)
def test_an_observation_that_ends_waits_no_more(by, site, how) -> None:
    observation = make_observation(site, code="C3")
    waiting = begun(by["office"], by["now"], observation=observation)
    with recorded() as told:
        OBSERVATION_ENDINGS[how](observation, by)
    waiting.refresh_from_db()
    assert (waiting.ended_at, waiting.ended_how) == (by["now"], f"Observation {observation.number}: {how}")
    ended = [entry.facts.get("waitings_ended") for entry in told if entry.subject == observation.pk]
    assert ended == [[str(waiting.pk)]]


@pytest.mark.parametrize("code", ["C2", ""])
def test_an_investigation_that_ends_waits_no_more(by, site, code) -> None:
    observation = make_observation(site, code="FI")
    waiting = begun(by["office"], by["now"], observation=observation)
    with recorded() as told:
        inspections.record_finding(
            observation, id=new_id(), code=code, text="Neutral loose", by=by["qualified"], now=by["now"]
        )
    waiting.refresh_from_db()
    assert waiting.ended_how == f"Observation {observation.number}: the investigation ended in a finding"
    assert [e.facts["waitings_ended"] for e in told if "waitings_ended" in e.facts] == [[str(waiting.pk)]]


def test_opening_again_revives_no_waiting(by) -> None:
    remedial = on_the_way("C3")
    waiting = begun(by["office"], by["now"], remedial=remedial)
    close(remedial, by=by["engineer"], now=by["now"])
    do.reopen_remedial(remedial, reason="Loose again", by=by["office"], now=by["now"])
    waiting.refresh_from_db()
    assert waiting.ended_at == by["now"]


def test_what_waits_elsewhere_goes_on_waiting(by, site) -> None:
    other = begun(by["office"], by["now"], observation=make_observation(site))
    with recorded() as told:
        close(on_the_way("C3", site=site), by=by["engineer"], now=by["now"])
    other.refresh_from_db()
    assert other.ended_at is None
    assert not any("waitings_ended" in entry.facts for entry in told)
