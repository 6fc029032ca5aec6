"""The qualified person's look at the proof, sending back, findings, reopening."""

from datetime import date, timedelta

import pytest

from inspections.models import Observation
from jobsite.refused import NotAllowed, Refused
from remedials.works.models import Proof, ProofReview, Remedial
from remedials.works.operations import (
    add_proof_photo,
    cancel_remedial,
    done_by_others,
    reopen_remedial,
    review_proof,
)
from remedials.works.operations.reviewing import Finding
from remedials.works.queries import fresh_readings
from tests.factories import TODAY, Told, make_qualified, make_remedial, recorded
from tests.remedials.work import ask_reading, close, on_the_way, photo_bytes, take


def closed(*codes: str, by, **fields):
    """A remedial closed by `by`, and its proof."""
    remedial = on_the_way(*codes, **fields)
    return remedial, close(remedial, by=by)


def ended(remedial) -> list[str]:
    return list(
        Observation.objects.filter(remedies__remedial=remedial).order_by("number").values_list("ended", flat=True)
    )


def accept(proof, by, now, **more):
    return review_proof(proof, decision="accepted", by=by, now=now, **more)


def test_accept(engineer, qualified, now) -> None:
    remedial, proof = closed("C2", "C3", by=engineer)
    both = sorted(str(pk) for pk in remedial.observations.values_list("pk", flat=True))
    with recorded() as told:
        review = accept(proof, qualified, now, reason="Clear pictures")
    remedial.refresh_from_db()
    assert (review.decision, review.self_review, review.by) == ("accepted", False, qualified)
    assert (remedial.stage, remedial.owner, remedial.step_by) == ("reviewed", None, None)
    assert ended(remedial) == ["remedied", "remedied"]
    facts = {"proof": str(proof.pk), "self_review": False, "remedied": both, "findings": [], "exception": False}
    reviews = [entry for entry in told if entry.subject == remedial.pk]
    assert reviews == [Told("remedial.reviewed", remedial.pk, facts, {"reason": "Clear pictures"})]
    assert sorted(entry.verb for entry in told) == ["observation.ended", "observation.ended", "remedial.reviewed"]


def test_accept_again_is_harmless_and_the_other_answer_is_refused(engineer, qualified, now) -> None:
    _, proof = closed("C2", by=engineer)
    first = accept(proof, qualified, now)
    with recorded() as told:
        assert accept(proof, qualified, now) == first
    assert told == []
    with pytest.raises(Refused, match="was accepted by Quentin Prover already"):
        review_proof(proof, decision="sent-back", reason="No", by=qualified, now=now)


def test_send_back(engineer, office, qualified, now) -> None:
    remedial, proof = closed("C2", by=engineer)
    Remedial.objects.update(made_by=office)
    with pytest.raises(Refused, match="Say what is wrong"):
        review_proof(proof, decision="sent-back", reason=" ", by=qualified, now=now)
    with recorded() as told:
        review_proof(proof, decision="sent-back", reason="Picture of another board", by=qualified, now=now)
    remedial.refresh_from_db()
    proof.refresh_from_db()
    assert (remedial.stage, remedial.owner, remedial.step_by) == ("approved", office, TODAY + timedelta(days=5))
    assert (proof.state, ended(remedial)) == ("sent-back", [""])
    words = {"reason": "Picture of another board"}
    assert told == [Told("remedial.sent-back", remedial.pk, {"proof": str(proof.pk)}, words)]


def test_after_sending_back_old_photos_and_readings_do_not_count_again(engineer, qualified, now) -> None:
    remedial = on_the_way("C2", photo_required=True)
    circuit = ask_reading(remedial)
    add_proof_photo(remedial, data=photo_bytes(), by=engineer, now=now)
    reading = take(circuit, "0.5", by=engineer)
    proof = close(remedial, by=engineer, readings=[reading])
    review_proof(proof, decision="sent-back", reason="Blurred", by=qualified, now=now)
    assert fresh_readings(remedial) == []
    with pytest.raises(Refused, match="take a new one"):
        add_proof_photo(remedial, data=photo_bytes(), by=engineer, now=now)
    with pytest.raises(Refused, match=r"A photo after the work: .* The loop impedance reading"):
        close(remedial, by=engineer)
    add_proof_photo(remedial, data=photo_bytes(shade=200), by=engineer, now=now)
    again = close(remedial, by=engineer, readings=[take(circuit, "0.5", by=engineer)])
    assert accept(again, qualified, now).decision == "accepted"
    assert sorted(Proof.objects.values_list("state", flat=True)) == ["sent-back", "stands"]


def test_who_may_review(engineer, office, qualified, now) -> None:
    _, proof = closed("C2", by=engineer)
    for person in (engineer, office):
        with pytest.raises(NotAllowed, match="Only a person whom the firm records as qualified"):
            accept(proof, person, now)
    qualified.competences.update(until=date(2026, 2, 2))
    with pytest.raises(NotAllowed, match="Only a person whom the firm records as qualified"):
        accept(proof, qualified, now)


def test_your_own_work_is_reviewed_by_another(qualified, now) -> None:
    second = make_qualified("Anna Able")
    remedial, proof = closed("C2", by=qualified)
    with pytest.raises(NotAllowed, match="another qualified person must review it"):
        accept(proof, qualified, now + timedelta(days=1))
    accept(proof, second, now)
    remedial.refresh_from_db()
    assert remedial.stage == "reviewed"


def test_the_only_qualified_person_reviews_own_work_on_a_later_day(qualified, now) -> None:
    _, proof = closed("C2", by=qualified)
    with pytest.raises(NotAllowed, match="on a later day"):
        accept(proof, qualified, now + timedelta(hours=11))
    review = accept(proof, qualified, now + timedelta(hours=12))  # midnight in London
    assert review.self_review is True


def test_a_proof_that_does_not_stand_is_not_reviewed(engineer, qualified, now) -> None:
    remedial, _ = closed("C2", by=engineer)
    beside = close(remedial, by=engineer, beside=True)
    with pytest.raises(Refused, match="does not stand"):
        accept(beside, qualified, now)
    assert ProofReview.objects.count() == 0


def test_an_uncoded_item_is_coded_before_its_proof_is_accepted(engineer, qualified, now) -> None:
    _, proof = closed("", by=engineer)
    with pytest.raises(Refused, match="has no code yet"):
        accept(proof, qualified, now)


def test_an_exception_is_accepted_with_the_proof(engineer, qualified, now) -> None:
    remedial = on_the_way("C3")
    reading = take(ask_reading(remedial), "1.2", by=engineer)
    proof = close(remedial, by=engineer, readings=[reading], exception_reason="New rod on Friday")
    with recorded() as told:
        accept(proof, qualified, now)
    assert [entry.facts["exception"] for entry in told if entry.verb == "remedial.reviewed"] == [True]
    assert ended(remedial) == ["remedied"]


# --- findings ---------------------------------------------------------------------------------------------------------


def test_an_fi_ends_in_a_finding_with_clocks_of_its_own(engineer, qualified, now) -> None:
    remedial, proof = closed("FI", by=engineer)
    investigated = remedial.observations.get()
    with pytest.raises(Refused, match="is an FI: say what the investigation found"):
        accept(proof, qualified, now)
    with pytest.raises(Refused, match="Put in words"):
        accept(proof, qualified, now, finding_code="C2", finding_text=" ")
    accept(proof, qualified, now, finding_code="C2", finding_text="Neutral lost at the joint")
    found = investigated.continued_by.get()
    investigated.refresh_from_db()
    assert (investigated.ended, found.code, found.text, found.ended) == (
        "finding",
        "C2",
        "Neutral lost at the joint",
        "",
    )
    assert found.remedy_by is not None


def test_an_fi_that_found_nothing(engineer, qualified, now) -> None:
    remedial, proof = closed("FI", by=engineer)
    accept(proof, qualified, now, finding_code="", finding_text="Sound: the label was wrong")
    assert ended(remedial) == ["finding"]
    assert Observation.objects.count() == 1


def test_each_fi_has_its_own_finding(engineer, qualified, now) -> None:
    remedial, proof = closed("FI", "FI", "C2", by=engineer)
    one, two, _ = remedial.observations.order_by("number")
    with pytest.raises(Refused, match=f"Observation {two.number} is an FI"):
        accept(proof, qualified, now, findings={one.pk: Finding("", "Sound")})
    assert ended(remedial) == ["", "", ""]
    accept(proof, qualified, now, findings={one.pk: Finding("", "Sound"), two.pk: Finding("C3", "Old but sound")})
    assert ended(remedial) == ["finding", "finding", "remedied"]


def test_a_finding_has_a_code_that_a_finding_can_have(engineer, qualified, now) -> None:
    _, proof = closed("FI", by=engineer)
    with pytest.raises(Refused, match="is an FI: say what the investigation found"):
        accept(proof, qualified, now, finding_code="FI", finding_text="Look again")


def test_an_fi_with_another_remedial_to_come_waits_for_that_one(engineer, qualified, now) -> None:
    remedial, proof = closed("FI", by=engineer)
    make_remedial(remedial.observations.get(), stage="approved")
    accept(proof, qualified, now)
    remedial.refresh_from_db()
    assert (remedial.stage, ended(remedial)) == ("reviewed", [""])


# --- reopening --------------------------------------------------------------------------------------------------------


def test_reopen_what_was_reviewed(engineer, office, qualified, now) -> None:
    remedial, proof = closed("C2", by=engineer)
    observation = remedial.observations.get()
    accept(proof, qualified, now)
    with recorded() as told:
        for _ in range(2):
            reopen_remedial(remedial, reason="Came loose again", by=office, now=now)
    for thing in (remedial, observation, proof):
        thing.refresh_from_db()
    assert (remedial.stage, remedial.owner, remedial.step_by) == ("approved", office, TODAY)
    assert (observation.ended, proof.state) == ("", "reopened")
    facts = {"from": "reviewed", "to": "approved", "proofs": [str(proof.pk)], "observations": [str(observation.pk)]}
    assert told[0] == Told("remedial.reopened", remedial.pk, facts, {"reason": "Came loose again"})
    assert [entry.verb for entry in told] == ["remedial.reopened", "observation.reopened"]
    with pytest.raises(Refused, match="cannot be reopened: its stage is approved"):
        reopen_remedial(remedial, reason="Another reason", by=office, now=now)


def test_reopened_work_is_closed_and_reviewed_again(engineer, office, qualified, now) -> None:
    remedial, proof = closed("C2", by=engineer)
    accept(proof, qualified, now)
    reopen_remedial(remedial, reason="Came loose again", by=office, now=now)
    accept(close(remedial, by=engineer), qualified, now)
    assert ended(remedial) == ["remedied"]


def test_reopen_before_the_review(engineer, qualified, now) -> None:
    remedial, proof = closed("C2", by=engineer)
    reopen_remedial(remedial, reason="Wrong board", by=qualified, now=now)
    proof.refresh_from_db()
    assert (proof.state, ended(remedial)) == ("reopened", [""])
    with pytest.raises(Refused, match="does not stand"):
        accept(proof, qualified, now)


def test_reopen_work_of_others(office, now) -> None:
    remedial = on_the_way("C2", stage="to-price")
    done_by_others(remedial, who="Another Firm", reference="1", on=TODAY, by=office, now=now)
    assert ended(remedial) == ["others"]
    reopen_remedial(remedial, reason="Their paper was for next door", by=office, now=now)
    remedial.refresh_from_db()
    assert (remedial.stage, ended(remedial)) == ("to-price", [""])


def test_reopen_what_was_cancelled(office, now) -> None:
    remedial = on_the_way("C2", stage="to-price")
    cancel_remedial(remedial, reason="The house was sold", by=office, now=now)
    reopen_remedial(remedial, reason="Not sold", by=office, now=now)
    remedial.refresh_from_db()
    assert (remedial.stage, remedial.owner) == ("to-price", office)


def test_reopen_leaves_a_finding_alone(engineer, office, qualified, now) -> None:
    remedial, proof = closed("FI", by=engineer)
    accept(proof, qualified, now, finding_code="C3", finding_text="Old but sound")
    reopen_remedial(remedial, reason="More to see", by=office, now=now)
    assert ended(remedial) == ["finding"]


def test_reopen_refuses(engineer, office, now) -> None:
    remedial, _ = closed("C3", by=engineer)
    with pytest.raises(NotAllowed):
        reopen_remedial(remedial, reason="x", by=engineer, now=now)
    with pytest.raises(Refused, match="why it is opened again"):
        reopen_remedial(remedial, reason=" ", by=office, now=now)
    with pytest.raises(Refused, match="cannot be reopened: its stage is approved"):
        reopen_remedial(on_the_way("C3", site=remedial.site), reason="x", by=office, now=now)
