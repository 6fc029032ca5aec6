"""The head of a printed page."""

import re

import pytest

from jobsite.firm.models import Firm


@pytest.mark.django_db
def test_printed_pages_bear_the_firms_name_and_cost_no_statement_for_it(client, office, django_assert_num_queries):
    Firm.objects.create(name="Sample Sparks")
    client.force_login(office)
    with django_assert_num_queries(3):  # session, person with the firm's name, the banner
        shown = client.get("/accounts/password/change/").content.decode()
    assert re.search(r'<p class="printed">Sample Sparks, printed \d+ \w+ \d{4}, \d\d:\d\d</p>', shown)
