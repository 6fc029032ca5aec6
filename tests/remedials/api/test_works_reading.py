"""What was said and done about remedials, in the API: what it shows, to whom, filtered and by pages."""

import pytest

from remedials.works.models import Proof, ProofPhoto, Waiting
from tests import factories as make
from tests.factories import NOON, TODAY, grant_access, make_item, make_remedial, make_site
from tests.remedials.desk import statements
from tests.remedials.work import ask_reading, close, on_the_way, photo_bytes, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
OF_REMEDIALS = ("approvals", "ways-out", "stints", "power-steps", "proofs", "proof-photos")


def get(client, noun: str, **query) -> list[dict]:
    answer = client.get(f"/api/v1/{noun}/", query)
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def photo_of(remedial, by, shade: int = 90):
    from jobsite.ledger.photographs import store_photograph

    file, picture = store_photograph(photo_bytes(shade), now=NOON)
    size = {"width": picture.width, "height": picture.height}
    return ProofPhoto.objects.create(remedial=remedial, file=file, added_by=by, added_at=NOON, **size)


def one_of_each(by, name: str = "Sample House") -> dict:
    """A remedial and a row of each kind about it, by the word of the address."""
    remedial = on_the_way(site=make_site(name))
    told = make.make_told(remedial, make.make_visit(remedial.site), by=by)
    proof = Proof.objects.create(remedial=remedial, done_by=by, done_at=NOON, note="Cover fitted")
    return {"remedial": remedial, **told, "proofs": proof, "proof-photos": photo_of(remedial, by)}


def test_what_was_said_and_done_by_remedial_and_by_site(client, engineer, office):
    here, there = one_of_each(engineer), one_of_each(engineer, "Elsewhere")
    client.force_login(office)
    for noun in OF_REMEDIALS:
        shown = client.get(f"/api/v1/{noun}/{here[noun].pk}/").json()
        assert (shown["id"], shown["remedial"]) == (str(here[noun].pk), str(here["remedial"].pk))
        assert get(client, noun, remedial=here["remedial"].pk) == [shown]
        assert [row["id"] for row in get(client, noun, site=there["remedial"].site_id)] == [str(there[noun].pk)]
        first = client.get(f"/api/v1/{noun}/?page_size=1").json()
        assert [row["id"] for row in first["results"]] == [str(here[noun].pk)]
        assert [row["id"] for row in client.get(first["next"]).json()["results"]] == [str(there[noun].pk)]
    assert get(client, "stints")[0]["used"] == [{"what": "Cable clips", "quantity": "12.000", "unit": ""}]
    assert get(client, "ways-out", stage="cancelled") == []


def test_sums_are_shown_to_those_who_see_prices(client, engineer, office):
    one_of_each(engineer)
    shown = {}
    for user in (office, engineer):
        client.force_login(user)
        shown[user] = get(client, "approvals")[0]["pounds"]
    assert shown == {office: "480.50", engineer: None}


def test_a_subcontractor_sees_only_what_is_of_their_sites(client, engineer, subcontractor):
    here, there = one_of_each(engineer), one_of_each(engineer, "Elsewhere")
    grant_access(here["remedial"].site, subcontractor)
    client.force_login(subcontractor)
    for noun in OF_REMEDIALS:
        assert [row["id"] for row in get(client, noun)] == [str(here[noun].pk)]
        assert client.get(f"/api/v1/{noun}/{there[noun].pk}/").status_code == 404
    assert client.get(f"/api/v1/proof-photos/{there['proof-photos'].pk}/file/").status_code == 404


def test_what_a_remedial_takes_without_what_it_costs(client, engineer):
    remedial = make_remedial(make.make_observation(make_site()), crew=2, parts_ready_on=TODAY)
    make_item(remedial, "Blanking piece", cost_each="2.00", supplier="A wholesaler", unit="box")
    client.force_login(engineer)
    shown = client.get(f"/api/v1/remedials/{remedial.pk}/").json()
    (item,) = shown["items"]
    assert item | {"id": ""} == {
        "id": "", "kind": "material", "what": "Blanking piece", "quantity": "1.000", "unit": "box",
        "supplier": "A wholesaler", "reference": "",
    }  # fmt: skip
    assert shown["crew"] == 2


def test_remedials_by_owner_words_and_parts(client, engineer, office):
    mine = make_remedial(make.make_observation(make_site("Mill")), owner=engineer, work="Fit a cover")
    late = make_remedial(make.make_observation(make_site("Barn")), owner=None, parts_ready_on=TODAY)
    client.force_login(office)

    def numbers(**query):
        return [row["number"] for row in get(client, "remedials", **query)]

    assert numbers(owner=engineer.pk) == [mine.number]
    assert numbers(nobodys="true") == [late.number]
    assert (numbers(words="cover mill"), numbers(words="cover nowhere")) == ([mine.number], [])
    assert (numbers(parts_after="2026-02-02"), numbers(parts_after="2026-02-03")) == ([late.number], [])


def test_a_proof_with_its_readings_photographs_and_review(client, engineer, qualified):
    remedial = on_the_way("C2")
    photo = photo_of(remedial, engineer)
    reading = take(ask_reading(remedial), "0.9", by=engineer)
    proof = close(remedial, by=engineer, readings=[reading], certificate_number="MW-7")
    client.force_login(qualified)
    (shown,) = get(client, "proofs", state="stands", reviewed="false")
    assert (shown["photos"], shown["readings"], shown["review"]) == ([str(photo.pk)], [str(reading.pk)], None)
    assert (shown["done_by"], shown["certificate_number"]) == (str(engineer.pk), "MW-7")
    assert get(client, "proof-photos", proof=proof.pk)[0]["id"] == str(photo.pk)
    assert get(client, "proofs", reviewed="true") == []


def test_the_files_of_a_proof(client, engineer):
    from jobsite.ledger.files import store_file

    rows = one_of_each(engineer)
    client.force_login(engineer)
    proof, at = rows["proofs"], f"/api/v1/proofs/{rows['proofs'].pk}/certificate/"
    assert client.get(at).status_code == 404
    proof.certificate_file = store_file(b"%PDF-1.7 theirs", media_type="application/pdf", now=NOON)
    proof.save()
    answer = client.get(at)
    assert (answer.content, answer["Content-Type"]) == (b"%PDF-1.7 theirs", "application/pdf")
    name = f"certificate-of-remedial-{rows['remedial'].number}.pdf"
    assert answer["Content-Disposition"] == f'attachment; filename="{name}"'
    picture = client.get(f"/api/v1/proof-photos/{rows['proof-photos'].pk}/file/", headers={"accept": "image/jpeg"})
    assert (picture["Content-Type"], picture.content[:3]) == ("image/jpeg", b"\xff\xd8\xff")


def test_what_waits_and_what_waited(client, office, engineer, site):
    remedial = make_remedial(make.make_observation(site))
    usual = {"site": site, "on_whom": "N", "for_what": "f", "asked_on": TODAY, "recorded_by": office}
    open_one = Waiting.objects.create(remedial=remedial, chase_on=TODAY, owner=engineer, **usual)
    ended = Waiting.objects.create(
        observation=remedial.observations.get(), chase_on=TODAY, ended_at=NOON, ended_how="It came", **usual
    )
    client.force_login(engineer)

    def keys(**query):
        return [row["id"] for row in get(client, "waiting", **query)]

    assert keys() == [str(open_one.pk), str(ended.pk)]
    assert (keys(open="true"), keys(open="false")) == ([str(open_one.pk)], [str(ended.pk)])
    assert keys(owner=engineer.pk, remedial=remedial.pk, chase_until="2026-02-03") == [str(open_one.pk)]
    assert keys(chase_until="2026-02-02") == []
    assert client.get(f"/api/v1/waiting/{ended.pk}/").json()["ended_how"] == "It came"


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(
    ("noun", "cost"), [("approvals", 3), ("ways-out", 3), ("stints", 4), ("power-steps", 3), ("proofs", 5), ("proof-photos", 3)]
)  # fmt: skip
def test_lists_cost_the_same_at_any_size(client, engineer, noun, cost, count):
    for number in range(count):
        one_of_each(engineer, f"Site {number}")
    client.force_login(engineer)
    with statements() as sql:
        assert len(get(client, noun)) == count
    assert len(sql) == cost
