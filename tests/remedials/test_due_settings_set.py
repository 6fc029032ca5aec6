"""Setting how people are reminded: the entries it leaves, what it refuses, two people at once."""

from datetime import time

import pytest

from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.due.models import ReminderRule, Reminding
from remedials.due.operations.settings import set_reminding
from remedials.due.queries.settings import reminding, rules_in_force
from remedials.due.queries.settings_page import changes_in_words, last_changes
from remedials.due.rules.quieter import WORDS, quieter
from remedials.due.rules.sorts import SHIPPED, Days, Sort
from tests.factories import NOON, recorded

pytestmark = pytest.mark.django_db

FIGURES = {
    "digest_at": time(7),
    "working_days": [1, 2, 3, 4, 5],
    "bank_holidays_off": True,
    "quiet_from": time(20),
    "quiet_until": time(7),
    "inspection_days": [90, 30, 7],
    "inspection_overdue_every": 7,
}


def put(manager, rules=None, *, version=0, reason="", **figures):
    return set_reminding(
        rules=SHIPPED | (rules or {}), by=manager, now=NOON, version=version, reason=reason, **FIGURES | figures
    )


def test_a_changed_figure_is_kept_and_told_with_what_it_was(manager):
    with recorded() as told:
        made = put(manager, {Sort.C3: Days(14, 7, None, 28)}, digest_at=time(7, 30))
    assert [(one.verb, one.subject) for one in told] == [("reminders.set", made.pk)]
    assert told[0].facts == {
        "figures": {"digest_at": ["07:00", "07:30"]},
        "sorts": {"c3": [[7, 7, None, 28], [14, 7, None, 28]]},
        "quieter": [],
    }
    assert rules_in_force() == SHIPPED | {Sort.C3: Days(14, 7, None, 28)}
    assert reminding().digest_at == time(7, 30)
    assert [rule.sort for rule in ReminderRule.objects.all()] == ["c3"]


def test_the_same_again_is_no_second_entry(manager):
    made = put(manager, {Sort.C3: Days(14, 7, None, 28)})
    with recorded() as told:
        assert put(manager, {Sort.C3: Days(14, 7, None, 28)}, version=0).version == made.version
    assert told == []


def test_nothing_is_kept_where_the_shipped_figures_are_saved_as_they_are(manager):
    with recorded() as told:
        put(manager)
    assert (told, Reminding.objects.count()) == ([], 0)


def test_the_shipped_figures_put_back(manager):
    put(manager, {Sort.C3: Days(14, 7, None, 28)}, quiet_from=time(19))
    with recorded() as told:
        put(manager, version=1)
    assert told[0].facts["sorts"] == {"c3": [[14, 7, None, 28], [7, 7, None, 28]]}
    assert (rules_in_force(), ReminderRule.objects.count()) == (SHIPPED, 0)
    assert reminding().quiet_from == time(20)


def test_who_comes_second_sees_what_the_first_saved(manager):
    put(manager, {Sort.C3: Days(14, 7, None, 28)})
    with pytest.raises(ChangedMeanwhile) as caught:
        put(manager, {Sort.CHASE: Days(0, 2, None, 7)}, version=0)
    assert caught.value.theirs.rules[Sort.C3] == Days(14, 7, None, 28)
    assert caught.value.theirs.reminding.version == 1
    put(manager, {Sort.CHASE: Days(0, 2, None, 7)}, version=1)
    assert rules_in_force() == SHIPPED | {Sort.CHASE: Days(0, 2, None, 7)}


def test_only_a_manager_sets_them(office):
    with pytest.raises(NotAllowed):
        put(office, digest_at=time(8))


@pytest.mark.parametrize(
    ("rules", "figures", "field"),
    [
        ({Sort.C2: Days(-1, 1, 2, 5)}, {}, "c2-before"),
        ({Sort.C2: Days(7, 0, 2, 5)}, {}, "c2-every"),
        ({Sort.C2: Days(7, 91, 2, 5)}, {}, "c2-every"),
        ({Sort.C2: Days(7, 1, 2, 366)}, {}, "c2-manager_after"),
        ({Sort.C2: Days(7, 1, 2, None)}, {}, "c2-manager_after"),
        ({Sort.C3: Days(7, 7, 10, 5)}, {}, "c3-manager_after"),
        ({Sort.C1: Days(0, 2, 0, 0)}, {}, None),
        ({}, {"working_days": []}, "working_days"),
        ({}, {"working_days": [1, 8]}, "working_days"),
        ({}, {"digest_at": time(12, 1)}, "digest_at"),
        ({}, {"inspection_days": []}, "inspection_days"),
        ({}, {"inspection_days": [30, 24]}, "inspection_days"),
        ({}, {"inspection_days": [366]}, "inspection_days"),
        ({}, {"inspection_overdue_every": 6}, "inspection_overdue_every"),
        ({}, {"quiet_from": time(7, 30)}, "quiet_until"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(manager, rules, figures, field):
    with pytest.raises(Refused) as caught, recorded() as told:
        put(manager, rules, reason="Because", **figures)
    assert (caught.value.field, told, Reminding.objects.count()) == (field, [], 0)


def test_customers_may_be_written_to_at_any_hour_where_both_times_are_alike(manager):
    assert put(manager, quiet_from=time(7)).quiet_from == time(7)


@pytest.mark.parametrize(
    ("sort", "days"),
    [
        (Sort.C2, Days(6, 1, 2, 5)),
        (Sort.C2, Days(7, 2, 2, 5)),
        (Sort.FI, Days(7, 1, None, 5)),
        (Sort.C1_SAFE, Days(7, 1, 1, 4)),
        (Sort.REPORT, Days(0, 1, 2, 2)),
    ],
)
def test_danger_made_quieter_asks_why(manager, sort, days):
    with pytest.raises(Refused) as caught:
        put(manager, {sort: days})
    assert caught.value.field == "reason"
    assert WORDS[sort] in caught.value.sentence
    with recorded() as told:
        put(manager, {sort: days}, reason="We look at them together on Mondays")
    assert len(told[0].facts["quieter"]) == 1
    assert told[0].words == {"reason": "We look at them together on Mondays"}


def test_a_day_fewer_with_digests_asks_why_too(manager):
    with pytest.raises(Refused, match="Friday"):
        put(manager, working_days=[1, 2, 3, 4])


def test_what_was_quieter_before_asks_for_no_second_reason(manager):
    hushed = {Sort.C2: Days(7, 3, 2, 5)}
    put(manager, hushed, reason="Few people")
    assert put(manager, hushed, version=1, digest_at=time(8)).version == 2
    assert put(manager, {Sort.C2: Days(7, 2, 2, 5)}, version=2).version == 3
    with pytest.raises(Refused):
        put(manager, {Sort.C2: Days(7, 4, 2, 5)}, version=3)


def test_louder_asks_for_nothing(manager):
    assert put(manager, {Sort.C2: Days(14, 1, 1, 2)}, working_days=[1, 2, 3, 4, 5, 6]).version == 1


def test_shipped_figures_are_not_quieter_than_themselves():
    assert quieter(SHIPPED, [1, 2, 3, 4, 5, 6, 7]) == {}


def test_who_changed_what_last(manager, django_assert_num_queries):
    put(manager, {Sort.C2: Days(7, 3, None, 5)}, reason="Few people", working_days=[1, 2, 3, 4, 5, 6])
    with django_assert_num_queries(3):
        found = last_changes()
    assert found == [
        {
            "when": "3 Feb 2026, 12:00",
            "who": manager.name,
            "what": [
                "working days Mon Tue Wed Thu Fri → Mon Tue Wed Thu Fri Sat",
                "C2, potentially dangerous: again every 1 → 3, to a qualified person after 2 → never",
            ],
            "reason": "Few people",
        }
    ]


def test_changes_in_words_say_yes_and_no():
    facts = {"figures": {"bank_holidays_off": [True, False], "inspection_days": [[90, 30], [60]]}, "sorts": {}}
    assert changes_in_words(facts) == [
        "no digest on bank holidays yes → no",
        "letters before an inspection, days 90, 30 → 60",
    ]
