"""Dates of editions that were read: an announcement of IET and BSI as five trade pages report it, which agree; and
Wiring Matters 54 (2015), as reproduced. Dates that are only remembered stand in test_standards_tables.py."""

from datetime import date
from decimal import Decimal

import pytest

from inspections.standards.confidence import Confidence
from inspections.standards.edition_rules import rules_of
from inspections.standards.editions import Edition, cmin, edition_in_force, editions_usable
from inspections.standards.registry import FACTS


@pytest.mark.parametrize(
    ("on", "usable"),
    [
        # BS 7671:2018+A4:2026: published 15 Apr 2026, usable at once.
        (date(2026, 4, 14), [Edition.A2_2022]),
        (date(2026, 4, 15), [Edition.A4_2026, Edition.A2_2022]),
        # BS 7671:2018+A2:2022+A3:2024: withdrawn on 15 Oct 2026.
        (date(2026, 10, 14), [Edition.A4_2026, Edition.A2_2022]),
        (date(2026, 10, 15), [Edition.A4_2026]),
    ],
)
def test_the_change_of_2026(on, usable):
    assert list(editions_usable(on)) == usable


@pytest.mark.parametrize(("on", "factor"), [(date(2015, 6, 30), "1"), (date(2015, 7, 1), "0.95")])
def test_cmin_came_with_amendment_3_on_1_july_2015(on, factor):
    assert cmin(edition_in_force(on)) == Decimal(factor)


def test_only_these_dates_count_as_read():
    read = {key for key, fact in FACTS.items() if key.startswith("edition.") and fact.confidence.sure}
    assert read == {
        "edition.2018+A4:2026.usable-from",
        "edition.2018+A2:2022.withdrawn",
        "edition.2008+A3:2015.usable-from",
    }


@pytest.mark.parametrize("edition", Edition)
def test_what_an_edition_selects_for_an_fi_is_never_taken_for_read(edition):
    # IET's forum, threads 24309 and 32142, and trade guidance: the texts of Appendix 6 were not seen.
    assert rules_of(edition).fi_alone.value == (edition is not Edition.A4_2026)
    assert rules_of(edition).fi_alone.confidence in (Confidence.VERIFY, Confidence.PRACTICE)
