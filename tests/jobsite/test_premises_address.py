"""An address on one line, as lists and heads show it."""

import pytest

from jobsite.premises.models import Site


@pytest.mark.parametrize(
    ("address", "postcode", "line"),
    [
        ("Reach Lane\r\nEbbsford", "QX4 9ZA", "Reach Lane, Ebbsford, QX4 9ZA"),
        ("Reach Lane,\nEbbsford", "", "Reach Lane, Ebbsford"),
        ("Reach Lane \n\n Ebbsford,", "QX4 9ZA", "Reach Lane, Ebbsford, QX4 9ZA"),
        ("", "", ""),
    ],
)
def test_one_line(address, postcode, line):
    assert Site(address=address, postcode=postcode).one_line == line
