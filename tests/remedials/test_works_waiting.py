"""Waiting on somebody outside."""

from datetime import date, timedelta

import pytest

from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from remedials.works.models import Waiting
from remedials.works.operations import chase, end_waiting, wait_on
from tests.factories import TODAY, Told, make_observation, make_remedial, recorded


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
    waiting = begun(office, now, remedial=make_remedial(make_observation(site)))
    with recorded() as told:
        chased = chase(waiting, chase_on=date(2026, 3, 1), said="Next month", by=office, now=now)
        ended = end_waiting(waiting, how="Cut-out changed", by=office, now=now)
        end_waiting(waiting, how="Cut-out changed", by=office, now=now)
    assert (chased.chase_on, ended.ended_how, ended.ended_at) == (date(2026, 3, 1), "Cut-out changed", now)
    assert told == [
        Told("waiting.chased", waiting.pk, {"chase_on": "2026-03-01"}, {"said": "Next month"}),
        Told("waiting.ended", waiting.pk, {}, {"how": "Cut-out changed"}),
    ]
    with pytest.raises(Refused, match="has ended"):
        chase(waiting, chase_on=date(2026, 3, 1), by=office, now=now)


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
    with pytest.raises(TypeError):
        begun(office, now)


def test_waiting_is_the_offices(office, engineer, site, now) -> None:
    with pytest.raises(NotAllowed):
        begun(engineer, now, observation=make_observation(site))
    waiting = begun(office, now, observation=make_observation(site))
    with pytest.raises(NotAllowed):
        chase(waiting, chase_on=TODAY, by=engineer, now=now)
    with pytest.raises(NotAllowed):
        end_waiting(waiting, how="x", by=engineer, now=now)


def test_ending_says_how(office, site, now) -> None:
    waiting = begun(office, now, observation=make_observation(site))
    with pytest.raises(Refused, match="how it ended"):
        end_waiting(waiting, how=" ", by=office, now=now)
    with pytest.raises(Refused, match="past"):
        chase(waiting, chase_on=TODAY - timedelta(days=1), by=office, now=now)
