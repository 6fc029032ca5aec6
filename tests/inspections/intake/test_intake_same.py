"""A report on its way in: rows that may be observations open already, what is said of them, and what becomes of that."""

from datetime import date

import pytest

from inspections.intake import operations
from inspections.models import Intake, Observation
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from tests.factories import NOON, Told, make_board, make_circuit, make_observation, make_site, recorded, unit_of
from tests.inspections.intake.books import OBSERVATION_HEADS, workbook

pytestmark = pytest.mark.django_db
LONG_AGO = date(2022, 3, 1)
ROWS = ([1, "C2", "Cooker switch: cover missing", "Hall", 1], [2, "C3", "Labels faded", "Hall"])


@pytest.fixture(autouse=True)
def _at_noon(now, monkeypatch):
    """The pages read the clock once, at the edge."""
    monkeypatch.setattr("jobsite.clock.now", lambda: now)


@pytest.fixture
def site():
    return make_site("Kiln Cottage")


@pytest.fixture
def earlier(site):
    """An open observation of 2022 at way 1 of the hall's board."""
    circuit = make_circuit(make_board(site, "Hall"), 1)
    return make_observation(
        site, "Cover missing at the cooker switch", on=LONG_AGO, board=circuit.board, circuit=circuit
    )


@pytest.fixture
def intake(site, earlier, office) -> Intake:
    """A report of 2025 with two rows, read."""
    header = {"inspected_on": "2025-02-03", "edition": "2018+A2:2022", "firm_name": "Sample Inspections"}
    made = operations.receive(
        site, id=new_id(), kind="report", data=workbook(OBSERVATION_HEADS, *ROWS), file_name="report.xlsx",
        unit=unit_of(site), header=header, by=office, now=NOON,
    )  # fmt: skip
    operations.read(made.pk, now=NOON)
    return Intake.objects.get(pk=made.pk)


@pytest.fixture
def desk(client, office):
    client.force_login(office)
    return client


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def row_of(intake, n: int) -> str:
    return intake.found["accepted"][n]["row"]


def test_a_row_in_like_words_at_one_circuit_is_asked_about(desk, intake, earlier) -> None:
    page = text_of(desk.get(f"/intake/{intake.pk}/"))
    assert f'Like <a href="/observations/{earlier.pk}/">{earlier.number} of 2022</a>: same?' in page
    assert page.count(": same?") == 1


def test_what_was_said_is_kept_until_it_is_taken_in(desk, intake, earlier) -> None:
    name = row_of(intake, 0)
    response = desk.post(f"/intake/{intake.pk}/", {"do": f"same {earlier.pk} {name}"})
    assert response.headers["Location"] == f"/intake/{intake.pk}/?more=0#to-take-in"
    page = text_of(desk.get(f"/intake/{intake.pk}/"))
    assert f"The same as {earlier.number} of 1 Mar 2022." in page
    assert ": same?" not in page
    desk.post(f"/intake/{intake.pk}/")
    seen = Observation.objects.get(continues=earlier)
    earlier.refresh_from_db()
    assert (seen.text, seen.first_recorded_on, earlier.ended) == ("Cooker switch: cover missing", LONG_AGO, "continued")


def test_a_new_one_is_said_too_and_can_be_asked_again(desk, intake, earlier) -> None:
    name = row_of(intake, 0)
    desk.post(f"/intake/{intake.pk}/", {"do": f"same new {name}"})
    assert "A new one." in text_of(desk.get(f"/intake/{intake.pk}/"))
    desk.post(f"/intake/{intake.pk}/", {"do": f"ask-same {name}"})
    assert ": same?" in text_of(desk.get(f"/intake/{intake.pk}/"))
    desk.post(f"/intake/{intake.pk}/", {"do": f"same new {name}"})
    desk.post(f"/intake/{intake.pk}/")
    assert not Observation.objects.exclude(continues=None).exists()
    assert [row.answer for row in earlier.not_seen_again.all()] == [""]
    assert "1 earlier observation that it covers is open and not confirmed by it." in text_of(
        desk.get(f"/intake/{intake.pk}/")
    )


def test_it_is_told_once(intake, earlier, office) -> None:
    name = row_of(intake, 0)
    with recorded() as told:
        for _ in range(2):
            operations.say_same(intake, row=name, observation=earlier, by=office, now=NOON)
        for _ in range(2):
            operations.ask_same_again(intake, row=name, by=office, now=NOON)
    assert told == [
        Told("intake.said-same", intake.pk, {"observation": str(earlier.pk)}, {"row": name}),
        Told("intake.unsaid-same", intake.pk, {}, {"row": name}),
    ]


def test_one_that_was_closed_meanwhile_stops_the_taking_in(desk, intake, earlier) -> None:
    name = row_of(intake, 0)
    desk.post(f"/intake/{intake.pk}/", {"do": f"same {earlier.pk} {name}"})
    Observation.objects.filter(pk=earlier.pk).update(ended="remedied", ended_on=NOON.date())
    response = desk.post(f"/intake/{intake.pk}/")
    assert response.status_code == 422
    assert f"{name}: Observation {earlier.number} that it was said to be is closed meanwhile." in text_of(response)
    assert "which is closed by now (remedied): ask again" in text_of(response)


def test_refusals(intake, earlier, site, office, engineer) -> None:
    one, two = row_of(intake, 0), row_of(intake, 1)
    younger = make_observation(site, on=date(2025, 2, 4))
    elsewhere = make_observation(make_site("Elsewhere"), on=LONG_AGO)
    for row, observation, sentence in (
        ("Sheet, row 99", earlier, "not among those"),
        (one, younger, "younger"),
        (one, elsewhere, "not open at this site"),
    ):
        with pytest.raises(Refused, match=sentence):
            operations.say_same(intake, row=row, observation=observation, by=office, now=NOON)
    operations.say_same(intake, row=one, observation=earlier, by=office, now=NOON)
    with pytest.raises(Refused, match="take that back first"):
        operations.say_same(intake, row=two, observation=earlier, by=office, now=NOON)
    with pytest.raises(NotAllowed):
        operations.say_same(intake, row=two, observation=None, by=engineer, now=NOON)


@pytest.mark.parametrize("do", ["same", "same x", "same new", "same new nowhere", "ask-same nowhere", "same \x00 y"])
def test_damaged_buttons_change_nothing(desk, intake, do) -> None:
    assert desk.post(f"/intake/{intake.pk}/", {"do": do}).status_code in {302, 422}
    intake.refresh_from_db()
    assert intake.same == {}


def test_statements_do_not_grow_with_rows(desk, site, office, earlier, django_assert_num_queries) -> None:
    header = {"inspected_on": "2025-02-03", "edition": "2018+A2:2022", "firm_name": "Sample Inspections"}
    for count in (2, 40):
        rows = [[n, "C2", f"Cover missing, cooker switch {chr(96 + n % 26)}", "Hall", 1] for n in range(1, count)]
        made = operations.receive(
            site, id=new_id(), kind="report", data=workbook(OBSERVATION_HEADS, *rows), file_name="report.xlsx",
            unit=unit_of(site), header=header, by=office, now=NOON,
        )  # fmt: skip
        operations.read(made.pk, now=NOON)
        desk.get(f"/intake/{made.pk}/")
        with django_assert_num_queries(STATEMENTS):
            desk.get(f"/intake/{made.pk}/")


STATEMENTS = 9
