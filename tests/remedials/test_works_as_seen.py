"""A decision over a newer state is shown as such; a C1's or C2's remedial is cancelled for a reason that says something."""

import re
from datetime import timedelta

import pytest

from jobsite.refused import Refused
from remedials.works.models import Remedial
from remedials.works.operations import cancel_remedial, take_on
from remedials.works.rules import says_enough
from tests import factories as make
from tests.remedials.desk import hold, text_of
from tests.remedials.pages import at, refused

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

TYPED = {
    "approve": {"given_by": "Petra", "how": "phone", "given_on": "2026-02-03"},
    "decline": {"who": "Petra", "reason": "Too dear for us"},
    "cancel": {"reason": "They are rewiring in two years"},
}
AFTER = {"approve": "approved", "decline": "declined", "cancel": "cancelled"}


@pytest.mark.parametrize("name", TYPED)
def test_a_decision_over_a_newer_state_is_shown_then_taken(at_desk, engineer, office, name) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site(), code="C3"))
    version = re.search(r'name="version" value="(\d+)"', at_desk.get(at(name, remedial)).content.decode())[1]
    take_on(remedial, owner=engineer, step_by=make.TODAY + timedelta(days=9), by=office, now=make.NOON)
    answer = at_desk.post(at(name, remedial), TYPED[name] | {"version": version})
    assert refused(answer, f"Somebody changed remedial {remedial.number} meanwhile: its stage is now to price.")
    assert Remedial.objects.get().stage == "to-price"
    newer = re.search(r'name="version" value="(\d+)"', answer.content.decode())[1]
    assert at_desk.post(at(name, remedial), TYPED[name] | {"version": newer}).status_code == 302
    assert Remedial.objects.get().stage == AFTER[name]


def test_cancelling_says_that_the_danger_stays_open(at_desk, engineer) -> None:
    c1 = make.make_observation(make.make_site(), "bare busbar", code="C1")
    remedial = make.make_remedial(c1)
    said = f"This stays open and is not made safe, and goes back to the office to decide: C1 {c1.number}, bare busbar."
    assert said in text_of(at_desk.get(at("cancel", remedial)))
    hold(c1, by=engineer)
    assert said.replace(" and is not made safe", "") in text_of(at_desk.get(at("cancel", remedial)))
    slight = make.make_remedial(make.make_observation(c1.site, code="C3"))
    assert "stays open" not in text_of(at_desk.get(at("cancel", slight)))


def test_a_c1_is_not_cancelled_for_a_word(at_desk, office) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site(), code="C1"))
    answer = at_desk.post(at("cancel", remedial), {"reason": "mistake"})
    assert refused(answer, "C1 stays open here: say in a sentence why this is cancelled")
    slight = make.make_remedial(make.make_observation(remedial.site, code="C3"))
    assert cancel_remedial(slight, reason="mistake", by=office, now=make.NOON).stage == "cancelled"
    with pytest.raises(Refused, match="C1 stays open here"):
        cancel_remedial(remedial, reason="a b c", by=office, now=make.NOON)


@pytest.mark.parametrize(
    ("reason", "enough"), [("", False), ("x", False), ("made by mistake", True), ("mistakemistakemistake", False)]
)
def test_what_says_enough(reason, enough) -> None:
    assert says_enough(reason) is enough
