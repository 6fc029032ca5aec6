"""The page of reminding: what it shows, keeps and says."""

import re

import pytest
from django.urls import reverse

from remedials.due.operations.settings import set_reminding
from remedials.due.queries.settings import reminding, rules_in_force
from remedials.due.rules.sorts import SHIPPED, Days, Sort
from tests.factories import NOON, TODAY, make_observation
from tests.remedials.test_due_settings_set import FIGURES

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
HERE = "/people/firm/reminders/"


@pytest.fixture
def at_desk(client, manager):
    client.force_login(manager)
    return client


def typed(rules=None, **more):
    """What a browser posts: the shipped figures with `rules` and `more` over them."""
    days = SHIPPED | (rules or {})
    facts = {
        f"{sort.value}-{name}": "" if getattr(days[sort], name) is None else str(getattr(days[sort], name))
        for sort in Sort
        if sort is not Sort.C1
        for name in ("before", "every", "qualified_after", "manager_after")
    }
    facts |= {
        "digest_at": "07:00",
        "working_days": ["1", "2", "3", "4", "5"],
        "bank_holidays_off": "on",
        "quiet_from": "20:00",
        "quiet_until": "07:00",
        "inspection_days": "90, 30, 7",
        "inspection_overdue_every": "7",
        "reason": "",
        "version": "0",
    }
    return facts | more


def words(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def test_the_page_shows_the_figures_in_force_and_the_shipped_ones_beside(at_desk, manager):
    set_reminding(rules=SHIPPED | {Sort.C3: Days(14, 7, None, 28)}, by=manager, now=NOON, **FIGURES)
    answer = at_desk.get(HERE)
    assert 'name="c3-before" value="14"' in answer.content.decode()
    assert "shipped: 7" in words(answer)
    assert words(answer).count("shipped: ") == 1
    assert "C3, improvement recommended: first before 7 → 14" in words(answer)
    assert "no number here moves a limit that the law sets" in words(answer)


def test_the_bank_holidays_of_the_coming_year_are_listed(at_desk):
    said = words(at_desk.get(HERE))
    assert "Bank holidays of England in the coming year" in said
    assert "Fri 25 Dec 2026 Christmas Day" in said
    assert "Sat 26 Dec 2026" not in said


def test_saving(at_desk, manager):
    answer = at_desk.post(HERE, typed({Sort.CHASE: Days(0, 2, None, 7)}, inspection_days="60 14"))
    assert (answer.status_code, answer.headers["Location"]) == (302, HERE)
    assert rules_in_force()[Sort.CHASE] == Days(0, 2, None, 7)
    assert reminding().inspection_days == [60, 14]
    assert f"{manager.name} letters before an inspection, days 90, 30, 7 → 60, 14" in words(at_desk.get(HERE))


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("c2-before", "soon", "Write a whole number of days."),
        ("c2-before", "", "Needed: fill this in."),
        ("c2-every", "0", "Write 1 or more."),
        ("c2-manager_after", "", "Somebody can be hurt: in the end the managers always hear of it."),
        ("c3-qualified_after", "x", "Write a whole number of days, or nothing for never."),
        ("digest_at", "late", "Write the time as 09:30."),
        ("inspection_days", "90, thirty", "Write whole numbers of days with commas between, such as 90, 30, 7."),
        ("inspection_overdue_every", "3", "Write 7 or more."),
        ("quiet_from", "07:10", "Leave at least one hour of the day in which customers may be written to."),
    ],
)
def test_what_is_wrong_is_said_beside_it_and_nothing_typed_is_lost(at_desk, name, value, sentence):
    answer = at_desk.post(HERE, typed({Sort.CHASE: Days(0, 2, None, 7)}, **{name: value}))
    assert answer.status_code == 422
    assert sentence in words(answer)
    assert 'name="chase-every" value="2"' in answer.content.decode()
    assert f'name="{name}" value="{value}"' in answer.content.decode() or not value
    assert rules_in_force() == SHIPPED


def test_no_day_ticked(at_desk):
    answer = at_desk.post(HERE, typed(working_days=[]))
    assert answer.status_code == 422
    assert "Working days" in words(answer)


def test_quieter_danger_asks_why_and_keeps_what_was_typed(at_desk):
    hushed = {Sort.C2: Days(7, 3, 2, 5)}
    answer = at_desk.post(HERE, typed(hushed))
    assert answer.status_code == 422
    assert "This makes danger quieter than shipped, so say why." in words(answer)
    assert 'name="c2-every" value="3"' in answer.content.decode()
    assert at_desk.post(HERE, typed(hushed, reason="Few people")).status_code == 302
    said = words(at_desk.get(HERE))
    assert (
        "Danger is quieter here than shipped. C2, potentially dangerous: again every 3 days, not again every day"
        in said
    )
    assert "“Few people”" in said


def test_two_people_at_once(at_desk, manager):
    set_reminding(rules=SHIPPED | {Sort.C3: Days(14, 7, None, 28)}, by=manager, now=NOON, **FIGURES)
    mine = typed({Sort.CHASE: Days(0, 2, None, 7)})
    answer = at_desk.post(HERE, mine)
    assert answer.status_code == 422
    assert "Somebody else changed this meanwhile" in words(answer)
    assert "Saved by somebody else: 14" in words(answer)
    assert 'name="chase-every" value="2"' in answer.content.decode()
    assert rules_in_force()[Sort.CHASE] == SHIPPED[Sort.CHASE]
    assert at_desk.post(HERE, mine | {"version": "1"}).status_code == 302
    assert rules_in_force() == SHIPPED | {Sort.CHASE: Days(0, 2, None, 7)}


def test_put_back_shows_the_shipped_figures_and_saves_nothing_yet(at_desk, manager):
    set_reminding(rules=SHIPPED | {Sort.C3: Days(14, 7, None, 28)}, by=manager, now=NOON, **FIGURES)
    answer = at_desk.post(HERE, typed({Sort.C3: Days(14, 7, None, 28)}, **{"version": "1", "put-back": "yes"}))
    assert answer.status_code == 200
    assert "The shipped figures stand below and are not saved yet" in words(answer)
    assert 'name="c3-before" value="7"' in answer.content.decode()
    assert 'name="version" value="1"' in answer.content.decode()
    assert rules_in_force()[Sort.C3] == Days(14, 7, None, 28)


def test_showing_says_what_becomes_quieter_and_saves_nothing(at_desk):
    answer = at_desk.post(HERE, typed({Sort.C2: Days(7, 3, 2, 5)}, show="yes"))
    assert answer.status_code == 200
    assert "These figures make danger quieter than shipped." in words(answer)
    assert rules_in_force() == SHIPPED


def test_the_firm_s_page_leads_here(at_desk):
    assert f'href="{HERE}"' in at_desk.get(reverse("people:firm")).content.decode()


@pytest.mark.parametrize("many", [1, 4])
def test_statements_of_the_page(at_desk, manager, site, many, django_assert_num_queries):
    for number in range(many):
        set_reminding(
            rules=SHIPPED | {Sort.C3: Days(14 + number, 7, None, 28)}, by=manager, now=NOON, version=number, **FIGURES
        )
        make_observation(site, code="C2", owner=manager)
    at_desk.get(HERE)
    with django_assert_num_queries(9):
        at_desk.get(HERE)
    with django_assert_num_queries(17):
        at_desk.post(HERE, typed(show="yes"))


def test_the_lines_of_a_day_are_fetched_alone(at_desk, manager, site):
    make_observation(site, "Cover missing", code="C2", owner=manager)
    asked = typed(lines=f"{TODAY} {manager.pk}")
    whole = words(at_desk.post(HERE, asked))
    alone = words(at_desk.post(HERE, asked, headers={"HX-Request": "true"}))
    assert "What these figures would send" in whole
    assert alone.startswith(f"{manager.name}, digest of 3 Feb 2026")
    assert "Cover missing" in alone
    assert alone in whole


def test_lines_of_figures_that_cannot_be_used(at_desk, manager):
    asked = typed(lines=f"{TODAY} {manager.pk}", **{"c2-every": "0"})
    alone = at_desk.post(HERE, asked, headers={"HX-Request": "true"})
    assert (alone.status_code, "put them right above" in words(alone)) == (422, True)
