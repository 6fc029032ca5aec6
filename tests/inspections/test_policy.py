"""Which buttons stand beside an observation: right, competence and state together."""

from datetime import date

import pytest

from inspections.policy import acts_on, why_not_decide
from tests import factories as make

pytestmark = pytest.mark.django_db
OPEN = {"take_on", "make_safe", "notice", "photo", "same"}
HELD = {"take_on", "look_again", "reconnect", "notice", "photo", "same"}
CLOSED = {"ended_on": date(2026, 2, 1)}


def acts(by, observation, now) -> set[str]:
    return {name for name, allowed in acts_on(by, observation, now=now).items() if allowed}


@pytest.mark.parametrize(
    ("fields", "plain", "decides"),
    [
        ({"code": "C1"}, OPEN, {"review"}),
        ({"code": ""}, OPEN | {"meters"}, {"review"}),
        ({"code": "FI"}, OPEN | {"meters"}, {"review", "finding"}),
        ({"code": "C3"}, {"take_on", "photo", "same"}, {"review"}),
        ({"code": "C1", "made_safe": True}, HELD, {"review"}),
        ({"code": "C2", "draft": True}, OPEN - {"take_on", "same"}, set()),
        ({"code": "C2", "ended": "remedied"} | CLOSED, {"photo"}, set()),
        ({"code": "C2", "ended": "gone"} | CLOSED, {"photo", "there"}, set()),
        ({"code": "", "ended": "no-code"} | CLOSED, {"photo"}, {"review"}),
    ],
)
def test_buttons_by_state_and_competence(db, engineer, qualified, now, fields, plain, decides) -> None:
    seen = make.make_observation(make.make_site(), **fields)
    assert acts(engineer, seen, now) == plain
    assert acts(qualified, seen, now) == plain | decides


def test_a_link_gets_no_button(now) -> None:
    site = make.make_site()
    assert acts(make.make_link(site)[0], make.make_observation(site), now) == set()


def test_competence_of_another_day_decides_nothing(now) -> None:
    coming = make.make_user("Coming Soon", "engineer")
    make.make_competence(coming, since=date(2026, 2, 4))
    assert why_not_decide(coming, now=now).endswith("a manager keeps it under People.")
    make.make_competence(coming, since=date(2026, 1, 1), until=date(2026, 2, 3))
    assert why_not_decide(coming, now=now) == ""
