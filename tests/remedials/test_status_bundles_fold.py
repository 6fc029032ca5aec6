"""The ledger alone tells how a site stood: held against the rows after every step of histories played at random."""

import os
from typing import Any

import pytest
from hypothesis import settings
from hypothesis.stateful import invariant, run_state_machine_as_test

from inspections.models import Observation
from jobsite.premises.models import Site
from remedials.status.bundles.extract import extract_of
from remedials.status.bundles.rules import State, state_of
from remedials.works.models import Remedial, Remedies
from tests.remedials.test_due_histories import MANY, PLAYED, Histories

pytestmark = pytest.mark.django_db
PLAYS = settings(PLAYED, max_examples=MANY or int(os.environ.get("BUNDLE_HISTORIES", "6")))


def by_the_rows(site: Site) -> dict[str, Any]:
    found: dict[str, Any] = {
        str(row.pk): (row.code, row.ended, row.made_safe, row.draft, str(row.continues_id or ""))
        for row in Observation.objects.filter(site=site)
    }
    pairs: dict[Any, set[str]] = {}
    for remedial, observation in Remedies.objects.filter(remedial__site=site).values_list("remedial", "observation"):
        pairs.setdefault(remedial, set()).add(str(observation))
    jobs = Remedial.objects.filter(site=site).values_list("pk", "number", "stage", "work")
    return found | {str(pk): (number, stage, work, pairs.get(pk, set())) for pk, number, stage, work in jobs}


def by_the_ledger(state: State) -> dict[str, Any]:
    found: dict[str, Any] = {
        one.key: (one.code, one.ended, bool(one.held), one.draft, one.continues) for one in state.seen.values()
    }
    return found | {job.key: (job.number, str(job.stage), job.work, job.observations) for job in state.jobs.values()}


class Told(Histories):
    """The same histories; after every step the entries are gone through from the first."""

    @invariant()
    def nothing_is_forgotten(self) -> None:
        for site in Site.objects.filter(merged_into=None):
            state = state_of(extract_of(site, self.firm.now).told())
            rows, told = by_the_rows(site), by_the_ledger(state)
            wrong = {
                key: (rows.get(key), told.get(key))
                for key in rows.keys() | told.keys()
                if rows.get(key) != told.get(key)
            }
            assert wrong == {}


def test_the_ledger_says_how_it_stood_after_every_step() -> None:
    run_state_machine_as_test(Told, settings=PLAYS)
