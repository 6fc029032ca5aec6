"""Pages on which something is done about an observation: taken in, made safe, told of, photographed, read."""

from datetime import date

import pytest

from inspections.models import DangerNotice, MadeSafe, Observation
from jobsite.ids import new_id
from tests import factories as make
from tests.factories import picture

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
TODAY = date(2026, 2, 3)


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def test_somebody_rang(as_, office, site, board) -> None:
    make.make_site("Elsewhere")
    circuit, client = make.make_circuit(board, 3), as_(office)
    found = client.get("/rang/", {"q": "kiln"}, headers={"HX-Request": "true"})
    assert f"/rang/?site={site.pk}" in text_of(found)
    assert "Elsewhere" not in text_of(found)
    values = {"id": str(new_id()), "reported_by": "the tenant", "text": "Sparks", "board": str(board.pk), "way": "3"}
    response = client.post(f"/rang/?site={site.pk}", values)
    seen = Observation.objects.get()
    assert response.headers["Location"] == f"/observations/{seen.pk}/"
    assert (seen.circuit, seen.code, seen.owner, seen.step_by) == (circuit, "", office, TODAY)


def test_somebody_rang_about_something_that_may_be_dangerous_now(as_, office, site) -> None:
    client, address = as_(office), f"/rang/?site={site.pk}"
    assert "keep away and keep others away" in text_of(client.get(address))
    values = {"id": str(new_id()), "reported_by": "the tenant", "text": "Sparks", "step_by": "9 Feb 2026"}
    shown = text_of(client.post(address, values | {"may_be_dangerous": "on"}, follow=True))
    seen = Observation.objects.get()
    assert (seen.may_be_dangerous, seen.code, seen.step_by) == (True, "", TODAY)
    assert "have somebody competent ring back at once" in shown
    assert "It may be dangerous now</strong>, by what was reported" in shown
    assert shown.count("keep away and keep others away") == 1


def test_somebody_rang_about_no_site(as_, office, site) -> None:
    client = as_(office)
    for key in ("nonsense", str(new_id())):
        assert client.get("/rang/", {"site": key}).status_code == 404
    assert "No site that you can see" in text_of(client.get("/rang/", {"q": "zzz %_ \\"}))


def test_the_next_step_is_given(as_, office, engineer, site) -> None:
    seen = make.make_observation(site)
    path, client = f"/observations/{seen.pk}/take-on/", as_(office)
    assert "Who has the next step" in text_of(client.get(path))
    past = client.post(path, {"owner": str(engineer.pk), "step_by": "2 Feb 2026"})
    assert past.status_code == 422
    assert "This day is past" in text_of(past)
    done = client.post(path, {"owner": str(engineer.pk), "step_by": "4 Feb 2026", "next": f"/sites/{site.pk}/"})
    seen.refresh_from_db()
    assert (done.headers["Location"], seen.owner) == (f"/sites/{site.pk}/", engineer)


def test_made_safe_looked_at_again_and_reconnected(as_, engineer, site) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    seen = make.make_observation(site, code="C1")
    client, base = as_(engineer), f"/observations/{seen.pk}"
    shown = text_of(client.get(f"{base}/make-safe/"))
    assert "the defect stays open until it is remedied" in shown
    assert 'value="2026-02-10"' in shown  # look again by the firm's policy, 7 days on
    values = {
        "id": str(new_id()),
        "done_by": str(engineer.pk),
        "done_at": "2026-02-03T11:30",
        "how": "locked",
        "what": "MCB 4",
        "agreed_with": "the owner",
        "look_again_on": "2026-02-10",
    }
    refused = client.post(f"{base}/make-safe/", values)
    assert refused.status_code == 422
    assert "Say who holds the key of the lock." in text_of(refused)
    photo = SimpleUploadedFile("p.png", picture())
    client.post(f"{base}/make-safe/", values | {"key_holder": "Edwin", "photo": photo})
    made = MadeSafe.objects.get()
    assert client.get(f"/made-safe/{made.pk}/photo/").headers["Content-Type"] == "image/jpeg"
    look = {"id": str(new_id()), "look_again_on": "2026-02-17", "note": "the lock is on"}
    looking = text_of(client.get(f"{base}/look-again/"))
    assert 'name="id"' in looking
    assert f'<a class="button" href="{base}/reconnect/">It no longer holds</a>' in looking
    client.post(f"{base}/look-again/", look)
    made.refresh_from_db()
    assert made.look_again_on == date(2026, 2, 17)
    client.post(f"{base}/reconnect/", {"reason": "the tenant"})
    seen.refresh_from_db()
    assert (seen.made_safe, seen.code) == (False, "C1")
    for gone in ("look-again", "reconnect"):
        assert client.get(f"{base}/{gone}/").status_code == 404


def test_a_danger_notice_and_its_answer(as_, engineer, site) -> None:
    c1, c2 = make.make_observation(site, code="C1"), make.make_observation(site, code="C2")
    make.make_observation(site, "Old colours", code="C3")
    client, path = as_(engineer), f"/observations/{c1.pk}/notice/"
    assert "Old colours" not in text_of(client.get(path))
    values = {"id": str(new_id()), "observations": [str(c1.pk), str(c2.pk)], "why": "Live parts", "how": "hand"}
    refused = client.post(path, values | {"advised": "Leave it off"})
    assert (refused.status_code, DangerNotice.objects.count()) == (422, 0)
    client.post(path, values | {"advised": "Leave it off", "given_to": "the owner"})
    notice = DangerNotice.objects.get()
    assert set(notice.observations.all()) == {c1, c2}
    assert f"/notices/{notice.pk}/answer/" in text_of(client.get(path))
    client.post(f"/notices/{notice.pk}/answer/", {"answer": "refused"})
    notice.refresh_from_db()
    assert notice.answer == "refused"
    assert "refused 3 Feb 2026, 12:00" in text_of(client.get(path))


def test_photos_are_kept_and_served_to_those_who_see_the_site(as_, engineer, site) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    seen = make.make_observation(site)
    client = as_(engineer)
    wrong = client.post(f"/observations/{seen.pk}/photos/new/", {"photo": SimpleUploadedFile("x.jpg", b"<html>")})
    assert wrong.status_code == 422
    assert "This file is not a photo that can be read" in text_of(wrong)
    client.post(f"/observations/{seen.pk}/photos/new/", {"photo": SimpleUploadedFile("x.png", picture())})
    photo = seen.photos.get()
    served = client.get(f"/photos/{photo.pk}/")
    assert served.content.startswith(b"\xff\xd8")
    assert served.headers["Cache-Control"] == "private, max-age=86400, immutable"
    assert f'src="/photos/{photo.pk}/"' in text_of(client.get(f"/observations/{seen.pk}/review/"))
    stranger = make.make_user("Sam Subworth", "engineer", subcontractor=True)
    assert as_(stranger).get(f"/photos/{photo.pk}/").status_code == 404
    make.grant_access(site, stranger)
    assert as_(stranger).get(f"/photos/{photo.pk}/").status_code == 200


def test_the_office_is_asked_who_made_it_safe(as_, office, engineer, site) -> None:
    seen = make.make_observation(site, code="C1")
    base, hour = f"/observations/{seen.pk}", "2026-02-03T09:00"
    client = as_(office)
    assert f'<option value="{office.pk}" selected>' not in text_of(client.get(f"{base}/make-safe/"))
    assert f'<option value="{engineer.pk}" selected>' in text_of(as_(engineer).get(f"{base}/make-safe/"))
    client = as_(office)
    values = {"id": str(new_id()), "how": "covered", "what": "Taped", "agreed_with": "the owner", "done_at": hour}
    values |= {"look_again_on": "2026-02-10", "no_photo": "too dark"}
    assert client.post(f"{base}/make-safe/", values).status_code == 422
    client.post(f"{base}/make-safe/", values | {"done_by": str(engineer.pk)})
    shown = text_of(client.get(base + "/"))
    assert "Taped; Edwin Wireman, 3 Feb 2026, 09:00" in shown
    assert shown.count("The firm has no competence on record for Edwin Wireman on 3 Feb 2026") == 2
    assert "The firm has no competence on record" in text_of(client.get(f"{base}/look-again/"))
