"""The page of a draft: typed one after another, changed in place, quick with three hundred observations."""

import gzip

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections import operations
from inspections.models import Observation, ObservationPhoto
from inspections.standards.readings import Quantity, read
from jobsite.ids import new_id
from tests import factories as make
from tests.inspections.test_pages_entering import text_of
from tests.remedials.desk import text_of as words_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
IN_PLACE = {"HTTP_HX_REQUEST": "true"}


def typed(**fields):
    return {"id": str(new_id()), "text": "Cover missing", "code": "C2"} | fields


def statements(client, method: str, *args, **kwargs):
    """The answer and how many statements it took."""
    with CaptureQueriesContext(
        connection,
    ) as told:
        answer = getattr(client, method)(*args, **kwargs)
    return answer, len(told)


def test_a_draft_stays_quick_with_three_hundred(as_, qualified, start, note, board) -> None:
    draft, client = start(), as_(qualified)
    path = f"/inspections/{draft.pk}/"

    def sizes() -> tuple[int, int, int, int]:
        shown, reading = statements(client, "get", path)
        answer, saving = statements(client, "post", path, typed(board="Hall"), **IN_PLACE)
        assert answer.status_code == 200
        return reading, saving, len(gzip.compress(shown.content)), len(answer.content)

    note(draft)
    few = sizes()
    original = draft.observations.first()
    for n in range(298):
        original.pk, original.number, original.text = new_id(), 5000 + n, f"Socket {n} cracked at the back wall"
        original._state.adding = True
        original.save()
    many = sizes()
    assert many[:2] == few[:2]
    assert few[:2] == (19, 25)
    assert many[2] < 30_000  # bytes of the page over the wire
    assert many[3] < 4_000  # of the answer to one more observation


def test_photos_come_with_the_observation_in_one_save(as_, qualified, start) -> None:
    draft, client = start(), as_(qualified)

    def pictures():
        return [SimpleUploadedFile(f"{c}.png", make.picture(c), "image/png") for c in ("red", "blue")]

    values = typed()
    answer = client.post(f"/inspections/{draft.pk}/", values | {"photos": pictures()}, **IN_PLACE, HTTP_X_KEPT="me:1")
    assert (answer.status_code, answer.headers["X-Saved"]) == (200, "me:1")
    assert "2 photos" in text_of(answer)
    again = client.post(f"/inspections/{draft.pk}/", values | {"photos": pictures()}, **IN_PLACE, HTTP_X_KEPT="me:1")
    assert again.headers["X-Saved"] == "me:1"
    assert (Observation.objects.count(), ObservationPhoto.objects.count()) == (1, 2)


def test_what_is_no_photo_keeps_the_observation_from_being_saved(as_, qualified, start) -> None:
    draft, client = start(), as_(qualified)
    wrong = SimpleUploadedFile("x.png", b"no picture", "image/png")
    answer = client.post(f"/inspections/{draft.pk}/", typed(photos=[wrong]), **IN_PLACE, HTTP_X_KEPT="me:1")
    assert answer.status_code == 422
    assert "X-Saved" not in answer.headers
    assert "This file is not a photo that can be read" in text_of(answer)
    assert "<html" not in text_of(answer)
    assert Observation.objects.count() == 0


def test_sent_again_after_the_issue_it_is_still_saved(as_, qualified, start, now) -> None:
    """The answer was lost, somebody issued the report, the device sends again: it must be told that it is saved."""
    draft, client, values = start(), as_(qualified), typed()
    client.post(f"/inspections/{draft.pk}/", values)
    operations.issue_inspection(draft, by=qualified, now=now)
    again = operations.note_observation(
        draft, id=Observation.objects.get().pk, unit=draft.units.get(), text="Cover missing", code="C2", by=qualified, now=now
    )  # fmt: skip
    assert again == Observation.objects.get()


def test_typed_for_a_draft_that_was_issued_meanwhile_it_is_refused_in_a_sentence(as_, qualified, start, now) -> None:
    draft, client, values = start(), as_(qualified), typed()
    path = f"/inspections/{draft.pk}/"
    client.post(path, values)
    operations.issue_inspection(draft, by=qualified, now=now)
    again = client.post(path, values, **IN_PLACE, HTTP_X_KEPT="me:1")
    assert again.headers["X-Saved"] == "me:1"  # only the answer got lost
    for headers in (IN_PLACE, {}):
        late = client.post(path, typed(text="Loose lid"), **headers, HTTP_X_KEPT="me:2")
        assert (late.status_code, "X-Saved" in late.headers) == (409, False)
        assert "The report was issued meanwhile and does not change any more." in text_of(late)
    change = client.post(f"/observations/{Observation.objects.get().pk}/change/", typed(version=1), HTTP_X_KEPT="me:3")
    assert (change.status_code, "X-Saved" in change.headers) == (409, False)
    assert [row.text for row in Observation.objects.all()] == ["Cover missing"]


def test_signed_out_the_device_is_answered_by_the_page_it_knows(client, start) -> None:
    """By this field the device tells that somebody must sign in again, and waits with all that it keeps."""
    answer = client.post(f"/inspections/{start().pk}/", typed(), **IN_PLACE, HTTP_X_KEPT="me:1", follow=True)
    assert 'name="password"' in answer.content.decode()


def test_nothing_kept_goes_out_in_somebody_elses_name(as_, qualified, office, start) -> None:
    draft = start()
    answer = as_(qualified).post(f"/inspections/{draft.pk}/", typed(), **IN_PLACE, HTTP_X_PERSON=str(office.pk))
    assert answer.status_code == 403
    assert "Somebody else signed in on this device meanwhile." in text_of(answer)
    assert Observation.objects.count() == 0


def test_a_board_and_a_circuit_are_typed(as_, qualified, start, site, board) -> None:
    garage = make.make_board(site, "Garage 1")
    make.make_board(site, "Garage 2")
    cooker = make.make_circuit(board, 5, designation="Cooker")
    make.make_circuit(board, 6, designation="Sockets, kitchen")
    make.make_circuit(board, 7, designation="Sockets, hall")
    draft, client = start(), as_(qualified)
    path = f"/inspections/{draft.pk}/"
    assert client.post(path, typed(board="ha", way="cook"), **IN_PLACE).status_code == 200
    assert client.post(path, typed(board="garage 1"), **IN_PLACE).status_code == 200
    one, other = Observation.objects.order_by("number")
    assert (one.board, one.circuit, other.board) == (board, cooker, garage)
    unclear = text_of(client.post(path, typed(board="gar"), **IN_PLACE))
    assert "“gar” may be Garage 1, Garage 2: type more of it." in unclear
    none = text_of(client.post(path, typed(board="Attic"), **IN_PLACE))
    assert "No board here is called “Attic”. Those here: Garage 1, Garage 2, Hall." in none
    several = text_of(client.post(path, typed(board="Hall", way="sock"), **IN_PLACE))
    assert "“sock” may be 6L1 Sockets, kitchen, 7L1 Sockets, hall: write the way." in several


def test_ways_are_offered_for_the_board_that_was_typed(as_, qualified, site, board) -> None:
    make.make_circuit(board, 5, designation="Cooker")
    client = as_(qualified)
    assert text_of(client.get(f"/sites/{site.pk}/ways/?board=ha")) == '<option value="5L1" label="Cooker"></option>'
    assert text_of(client.get(f"/sites/{site.pk}/ways/?board=attic")) == ""


def test_rows_stand_in_the_order_of_the_report(as_, qualified, start, note) -> None:
    draft = start()
    for item in ("10", "", "2", "4.10", "4.2"):
        note(draft, text=f"Item “{item}”", item=item)
    shown = text_of(as_(qualified).get(f"/inspections/{draft.pk}/"))
    places = [shown.index(f"Item “{item}”") for item in ("2", "4.2", "4.10", "10", "")]
    assert places == sorted(places)


def test_a_row_is_changed_in_its_place(as_, qualified, start, note) -> None:
    draft = start()
    seen, client = note(draft), as_(qualified)
    opened = text_of(client.get(f"/observations/{seen.pk}/change/", **IN_PLACE))
    assert opened.startswith(f'<tr id="o-{seen.pk}">')
    answer = client.post(
        f"/observations/{seen.pk}/change/", {"text": "Lid off", "code": "C1", "version": "1"}, **IN_PLACE
    )
    assert "Lid off" in text_of(answer)
    assert "is a C1: not made safe" in text_of(answer)
    stale = client.post(f"/observations/{seen.pk}/change/", {"text": "x", "code": "C1", "version": "1"}, **IN_PLACE)
    assert stale.status_code == 422
    assert "Saved by somebody else: <strong>Lid off</strong>" in text_of(stale)


def test_the_next_item_of_a_paper_report_is_counted_on(as_, office, start, note) -> None:
    draft = start(other_firm=True)
    note(draft, item="11")
    shown = text_of(as_(office).get(f"/inspections/{draft.pk}/"))
    assert 'name="item" value="12"' in shown


def test_readings_of_its_boards_are_a_step_away_with_the_report_chosen(as_, qualified, start, site, board, now) -> None:
    circuit = make.make_circuit(board, way=1)
    other, tool, client = make.make_board(site, "Garage"), make.make_instrument(), as_(qualified)
    draft = start(boards=[board])
    path, table = f"/inspections/{draft.pk}/", f"/boards/{board.pk}/readings/?inspection={draft.pk}"
    page = client.get(path)
    assert f'href="{table}"' in page.content.decode()
    assert str(other.pk) not in page.content.decode().split('id="readings"')[1].split("</section>")[0]
    assert f"Readings of {board} none taken yet" in words_of(page)
    shown = client.get(table)
    assert f'<option value="{draft.pk}" selected>' in shown.content.decode()
    assert f'href="{path}"' in shown.content.decode()
    assert f"/readings/new/?inspection={draft.pk}" in shown.content.decode()
    taken = {"quantity": Quantity.INSULATION, "value": read(Quantity.INSULATION, "120"), "instrument": tool}
    operations.take_reading(circuit, id=new_id(), inspection=draft, by=qualified, now=now, **taken)
    assert f"Readings of {board} 1 reading" in words_of(client.get(path))


def test_a_report_that_names_no_board_leads_to_those_that_are_there(as_, qualified, start, site, board) -> None:
    make.make_board(site, "Garage")
    shown = words_of(as_(qualified).get(f"/inspections/{start(boards=[]).pk}/"))
    assert "Readings of Garage none taken yet" in shown
    assert f"Readings of {board} none taken yet" in shown


def test_another_firms_report_and_a_site_without_a_board_lead_to_no_readings(as_, office, qualified, start) -> None:
    theirs = start(other_firm=True)
    assert 'id="readings"' not in as_(office).get(f"/inspections/{theirs.pk}/").content.decode()
    bare = start(boards=[])
    bare.site.boards.update(retired_at=bare.recorded_at)
    assert "No board is recorded at this site" in words_of(as_(qualified).get(f"/inspections/{bare.pk}/"))
