"""The pages about the same defect seen twice: still there?, which earlier one it is, and back again."""

from datetime import date

import pytest
from django.urls import reverse

from inspections import operations
from inspections.models import NotSeenAgain, Observation
from jobsite.ids import new_id
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
LONG_AGO = date(2024, 5, 1)


@pytest.fixture
def seen(site):
    return make.make_observation(site, "Cover missing at the isolator", on=LONG_AGO)


def address(name, *rows):
    return reverse(f"inspections:{name}", args=[row.pk for row in rows])


def text(response) -> str:
    return " ".join(response.content.decode().split())


def fresh(row):
    return type(row).objects.get(pk=row.pk)


def test_the_draft_says_what_nobody_answered_for(start, seen, as_, qualified) -> None:
    draft = start()
    page = text(as_(qualified).get(address("inspection", draft)))
    assert "1 earlier open observation that it covers is not noted again, 1 observation not answered." in page
    assert f"Not answered: {seen.number} (C2). They stay open after the issue" in page
    operations.note_again(draft, earlier=seen, id=draft.pk, by=qualified, now=make.NOON)
    assert "Still there?" not in text(as_(qualified).get(address("inspection", draft)))


def test_one_tap_notes_it_again_and_goes_on_to_the_next(start, site, seen, as_, qualified) -> None:
    other = make.make_observation(site, "Blank missing", on=LONG_AGO)
    draft, client = start(), as_(qualified)
    page = client.get(address("earlier", draft))
    assert "2 to answer." in text(page)
    assert f'name="next" value="{address("earlier", draft)}#o-{other.pk}"' in page.content.decode()
    after = f"{address('earlier', draft)}#o-{other.pk}"
    response = client.post(address("note_again", draft, seen), {"next": after})
    assert (response.status_code, response["Location"]) == (302, after)
    made = Observation.objects.get(continues=seen)
    page = text(client.get(address("earlier", draft)))
    assert f"Still there: noted again as observation {made.number}, with its code C2." in page
    assert "1 to answer." in page


def test_not_there_any_more_asks_what_was_seen(start, seen, as_, qualified) -> None:
    draft, client = start(), as_(qualified)
    where = address("found_gone", draft, seen)
    assert "It stays open until the report is issued" in text(client.get(where))
    empty = client.post(where, {"seen": ""})
    assert (empty.status_code, NotSeenAgain.objects.count()) == (422, 0)
    client.post(where, {"seen": "A cover is fitted"})
    said = f"Not there any more: A cover is fitted. It ends with the issue ({qualified.name}, 3 Feb 2026, 12:00)"
    assert said in text(client.get(address("earlier", draft)))
    client.post(address("issue", draft))
    assert fresh(seen).ended == "gone"
    page = text(client.get(reverse("desk:observation", args=[seen.pk])))
    assert "Not there any more on 3 Feb 2026: A cover is fitted" in page
    assert "It is there after all" in page
    client.post(address("there_after_all", seen), {"reason": "It fell off again"})
    assert fresh(seen).ended == ""


def test_not_looked_at_is_marked_wherever_it_stands(start, site, seen, as_, qualified) -> None:
    draft, client = start(), as_(qualified)
    client.post(address("not_looked", draft, seen))
    client.post(address("issue", draft))
    mark = f"Not confirmed by the inspection of 20 Jan 2026 (report {draft.number}): not looked at"
    for name, row in (("desk:site", site), ("desk:observation", seen)):
        assert mark in text(client.get(reverse(name, args=[row.pk]))), name
    report = text(client.get(address("inspection", draft)))
    assert "1 earlier observation that it covers is open and not confirmed by it." in report
    assert "Ask again" in text(client.get(address("earlier", draft)))
    client.post(address("take_back_answer", draft, seen))
    assert "1 to answer." in text(client.get(address("earlier", draft)))


def test_another_firms_report_is_answered_for_after_it_was_taken_in(
    start, note, site, seen, as_, office, qualified
) -> None:
    draft = start(other_firm=True)
    own = note(draft, text="Isolator without cover")
    note(draft, text="Labels faded", code="C3")
    client = as_(office)
    said = text(client.post(address("issue", draft), follow=True))
    assert "1 earlier observation that it covers is open and not confirmed by it: answer for them on its page." in said
    page = text(client.get(address("earlier", draft)))
    assert "Only a qualified person decides codes" in page
    assert "Not there any more" not in page
    form = text(client.get(address("same_in_report", draft, seen)))
    assert form.index("In like words") < form.index(f"{own.number} · C2") < form.index("Others")
    client.post(address("same_in_report", draft, seen), {"other": str(own.pk)})
    assert (fresh(seen).ended, fresh(own).continues) == ("continued", seen)
    assert fresh(own).first_recorded_on == LONG_AGO


def test_an_observation_is_said_to_be_an_earlier_one_and_parted_again(site, seen, as_, engineer) -> None:
    later = make.make_observation(site, "Isolator: cover missing")
    client = as_(engineer)
    page = text(client.get(reverse("desk:observation", args=[later.pk])))
    assert "Same as an earlier one" in page
    form = client.get(address("same_as", later)).content.decode()
    assert f'value="{seen.pk}" selected' in form
    client.post(address("same_as", later), {"other": str(seen.pk)})
    assert fresh(later).continues == seen
    page = text(client.get(reverse("desk:observation", args=[later.pk])))
    assert "Another defect than that" in page
    empty = client.post(address("part", later), {"reason": " "})
    assert empty.status_code == 422
    client.post(address("part", later), {"reason": "Two isolators"})
    assert (fresh(later).continues, fresh(seen).ended) == (None, "")


def test_what_was_chosen_and_closed_meanwhile_is_said_in_the_form(site, seen, as_, engineer) -> None:
    later = make.make_observation(site, "Isolator: cover missing")
    make.make_observation(site, "Another", on=LONG_AGO)
    client = as_(engineer)
    client.get(address("same_as", later))
    Observation.objects.filter(pk=seen.pk).update(ended="remedied", ended_on=make.TODAY)
    response = client.post(address("same_as", later), {"other": str(seen.pk)})
    assert response.status_code == 422
    assert "Choose one of those offered." in text(response)


def test_an_observation_of_another_site_is_not_there(start, as_, qualified) -> None:
    elsewhere = make.make_observation(make.make_site("Elsewhere"), on=LONG_AGO)
    response = as_(qualified).post(address("note_again", start(), elsewhere))
    assert response.status_code == 404


@pytest.mark.parametrize("count", [1, 12])
@pytest.mark.parametrize("issued", [False, True])
def test_statements_do_not_grow_with_the_rows(
    start, site, as_, qualified, count, issued, django_assert_num_queries, now
) -> None:
    draft, client = start(), as_(qualified)
    for n in range(count):
        row = make.make_observation(site, f"Defect {n}", on=LONG_AGO)
        operations.answer_not_seen(draft, observation=row, answer="not-looked", by=qualified, now=now)
    if issued:
        operations.issue_inspection(draft, by=qualified, now=now)
    client.get(address("earlier", draft))
    with django_assert_num_queries(STATEMENTS[issued]):
        assert client.get(address("earlier", draft)).status_code == 200


STATEMENTS = {False: 6, True: 5}


# --- is it one of these? ----------------------------------------------------------------------------------------------


def note_text(client, draft, words: str, **more):
    return client.post(address("inspection", draft), {"id": str(new_id()), "text": words, "code": "C2"} | more)


def test_what_is_being_typed_is_answered_by_earlier_ones_in_like_words(start, seen, as_, qualified) -> None:
    draft, client = start(), as_(qualified)
    shown = text(client.post(address("like", draft), {"text": "Isolator cover missi"}))
    assert "Is it one of these?" in shown
    assert f'data-same="{seen.pk}"' in shown
    assert "open 1 year 9 months" in shown
    for typed in ("", "Iso", "Labels faded"):
        assert "Is it one of these?" not in text(client.post(address("like", draft), {"text": typed}))


def test_saving_asks_once_and_takes_either_answer(start, site, seen, as_, qualified) -> None:
    other = make.make_observation(site, "Labels faded", on=LONG_AGO)
    draft, client = start(), as_(qualified)
    asked = note_text(client, draft, "Isolator: cover missing")
    assert (asked.status_code, draft.observations.count()) == (422, 0)
    page = text(asked)
    assert f"Is it one of these? {seen.number} “Cover missing at the isolator”." in page
    assert "Isolator: cover missing</textarea>" in page
    assert page.index("In like words") < page.index(str(seen.pk)) < page.index("Others") < page.index(str(other.pk))
    assert note_text(client, draft, "Isolator: cover missing", continues="new").status_code == 302
    assert note_text(client, draft, "Isolator: cover missing", continues=str(seen.pk)).status_code == 302
    assert {row.continues for row in draft.observations.all()} == {None, seen}


def test_what_is_noted_again_already_is_not_asked_about(start, note, seen, as_, qualified) -> None:
    draft = start()
    note(draft, continues=seen)
    assert note_text(as_(qualified), draft, "Isolator: cover missing").status_code == 302


def test_nothing_like_it_nothing_asked(start, seen, as_, qualified) -> None:
    assert note_text(as_(qualified), start(), "Labels faded").status_code == 302


def test_changing_one_asks_nothing(start, note, seen, as_, qualified) -> None:
    one = note(start(), text="Labels faded")
    change = {"text": "Isolator: cover missing", "code": "C2", "version": "1"}
    assert as_(qualified).post(address("change", one), change).status_code == 302
