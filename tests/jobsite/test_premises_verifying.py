"""What is verified, by whom and how; a slip taken back; the page in front of the board; the list of disagreements."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.premises import operations
from jobsite.premises.models import Verification
from jobsite.refused import ChangedMeanwhile, Refused
from tests import factories as make
from tests.factories import TODAY, recorded
from tests.jobsite.premises import posted, refusal, text_of
from tests.remedials.desk import statements

pytestmark = pytest.mark.django_db
UNSEEN = {"designation": "", "verified_how": "", "verified_on": None}


@pytest.fixture
def board(site):
    return make.make_board(site, "Hall")


@pytest.fixture
def way(board):
    return make.make_circuit(board, 4, label_found="Cooker", **UNSEEN)


def say(row, designation="Cooker", how="switched", version=1, **who):
    return operations.verify(row, id=new_id(), designation=designation, how=how, version=version, **who)


# --- operations -------------------------------------------------------------------------------------------------------


def test_a_way_is_verified_once_however_often_it_is_sent(way, worker, engineer) -> None:
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            row = operations.verify(way, id=key, designation="Cooker", how="switched", version=1, **worker)
    assert (row.designation, row.verified_how, row.verified_by, row.verified_on) == (
        "Cooker", "switched", engineer, TODAY,
    )  # fmt: skip
    assert [(t.verb, t.subject, t.facts["verification"]) for t in told] == [
        ("circuit.verified", row.pk, str(key))
    ]  # fmt: skip
    assert told[0].words == {"designation": "Cooker"}
    kept = Verification.objects.get()
    assert (kept.pk, kept.circuit, kept.how, kept.by, kept.how_before) == (key, row, "switched", engineer, "")


def test_verified_again_the_same_is_a_new_day(way, worker, engineer) -> None:
    row = say(way, **worker)
    later = worker | {"now": worker["now"] + timedelta(days=400)}
    row = say(row, version=row.version, **later)
    assert row.verified_on == TODAY + timedelta(days=400)
    assert Verification.objects.count() == 2


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        ({"how": ""}, ("Say how it was verified.", "verified_how")),
        ({"designation": ""}, ("Enter the designation that was verified.", "designation")),
    ],
)
def test_verifying_says_what_and_how(way, worker, told, sentence) -> None:
    with recorded() as entries, pytest.raises(Refused) as raised:
        say(way, **told, **worker)
    assert refusal(raised) == sentence
    assert entries == []


def test_two_people_at_one_way(way, worker, office) -> None:
    say(way, **worker | {"by": office})
    with pytest.raises(ChangedMeanwhile) as raised:
        say(way, "Shower", version=1, **worker)
    assert raised.value.theirs.designation == "Cooker"


def test_two_people_who_say_the_same_both_stand(way, worker, office) -> None:
    say(way, **worker)
    row = say(way, version=1, **worker | {"by": office})
    assert (row.designation, row.verified_by) == ("Cooker", office)
    assert [v.by for v in Verification.objects.order_by("at", "pk")] == [worker["by"], office]


def test_what_a_phone_says_later_has_its_own_time_and_the_later_day_stays(way, worker, office) -> None:
    seen = worker["now"] - timedelta(days=2)
    row = say(way, made_at=seen, **worker)
    assert row.verified_on == TODAY - timedelta(days=2)
    assert [(v.done_at, v.at) for v in Verification.objects.all()] == [(seen, worker["now"])]
    say(way, version=2, **worker)
    row = say(way, version=2, made_at=seen, **worker | {"by": office})
    assert (row.verified_by, row.verified_on) == (worker["by"], TODAY)
    assert Verification.objects.filter(by=office, done_at=seen).count() == 1


def test_one_person_without_signal_goes_on_from_the_page_as_it_was(way, worker) -> None:
    operations.edit_circuit(way, version=1, over_own=True, spare=False, blanked=True, **worker)
    say(way, **worker)
    row = say(way, "Hob", version=1, **worker)
    assert (row.designation, row.blanked, row.version) == ("Hob", True, 4)


def test_own_changes_hide_nobody_elses(way, worker, office) -> None:
    say(way, **worker)
    say(way, "Shower", version=2, **worker | {"by": office})
    say(way, "Cooker and hob", version=3, **worker)
    for version in (1, 2):
        with pytest.raises(ChangedMeanwhile):
            say(way, "Hob", version=version, **worker)
    assert say(way, "Hob", version=3, **worker).designation == "Hob"
    with pytest.raises(ChangedMeanwhile):
        say(way, "Hoist", version=9, **worker)


def test_a_full_form_is_never_saved_over_what_the_same_person_said_meanwhile(way, worker) -> None:
    say(way, **worker)
    with pytest.raises(ChangedMeanwhile):
        operations.edit_circuit(way, version=1, designation="", verified_how="", **worker)


def test_a_key_that_is_used_twice_loses_nothing(way, worker) -> None:
    key = new_id()
    operations.verify(way, id=key, designation="Cooker", how="switched", version=1, **worker)
    with pytest.raises(Refused, match="already used for something else"):
        operations.verify(way, id=key, designation="Hob", how="switched", version=2, **worker)


def test_editing_keeps_what_was_verified_too(way, worker) -> None:
    operations.edit_circuit(way, version=1, designation="Hob", verified_how="traced", **worker)
    assert [(v.designation, v.how, v.circuit) for v in Verification.objects.all()] == [("Hob", "traced", way)]
    way.refresh_from_db()
    operations.edit_circuit(way, version=2, points=3, **worker)
    assert Verification.objects.count() == 1


def test_a_new_label_is_stamped_and_an_old_one_keeps_its_stamp(way, worker, engineer) -> None:
    row = operations.edit_circuit(way, version=1, label_found="Cooker and hob", **worker)
    assert (row.label_noted_by, row.label_noted_on) == (engineer, TODAY)
    later = worker | {"now": worker["now"] + timedelta(days=9)}
    assert operations.edit_circuit(row, version=2, points=2, **later).label_noted_on == TODAY
    row.refresh_from_db()
    row = operations.edit_circuit(row, version=3, label_found="", **later)
    assert (row.label_noted_by, row.label_noted_on) == (None, None)


def test_taking_back_puts_back_what_stood_before(way, worker, engineer) -> None:
    make.make_verification(way, "Cooker")
    way.refresh_from_db()
    slip = new_id()
    later = worker | {"now": worker["now"] + timedelta(hours=1)}
    operations.verify(way, id=slip, designation="Shower", how="told", version=way.version, **later)
    with recorded() as told:
        for _ in range(2):
            row = operations.take_back_verification(Verification.objects.get(pk=slip), **later)
    assert (row.designation, row.verified_how, row.verified_on) == ("Cooker", "traced", TODAY)
    assert [t.verb for t in told] == ["verification.taken-back"]
    assert Verification.objects.get(pk=slip).taken_back_by == engineer


def test_what_was_changed_since_is_not_taken_back(way, worker) -> None:
    say(way, **worker)
    kept = Verification.objects.get()
    way.refresh_from_db()
    operations.edit_circuit(way, version=way.version, designation="Hob", verified_how="", **worker)
    with pytest.raises(Refused, match="correct it instead"):
        operations.take_back_verification(kept, **worker)


def test_a_board_entered_as_verified_keeps_its_name_when_that_is_taken_back(site, worker) -> None:
    fields = {"place": "hall", "phases": ["L1"], "designation": "Hall", "verified_how": "read"}
    row = operations.add_board(site, id=new_id(), **fields, **worker)
    row = operations.take_back_verification(Verification.objects.get(board=row), **worker)
    assert (row.designation, row.designation_verified, row.verified_how) == ("Hall", False, "")


def test_a_board_taken_back_is_believed_again(site, worker) -> None:
    board = make.make_board(site, "Shed", designation_verified=False, verified_on=None, verified_how="")
    row = say(board, "Shed", **worker)
    assert row.designation_verified
    row = operations.take_back_verification(Verification.objects.get(), **worker)
    assert (row.designation, row.designation_verified, row.verified_on) == ("Shed", False, None)


def test_a_stranger_verifies_nothing(way, now) -> None:
    with recorded() as told, pytest.raises(Refused):
        say(way, by=make.make_user("Sol Sight", "engineer", subcontractor=True), now=now)
    assert told == []


# --- in front of the board --------------------------------------------------------------------------------------------


def where(board, query: str = "") -> str:
    return reverse("premises:at_the_board", args=[board.pk]) + query


def test_the_page_shows_label_and_fact_way_by_way(on_site, board, way, worker) -> None:
    make.make_circuit(board, 5, spare=True, **UNSEEN)
    make.make_verification(make.make_circuit(board, 6), "Boiler", by=worker["by"])
    page = on_site.get(where(board))
    shown = text_of(page)
    assert "1 of 2 ways verified" in shown
    assert "next: way 4L1" in shown
    assert "Spare and not blanked: way 5L1. Live parts may be within reach." in shown
    assert "verified by Edwin Wireman on 3 Feb 2026: traced" in shown
    tap = re.search(r"<button[^>]*data-tap=.Cooker.[^>]*>", page.content.decode())[0]
    assert " hidden" in tap  # nobody has said yet how they know
    assert " hidden" not in re.search(
        r"<button[^>]*data-tap=.Cooker.[^>]*>", on_site.get(where(board, "?how=read")).content.decode()
    )[0]  # fmt: skip


def test_an_empty_board_says_what_to_do(on_site, board) -> None:
    assert "No way entered yet" in text_of(on_site.get(where(board)))


def test_one_tap_where_the_label_is_true(on_site, board, way) -> None:
    page = on_site.get(where(board, "?how=switched"))
    assert "It is what the label says on way 4L1" in text_of(page)
    fields = {"id": str(new_id()), "version": "1", "designation": "Cooker", "verified_how": "switched"}
    answer = on_site.post(reverse("premises:circuit_verify", args=[way.pk]), fields)
    assert answer["Location"] == where(board, f"?how=switched#way-{way.pk}")
    way.refresh_from_db()
    assert (way.designation, way.verified_how) == ("Cooker", "switched")


def test_on_to_the_next_that_nobody_verified(on_site, board, way) -> None:
    later = make.make_circuit(board, 9, label_found="Lights", **UNSEEN)
    fields = {"id": str(new_id()), "version": "1", "designation": "Cooker", "verified_how": "traced"}
    answer = on_site.post(reverse("premises:circuit_verify", args=[way.pk]), fields)
    assert answer["Location"].endswith(f"#way-{later.pk}")


def test_by_htmx_the_way_comes_back_with_the_progress(on_site, board, way) -> None:
    fields = {"id": str(new_id()), "version": "1", "designation": "Hob", "verified_how": "read"}
    answer = on_site.post(
        reverse("premises:circuit_verify", args=[way.pk]), fields, headers={"HX-Request": "true"}
    )  # fmt: skip
    shown = text_of(answer)
    assert answer.status_code == 200
    assert "Hob" in shown
    assert "labelled “Cooker”" in shown
    assert "1 of 1 way verified" in shown
    assert "Way 4L1 verified." in shown


def test_somebody_else_was_faster_and_both_are_shown(on_site, way, worker, office) -> None:
    say(way, "Shower", **worker | {"by": office})
    address = reverse("premises:circuit_verify", args=[way.pk])
    form = posted(on_site.get(address)) | {"version": "1", "designation": "Hob", "verified_how": "read"}
    answer = on_site.post(address, form)
    assert answer.status_code == 422
    shown = text_of(answer)
    assert "Shower" in shown
    assert answer.context["form"]["designation"].value() == "Hob"
    assert answer.context["form"]["version"].value() == "2"


def test_a_way_that_is_not_on_record_is_added_there(on_site, board) -> None:
    form = posted(on_site.get(where(board))) | {"label_found": "Hoist", "way": "7", "phase": "L1"}
    answer = on_site.post(where(board, "?how=told"), form)
    circuit = board.circuits.get()
    assert answer["Location"] == where(board, f"?how=told#way-{circuit.pk}")
    assert circuit.label_noted_by.name == "Edwin Wireman"


def test_spare_and_blanked_are_ticked_on_the_way(on_site, board, way, office) -> None:
    address = reverse("premises:circuit_spare", args=[way.pk])
    on_site.post(address, {"version": "1", "spare": "on", "blanked": "on"})
    way.refresh_from_db()
    assert (way.spare, way.blanked) == (True, True)
    on_site.post(address, {"version": "1", "spare": "on"})  # the same person, from a page that a phone kept
    way.refresh_from_db()
    assert (way.spare, way.blanked, way.version) == (True, False, 3)
    operations.edit_circuit(way, version=3, blanked=True, by=office, now=make.NOON)
    assert on_site.post(address, {"version": "3"}).status_code == 422  # seen before somebody else changed it
    answer = on_site.post(address, {"version": "3"}, headers={"HX-Request": "true"})
    shown = answer.content.decode()
    assert "On record now: spare, blanked." in shown
    assert shown.count('name="spare" checked') == 0  # as this person ticked them
    assert 'name="version" value="4"' in shown
    assert "hx-swap-oob" not in shown
    assert on_site.post(address, {"version": "none"}).status_code == 422


def test_a_slip_is_taken_back_on_the_page(on_site, board, way) -> None:
    kept = make.make_verification(way)
    on_site.post(reverse("premises:verification_take_back", args=[kept.pk]))
    assert "taken back" in text_of(on_site.get(where(board)))
    way.refresh_from_db()
    assert way.verified_how == ""


def test_the_board_itself_is_verified(on_site, site) -> None:
    board = make.make_board(
        site, "Shed", label_found="Old crane", designation_verified=False, verified_on=None, verified_how=""
    )  # fmt: skip
    address = reverse("premises:board_verify", args=[board.pk])
    assert "The board labelled “Old crane”" in text_of(on_site.get(address))
    on_site.post(address, posted(on_site.get(address)) | {"designation": "Boat shed", "verified_how": "traced"})
    board.refresh_from_db()
    assert (board.designation, board.designation_verified) == ("Boat shed", True)


@pytest.mark.parametrize("size", [1, 12])
def test_the_page_costs_the_same_at_any_size(on_site, board, size) -> None:
    """Session, person, the board, its ways, what they feed, its last verification, the history."""
    for number in range(size):
        make.make_verification(make.make_circuit(board, number + 1, label_found="Lights"), "Lights")
    with statements() as sql:
        on_site.get(where(board))
    assert len(sql) == 7


def test_no_name_of_the_page_leaks_into_its_buttons(on_site, board, way) -> None:
    make.make_verification(board, "Hall")
    for address in (where(board), reverse("premises:board", args=[board.pk])):
        shown = on_site.get(address).content.decode()
        assert 'name="Hall"' not in shown
        assert 'name="next"' not in shown


# --- the list of a site -----------------------------------------------------------------------------------------------


def test_the_labels_of_a_site_that_disagree(at_desk, site) -> None:
    hall, shed = make.make_board(site, "Hall", label_found="Shed"), make.make_board(site, "Shed", fed=False)
    way = make.make_circuit(hall, 1, label_found="DB barn")
    make.make_feed(shed, way)
    make.make_board(site, "Barn", fed=False)
    make.make_circuit(hall, 2, spare=True, **UNSEEN)
    shown = text_of(at_desk.get(reverse("premises:labels", args=[site.pk])))
    assert "Hall 1L1 “DB barn” the label names another board than it feeds It feeds Shed, which was verified." in shown
    assert "Hall the board itself “Shed” the label is another board's name" in shown
    assert "Hall 2L1 “Circuit 2” spare way without a blank" in shown
    assert "labels that disagree: 3" in text_of(at_desk.get(reverse("desk:site", args=[site.pk])))


def test_the_list_is_narrowed_and_taken_away(at_desk, site) -> None:
    hall = make.make_board(site, "Hall")
    make.make_circuit(hall, 2, spare=True)
    make.make_circuit(hall, 3, label_found="Sockets")
    make.make_circuit(hall, 4, label_found="sockets")
    address = reverse("premises:labels", args=[site.pk])
    shown = text_of(at_desk.get(address, {"kind": "open-way"}))
    assert "has the same" not in shown
    assert "spare way without a blank (1)" in shown
    lines = at_desk.get(address, {"kind": "twice", "as": "csv"}).content.decode("utf-8-sig").splitlines()
    assert lines == [
        "Board,Way,Label,What is wrong,Why",
        "Hall,3L1,Sockets,the same label twice,Way 4L1 of this board has the same.",
        "Hall,4L1,sockets,the same label twice,Way 3L1 of this board has the same.",
    ]
    other = make.make_board(site, "Other", fed=False)
    assert "None of the 3 fits what you chose." in text_of(at_desk.get(address, {"board": str(other.pk)}))


def test_no_disagreement_is_said_as_what_it_is(at_desk, site) -> None:
    make.make_board(site, "Hall")
    shown = text_of(at_desk.get(reverse("premises:labels", args=[site.pk])))
    assert "No label disagrees with another or with what is verified, as far as it is recorded." in shown


@pytest.mark.parametrize("size", [1, 10])
def test_the_list_costs_the_same_at_any_size(at_desk, site, size) -> None:
    """Session, person, heartbeat, the site, its boards, circuits, feeds."""
    for number in range(size):
        board = make.make_board(site, f"Board {number}", fed=False)
        make.make_circuit(board, 1, spare=True)
    with statements() as sql:
        at_desk.get(reverse("premises:labels", args=[site.pk]))
    assert len(sql) == 7
