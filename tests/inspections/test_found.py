"""Something else found at a visit: one operation for the observation, what was made safe and the danger notice."""

from datetime import timedelta

import pytest

from inspections import operations
from inspections.models import DangerNotice, MadeSafe, Observation
from inspections.operations import MadeSafeFacts, NoticeFacts, note_found
from inspections.queries.coding import codes_to_review
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import NOON, TODAY, recorded
from tests.remedials.work import photo_bytes


@pytest.fixture
def safe():
    def facts(**more):
        usual = {"how": "locked", "what": "MCB 7 off and locked", "agreed_with": "Vera Invented, owner"}
        usual |= {
            "look_again_on": TODAY + timedelta(days=7),
            "lock": "L4",
            "key_holder": "Quentin",
            "no_photo": "too dark",
        }
        return MadeSafeFacts(**usual | more)

    return facts


@pytest.fixture
def find(site, board, qualified, now):
    def note(**fields):
        usual = {"id": new_id(), "unit": make.unit_of(site), "text": "Bare conductor behind the fridge", "code": "C1"}
        return note_found(site, **usual | {"board": board, "by": qualified, "now": now} | fields)

    return note


def test_the_whole_of_it_is_one_operation(find, site, board, qualified, safe):
    with recorded() as told:
        made = find(
            place="kitchen", photos=[photo_bytes()], made_safe=safe(),
            notice=NoticeFacts(given_to="Vera Invented", advised="Keep it off"), seen_while={"visit": "v", "remedial": ""},
        )  # fmt: skip
    assert [entry.verb for entry in told] == [
        "observation.seen", "observation.photographed", "made-safe.done", "notice.given",
    ]  # fmt: skip
    assert Entry.objects.values("operation").distinct().count() == 1
    assert told[0].facts["visit"] == "v"
    assert "remedial" not in told[0].facts
    assert (made.code, made.code_written, made.reviewed, made.draft, made.made_safe) == ("C1", "C1", True, False, True)
    assert (made.recorded_on, made.make_safe_by, made.owner) == (TODAY, TODAY, qualified)
    assert made.board == board
    assert made.inspection is None
    held, notice = MadeSafe.objects.get(), DangerNotice.objects.get()
    assert (held.observation, held.by, held.lock) == (made, qualified, "L4")
    assert (notice.why, notice.given_to, notice.how) == ("Bare conductor behind the fridge", "Vera Invented", "hand")
    assert notice.as_given["found"][0]["held"], "made safe first, so that the notice says so"


def test_the_same_form_again_makes_nothing_twice(find, safe):
    key, photo = new_id(), photo_bytes()
    usual = {"id": key, "made_safe": safe(), "notice": NoticeFacts(given_to="Vera", advised="Keep it off")}
    first = find(**usual, photos=[photo])
    with recorded() as told:
        again = find(**usual, photos=[photo])
    assert again == first
    assert told == []
    assert (Observation.objects.count(), MadeSafe.objects.count(), DangerNotice.objects.count()) == (1, 1, 1)
    assert first.photos.count() == 1
    find(**usual, photos=[photo_bytes(33)])
    assert first.photos.count() == 2, "a photo that came later is added"


def test_a_code_of_somebody_not_qualified_counts_at_once_and_is_looked_at(find, site, engineer, qualified, now):
    made = find(by=engineer, code="C2")
    assert (made.code, made.reviewed) == ("C2", False)
    assert made.remedy_by is not None
    rows = codes_to_review(qualified, qualified_on=TODAY)
    assert [row["title"] for row in rows] == [f"Observation {made.number}, C2 by {engineer.name}"]
    assert codes_to_review(engineer, qualified_on=TODAY) == []
    operations.review(made, decision="agree", reason="", by=qualified, now=now)
    assert codes_to_review(qualified, qualified_on=TODAY) == []


def test_who_is_not_sure_leaves_it_to_a_qualified_person(find, engineer):
    made = find(by=engineer, code="")
    assert (made.code, made.reviewed, made.may_be_dangerous, made.step_by) == ("", False, True, TODAY)
    assert made in Observation.objects.uncoded()


def test_what_comes_late_counts_from_when_it_was_found(find, qualified, safe):
    later = NOON + timedelta(days=3)
    made = find(
        now=later, made_at=NOON, made_safe=safe(look_again_on=TODAY + timedelta(days=1)),
        notice=NoticeFacts(given_to="Vera", advised="Keep it off"),
    )  # fmt: skip
    assert (made.recorded_on, made.recorded_at, made.make_safe_by) == (TODAY, NOON, TODAY)
    assert MadeSafe.objects.get().at == NOON
    assert DangerNotice.objects.get().given_at == NOON


def test_competence_is_that_of_the_day_it_was_found(find, engineer):
    make.make_competence(engineer, since=TODAY + timedelta(days=2))
    assert not find(by=engineer, now=NOON + timedelta(days=3), made_at=NOON).reviewed


@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [
        ({"text": "  "}, "text", "Say what was found"),
        ({"code": "C9"}, "code", "Choose a code"),
        ({"notice": NoticeFacts(given_to="", advised="Off")}, "given_to", "who was told"),
        ({"notice": NoticeFacts(given_to="Vera", advised="Off", how="dove")}, "notice_how", "how"),
        ({"code": "C3", "notice": NoticeFacts(given_to="Vera", advised="Off")}, "code", "no danger"),
    ],
)  # fmt: skip
def test_what_is_refused_stands_beside_its_field_and_leaves_nothing(find, fields, field, says):
    with pytest.raises(Refused, match=says) as no:
        find(**fields)
    assert no.value.field == field
    assert not Observation.objects.exists()


@pytest.mark.parametrize(
    ("facts", "field"),
    [({"what": ""}, "safe_what"), ({"how": "hope"}, "safe_how"), ({"no_photo": ""}, "safe_photo"), ({"key_holder": ""}, "key_holder")],
)  # fmt: skip
def test_what_is_refused_of_the_made_safe_stands_beside_its_field(find, safe, facts, field):
    with pytest.raises(Refused) as no:
        find(made_safe=safe(**facts))
    assert no.value.field == field
    assert not Observation.objects.exists(), "all of it, or nothing"


def test_not_at_an_archived_site_nor_by_whom_it_is_not_for(find, site, now):
    with pytest.raises(NotAllowed):
        find(by=User(name="Nobody", roles=[]))
    site.archived_at = now
    site.save()
    with pytest.raises(Refused, match="archived"):
        find()


def test_a_place_of_another_site_is_refused(find):
    elsewhere = make.make_board(make.make_site("Elsewhere"), "Hall")
    with pytest.raises(Refused) as no:
        find(board=elsewhere)
    assert no.value.field == "board"
