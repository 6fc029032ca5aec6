"""Closing with proof: photographs, readings, what is missing, closing twice."""

from datetime import timedelta

import pytest
from django.db import transaction

from inspections.models import Observation
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from remedials.works.models import Proof, ProofPhoto, Remedial
from remedials.works.operations import add_proof_photo, close_remedial, remove_proof_photo
from remedials.works.queries import fresh_readings, what_is_missing
from tests.at_once import at_once, behind
from tests.factories import (
    NOON,
    TODAY,
    Told,
    anybody,
    grant_access,
    make_instrument,
    make_observation,
    make_remedial,
    make_site,
    recorded,
)
from tests.remedials.work import ask_reading, close, on_the_way, photo_bytes, take


def ended(remedial) -> list[str]:
    return list(
        Observation.objects.filter(remedies__remedial=remedial).order_by("number").values_list("ended", flat=True)
    )


# --- photographs ------------------------------------------------------------------------------------------------------


def test_add_proof_photo_once(engineer, now) -> None:
    remedial = on_the_way("C2")
    observation = remedial.observations.get()
    with recorded() as told:
        photo = add_proof_photo(remedial, data=photo_bytes(), observation=observation, by=engineer, now=now)
        again = add_proof_photo(remedial, data=photo_bytes(), observation=observation, by=engineer, now=now)
    assert (again.pk, photo.width, photo.height, photo.added_by) == (photo.pk, 40, 30, engineer)
    facts = {"photo": str(photo.pk), "file": photo.file_id, "observation": str(observation.pk)}
    assert told == [Told("remedial.photo-added", remedial.pk, facts, {})]


def test_add_proof_photo_refuses(office, engineer, now) -> None:
    remedial = on_the_way("C2")
    with pytest.raises(NotAllowed):
        add_proof_photo(remedial, data=photo_bytes(), by=office, now=now)
    with pytest.raises(Refused, match="not a photo"):
        add_proof_photo(remedial, data=b"not a photo", by=engineer, now=now)
    other = make_observation(remedial.site)
    with pytest.raises(Refused, match="does not remedy that observation"):
        add_proof_photo(remedial, data=photo_bytes(), observation=other, by=engineer, now=now)
    assert ProofPhoto.objects.count() == 0


def test_a_photo_can_be_taken_away_until_a_closing_uses_it(office, engineer, now) -> None:
    remedial = on_the_way("C3", photo_required=True)
    photo = add_proof_photo(remedial, data=photo_bytes(), by=engineer, now=now)
    with pytest.raises(NotAllowed):
        remove_proof_photo(photo, by=office, now=now)
    with recorded() as told:
        remove_proof_photo(photo, by=engineer, now=now)
        remove_proof_photo(photo, by=engineer, now=now)
    facts = {"photo": str(photo.pk), "file": photo.file_id}
    assert told == [Told("remedial.photo-removed", remedial.pk, facts, {})]
    kept = add_proof_photo(remedial, data=photo_bytes(), by=engineer, now=now)
    close(remedial)
    with pytest.raises(Refused, match="belongs to a closing"):
        remove_proof_photo(kept, by=engineer, now=now)


# --- the list that shrinks --------------------------------------------------------------------------------------------


def test_the_list_shrinks_to_nothing(engineer, now) -> None:
    remedial = on_the_way("C2", "C3", photo_required=True, certificate_kind="minor works certificate")
    one, two = remedial.observations.order_by("number")
    circuit = ask_reading(remedial)
    photos = [f"A photo after the work: observation {o.number}, {o.text}." for o in (one, two)]
    reading = "The loop impedance reading of Board 1, way 1L1 (Kitchen sockets)."
    certificate = "The number or the file of the minor works certificate."

    def missing(**given) -> list[str]:
        return what_is_missing(remedial, readings=fresh_readings(remedial), **given)

    assert missing() == [*photos, reading, certificate]
    add_proof_photo(remedial, data=photo_bytes(), observation=one, by=engineer, now=now)
    assert missing() == [photos[1], reading, certificate]
    take(circuit, "0.8")
    assert missing() == [photos[1], certificate]
    assert missing(certificate=True) == [photos[1]]
    add_proof_photo(remedial, data=photo_bytes(), by=engineer, now=now)
    assert missing(certificate=True) == []


def test_one_photo_of_the_whole_shows_everything(engineer, now) -> None:
    remedial = on_the_way("C3", "C3", "C3", photo_required=True)
    add_proof_photo(remedial, data=photo_bytes(), by=engineer, now=now)
    assert what_is_missing(remedial, readings=[]) == []


def test_a_long_text_is_shortened(db) -> None:
    site = make_site()
    remedial = make_remedial(make_observation(site, "word " * 40), stage="approved")
    assert [len(sentence) for sentence in what_is_missing(remedial, readings=[])] < [120]


# --- closing ----------------------------------------------------------------------------------------------------------


def test_close_a_c3_ends_its_observations(engineer, now) -> None:
    remedial = on_the_way("C3", photo_required=True, stage="booked")
    photo = add_proof_photo(remedial, data=photo_bytes(), by=engineer, now=now)
    key = new_id()
    with recorded() as told:
        proof = close_remedial(remedial, id=key, by=engineer, now=now, note="New cover", supervisor_name="Old Hand")
    remedial.refresh_from_db()
    photo.refresh_from_db()
    assert (proof.state, proof.done_by, proof.done_at, proof.supervisor_name) == ("stands", engineer, now, "Old Hand")
    assert (remedial.stage, remedial.owner, remedial.step_by, photo.proof) == ("done", None, None, proof)
    assert ended(remedial) == ["remedied"]
    facts = {"proof": str(key), "photos": [str(photo.pk)], "readings": [], "certificate_file": None}
    words = {"note": "New cover", "supervisor_name": "Old Hand"}
    assert told[0] == Told("remedial.closed", remedial.pk, facts, words)
    assert [entry.verb for entry in told] == ["remedial.closed", "observation.ended"]


@pytest.mark.parametrize("code", ["C1", "C2", "FI", ""])
def test_close_a_dangerous_or_uncoded_item_waits_for_review(qualified, engineer, now, code) -> None:
    remedial = on_the_way(code)
    close(remedial, by=engineer)
    remedial.refresh_from_db()
    assert (remedial.stage, remedial.owner, remedial.step_by) == ("done", qualified, TODAY + timedelta(days=5))
    assert ended(remedial) == [""]
    assert list(Remedial.objects.awaiting_review()) == [remedial]


def test_the_review_falls_to_another_person_than_the_engineer(qualified, manager, now) -> None:
    remedial = on_the_way("C2", by=manager)
    close(remedial, by=qualified)
    remedial.refresh_from_db()
    assert remedial.owner == qualified  # the firm's only one: a self-review on a later day
    other = on_the_way("C2", site=remedial.site, by=manager)
    from tests.factories import make_qualified

    second = make_qualified("Anna Able")
    close(other, by=qualified)
    other.refresh_from_db()
    assert other.owner == second


def test_without_any_qualified_person_the_review_still_has_an_owner(engineer, office, now) -> None:
    remedial = on_the_way("C2", by=office)
    close(remedial, by=engineer)
    remedial.refresh_from_db()
    assert remedial.owner == office


def test_close_with_a_reading(engineer, now) -> None:
    remedial = on_the_way("C3")
    circuit = ask_reading(remedial)
    reading = take(circuit, "0.9", by=engineer)
    proof = close(remedial, by=engineer, readings=[reading])
    assert (reading.verdict, list(proof.readings.all())) == ("pass", [reading])
    assert ended(remedial) == ["remedied"]


def test_a_failing_reading_never_closes_without_a_reason(engineer, qualified, now) -> None:
    remedial = on_the_way("C3")
    reading = take(ask_reading(remedial), "1.2", by=engineer)
    assert reading.verdict == "fail"
    with pytest.raises(Refused, match=r"way 1L1 \(Kitchen sockets\) fails"):
        close(remedial, by=engineer, readings=[reading])
    proof = close(remedial, by=engineer, readings=[reading], exception_reason="New rod on Friday")
    remedial.refresh_from_db()
    assert (proof.exception_reason, remedial.stage, remedial.owner) == ("New rod on Friday", "done", qualified)
    assert ended(remedial) == [""]  # also a C3 waits: a qualified person must accept the exception
    assert list(Remedial.objects.awaiting_review()) == [remedial]


def test_a_reading_from_an_instrument_out_of_its_check_blocks_closing(engineer, qualified, now) -> None:
    remedial = on_the_way("C3")
    old = make_instrument("T-0", check_due=TODAY - timedelta(days=1))
    reading = take(ask_reading(remedial), "0.5", by=engineer, instrument=old)
    assert (reading.verdict, reading.instrument_in_check) == ("pass", False)
    with pytest.raises(Refused, match="out of its check"):
        close(remedial, by=engineer, readings=[reading])
    close(remedial, by=engineer, readings=[reading], exception_reason="Checked against a second tester")
    assert ended(remedial) == [""]


def test_the_latest_reading_counts(engineer, now) -> None:
    remedial = on_the_way("C3")
    circuit = ask_reading(remedial)
    bad = take(circuit, "1.2", by=engineer)
    good = take(circuit, "0.7", by=engineer, now=now + timedelta(minutes=5))
    assert fresh_readings(remedial) == [good]
    with pytest.raises(Refused, match="does not count here"):
        close(remedial, by=engineer, readings=[bad])
    assert close(remedial, by=engineer, readings=[good]).state == "stands"


def test_an_earlier_pass_does_not_hide_a_later_fail(engineer, now) -> None:
    remedial = on_the_way("C3")
    circuit = ask_reading(remedial)
    good = take(circuit, "0.7", by=engineer)
    take(circuit, "1.2", by=engineer, now=now + timedelta(minutes=5))
    with pytest.raises(Refused, match="does not count here"):
        close(remedial, by=engineer, readings=[good])


def test_a_reading_from_before_the_remedial_proves_nothing(engineer, now) -> None:
    remedial = on_the_way("C3")
    reading = take(ask_reading(remedial), "0.7", by=engineer, now=now - timedelta(days=1))
    assert fresh_readings(remedial) == []
    with pytest.raises(Refused, match="does not count here"):
        close(remedial, by=engineer, readings=[reading])


def test_a_reading_of_another_site_proves_nothing(engineer, now) -> None:
    remedial, other = on_the_way("C3"), on_the_way("C3", site=make_site("Other", earthing="TN-C-S"))
    reading = take(ask_reading(other), "0.7", by=engineer)
    with pytest.raises(Refused, match="does not count here"):
        close(remedial, by=engineer, readings=[reading])


def test_a_reading_is_missing_whatever_reason_is_given(engineer, now) -> None:
    remedial = on_the_way("C3")
    ask_reading(remedial)
    with pytest.raises(Refused, match="Still missing to close: The loop impedance reading"):
        close(remedial, by=engineer, exception_reason="No time")


def test_close_without_a_photo_for_a_reason(engineer, now) -> None:
    remedial = on_the_way("C3", photo_required=True)
    with pytest.raises(Refused, match="A photo after the work"):
        close(remedial, by=engineer)
    assert close(remedial, by=engineer, no_photo_reason="No cameras on this site").state == "stands"


def test_close_the_same_closing_again_answers_the_same(engineer, now) -> None:
    remedial, key = on_the_way("C3"), new_id()
    first = close(remedial, by=engineer, id=key)
    with recorded() as told:
        assert close(remedial, by=engineer, id=key, note="again") == first
    assert (told, Proof.objects.count()) == ([], 1)
    with pytest.raises(Refused, match="already used for something else"):
        close(on_the_way("C3", site=remedial.site), by=engineer, id=key)


def test_close_twice_keeps_the_first_and_files_the_second_beside_it(engineer, other_engineer, now) -> None:
    remedial = on_the_way("C2")
    first = close(remedial, by=engineer)
    photo = add_proof_photo(remedial, data=photo_bytes(), by=other_engineer, now=now)
    with recorded() as told:
        second = close(remedial, by=other_engineer, note="I did it too")
    first.refresh_from_db()
    photo.refresh_from_db()
    remedial.refresh_from_db()
    assert (first.state, second.state, photo.proof, remedial.stage) == ("stands", "beside", second, "done")
    facts = {"proof": str(second.pk), "photos": [str(photo.pk)], "readings": [], "certificate_file": None}
    assert told == [Told("remedial.filed-beside", remedial.pk, facts, {"note": "I did it too"})]


@pytest.mark.parametrize("stage", ["to-price", "quoted", "declined", "cancelled", "by-others"])
def test_close_refuses_other_stages(engineer, now, stage) -> None:
    with pytest.raises(Refused, match="cannot be closed: its stage is"):
        close(on_the_way("C3", stage=stage), by=engineer)


def test_who_may_close(office, manager, subcontractor, now) -> None:
    remedial = on_the_way("C3")
    for person in (office, manager, subcontractor):
        with pytest.raises(NotAllowed, match="Only an engineer who sees this site"):
            close(remedial, by=person)
    grant_access(remedial.site, subcontractor)
    assert close(remedial, by=subcontractor).done_by == subcontractor


def test_an_observation_with_several_remedials_ends_with_the_last(engineer, now) -> None:
    remedial = on_the_way("C3", stage="approved")
    observation = remedial.observations.get()
    second = make_remedial(observation, stage="approved", photo_required=False)
    make_remedial(observation, stage="cancelled")
    close(remedial, by=engineer)
    assert ended(remedial) == [""]
    close(second, by=engineer)
    assert ended(remedial) == ["remedied"]


@pytest.mark.parametrize("stage", ["to-price", "quoted", "approved", "booked", "declined"])
def test_another_remedial_to_come_keeps_the_observation_open(engineer, now, stage) -> None:
    remedial = on_the_way("C3")
    make_remedial(remedial.observations.get(), stage=stage)
    close(remedial, by=engineer)
    assert ended(remedial) == [""]


def test_a_c3_beside_a_c2_waits_for_the_review_of_both(engineer, now) -> None:
    remedial = on_the_way("C3", "C2")
    close(remedial, by=engineer)
    assert ended(remedial) == ["", ""]


@pytest.mark.django_db(transaction=True)
def test_two_engineers_closing_at_once_leave_one_proof_that_stands() -> None:
    remedial = on_the_way("C2")
    people = [anybody("engineer"), anybody("engineer", "office")]
    states = at_once(*[lambda person=person: close(remedial, by=person).state for person in people])
    assert sorted(states) == ["beside", "stands"]
    remedial.refresh_from_db()
    assert remedial.stage == "done"


@pytest.mark.django_db(transaction=True)
def test_a_photo_waits_for_its_observation_before_it_holds_the_remedial() -> None:
    """As closing does: of a photo and a closing sent at once, neither waits for what the other holds."""
    remedial, engineer = on_the_way("C2"), anybody("engineer")
    observation = remedial.observations.get()
    with transaction.atomic():
        Observation.objects.select_for_update().get(pk=observation.pk)
        added = behind(
            lambda: add_proof_photo(remedial, data=photo_bytes(), observation=observation, by=engineer, now=NOON)
        )
        assert Remedial.objects.select_for_update(nowait=True).get(pk=remedial.pk) == remedial
    assert added.result().observation_id == observation.pk
