"""The API does what its description says: schemathesis tries each operation, with all its checks, against a real server.

Each operation with what its description shows as examples, and with a few cases by chance (drawn anew with each change of
the code); then operations one after another, as links lead from one to the next. `make fuzz` tries more, by chance, and every edge of each field.
"""

import pytest

from tests.fuzz.running import LINKED, ONE_BY_ONE, PARTS, api, found

pytestmark = pytest.mark.django_db(transaction=True)


def nothing_fails(failures: list[str]) -> None:
    """Each failure in full: pytest would cut a comparison short."""
    if failures:
        pytest.fail("\n".join(failures), pytrace=False)


@pytest.mark.parametrize("part", range(PARTS))
def test_each_operation_does_what_its_description_says(part: int) -> None:
    with api() as there:
        nothing_fails(found(there, ONE_BY_ONE, part))


def test_operations_one_after_another_as_links_lead() -> None:
    with api() as there:
        nothing_fails(found(there, LINKED))
