"""The page "found something else": what it offers, what it presets, what it says when something is wrong."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inspections.models import DangerNotice, MadeSafe, Observation
from jobsite.ids import new_id
from tests import factories as make
from tests.factories import TODAY, picture

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def values(board):
    def typed(**more):
        usual = {
            "id": str(new_id()),
            "text": "Socket scorched",
            "board": str(board.pk),
            "code": "C2",
            "safe_how": "locked",
        }
        usual |= {"notice_how": "hand", "advised": "Do not use it.", "key_holder": "Evan"}
        return usual | {"look_again_on": (TODAY + timedelta(days=7)).isoformat()} | more

    return typed


@pytest.fixture
def address(site):
    return f"/sites/{site.pk}/found/"


def photo():
    return SimpleUploadedFile("p.png", picture(), "image/png")


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def test_it_is_noted_with_its_photos_and_answers_with_the_way_back(as_, engineer, site, board, address, values):
    visit = make.make_visit(site, engineers=[engineer])
    client = as_(engineer)
    shown = client.get(f"{address}?visit={visit.pk}")
    assert f'name="visit" value="{visit.pk}"' in shown.content.decode()
    answer = client.post(address, values(visit=str(visit.pk), photos=photo()), headers={"X-Kept": "a:b"})
    assert answer.headers["Location"] == f"/visits/{visit.pk}/"
    assert answer.headers["X-Saved"] == "a:b"
    made = Observation.objects.get()
    assert (made.code, made.board, made.reviewed, made.photos.count()) == ("C2", board, False, 1)
    assert "Noted as observation" in text_of(client.get(f"/observations/{made.pk}/"))


def test_a_danger_with_what_was_made_safe_and_the_notice(as_, engineer, address, values):
    more = {
        "code": "C1",
        "made_safe": "on",
        "safe_what": "Way 7 locked off",
        "agreed_with": "Vera Invented",
        "notice": "on",
    }
    answer = as_(engineer).post(address, values(**more, safe_photo=photo()))
    made = Observation.objects.get()
    assert answer.headers["Location"] == f"/observations/{made.pk}/"
    held, notice = MadeSafe.objects.get(), DangerNotice.objects.get()
    assert (held.what, held.photo is not None, made.made_safe) == ("Way 7 locked off", True, True)
    assert (notice.given_to, notice.why) == ("Vera Invented", "Socket scorched"), "told whoever agreed, unless named"


def test_the_defaults_of_the_danger_do_nothing_unless_it_was_done(as_, engineer, address, values):
    as_(engineer).post(address, values(code="C1"))
    assert not MadeSafe.objects.exists()
    assert not DangerNotice.objects.exists()


def test_a_danger_left_as_it_is_says_to_ring_the_office(as_, engineer, address, values):
    shown = text_of(as_(engineer).post(address, values(code="C1"), follow=True))
    assert "ring the office now" in shown


def test_a_remedial_presets_where_one_stands(as_, engineer, site, board, address):
    circuit = make.make_circuit(board, 3)
    remedial = make.make_remedial(make.make_observation(site, "Loose", board=board, circuit=circuit), stage="approved")
    shown = as_(engineer).get(f"{address}?remedial={remedial.pk}").content.decode()
    assert f'<option value="{board.pk}" selected>' in shown
    assert f'<option value="{circuit.pk}" selected>' in shown
    assert f'data-hold-then="/remedials/{remedial.pk}/close/"' in shown or f"/remedials/{remedial.pk}/close/" in shown


def test_what_belongs_to_another_site_presets_nothing(as_, engineer, address):
    elsewhere = make.make_visit(make.make_site("Elsewhere"), engineers=[engineer])
    shown = as_(engineer).get(f"{address}?visit={elsewhere.pk}&remedial=nonsense").content.decode()
    assert str(elsewhere.pk) not in shown


def test_what_is_wrong_stands_beside_its_field_and_nothing_typed_is_lost(as_, engineer, address, values):
    answer = as_(engineer).post(address, values(code="C1", made_safe="on", safe_what="Way 7 off"))
    assert answer.status_code == 422
    assert "Say which duty-holder agreed to it." in text_of(answer)
    assert "Way 7 off" in text_of(answer)
    answer = as_(engineer).post(
        address, values(code="C1", made_safe="on", safe_what="Way 7 off", agreed_with="Vera")
    )  # neither a photo nor why not
    assert answer.status_code == 422
    assert "Add a photograph of it" in text_of(answer)
    assert not Observation.objects.exists()


def test_a_circuit_of_another_board_is_asked_about(as_, engineer, site, address, values):
    other = make.make_circuit(make.make_board(site, "Garage"), 1)
    answer = as_(engineer).post(address, values(circuit=str(other.pk)))
    assert answer.status_code == 422
    assert "This circuit is on Garage" in text_of(answer)


def test_who_is_not_on_record_as_qualified_is_told_what_becomes_of_the_code(as_, engineer, qualified, address):
    told = "a qualified person looks at it afterwards"
    assert told in text_of(as_(engineer).get(address))
    assert told not in text_of(as_(qualified).get(address))


def test_its_statements_do_not_grow_with_the_site(as_, engineer, site, board, address, django_assert_num_queries):
    client = as_(engineer)
    client.get(address)
    with django_assert_num_queries(8):
        client.get(address)
    for n in range(12):
        for way in range(1, 9):
            make.make_circuit(make.make_board(site, f"B{n}") if way == 1 else site.boards.get(designation=f"B{n}"), way)
    with django_assert_num_queries(8):
        shown = client.get(address).content.decode()
    assert shown.count("<optgroup") == 12
