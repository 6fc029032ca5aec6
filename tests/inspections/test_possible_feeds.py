"""What may only possibly feed a board never makes a limit milder, and leaves open what it would decide."""

import pytest

from inspections.queries.limits import supply_of
from inspections.standards.devices import CircuitRole
from tests import factories as make
from tests.factories import TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    """A TN-S intake with a board on it, and a TT supply beside."""
    site = make.make_site(earthing="TN-S")
    make.make_board(site, "Intake board")
    site.supplies.create(name="Barn supply", phases=["L1"], earthing="TT")
    return site


def test_earthing_of_a_board_with_candidates_on_two_supplies_is_not_settled(site) -> None:
    shed = make.make_board(site, "Shed")
    feed = shed.feeds.get()
    assert supply_of(site.pk).origin_at(shed.pk).earthing == "TN-S"
    feed.kind, feed.verified, feed.verified_on, feed.verified_how = "may-be", False, None, ""
    feed.save()
    make.make_feed(shed, site.supplies.get(name="Barn supply"), kind="may-be", verified=False)
    assert supply_of(site.pk).origin_at(shed.pk) is None


@pytest.mark.parametrize(("kind", "role"), [("may-be", CircuitRole.FINAL), ("normal", CircuitRole.DISTRIBUTION)])
def test_way_that_may_feed_a_board_keeps_the_stricter_limit(site, kind, role) -> None:
    way = make.make_circuit(site.boards.get(), arrangement="")
    make.make_feed(make.make_board(site, "Shed", fed=False), way, kind=kind, verified=False)
    assert supply_of(site.pk).role_of(way) == role


@pytest.mark.parametrize(("kinds", "known"), [(["normal"], True), (["normal", "may-be"], False), (["may-be"], True)])
def test_device_before_a_board_is_known_only_where_one_is_named(site, kinds, known) -> None:
    from inspections.queries.situations import ground_of

    shed = make.make_board(site, "Shed", fed=False)
    for kind in kinds:
        make.make_feed(shed, make.make_circuit(site.boards.get(designation="Intake board")), kind=kind, verified=False)
    ground = ground_of(site.pk, on=TODAY, boards=[shed.pk])
    assert (ground.boards[shed.pk].device is not None) is known
