"""A house that was sold to somebody else's customer: our part there ended with a closing letter. And who wants no reminders."""

from datetime import timedelta
from decimal import Decimal

from jobsite.premises.models import Party
from remedials.desk.demo.story import Story
from remedials.due.operations.leaving import deliver_letter, write_letter
from remedials.due.operations.stopping import stop_reminders


def tell(story: Story) -> None:
    """What was open in the cottage when it was sold, delivered by hand; the Wrens want no reminders."""
    story.day(400)
    owners = story.party("The Plovers", email="plovers@example.org", phone="07700 900195")
    site = story.site(
        "Ferry Cottage", owners, "2 Ferry Lane, Ebbsford", "QX4 9ZD", earthing="TT", main_fuse_a=60,
        latitude=Decimal("54.64480"), longitude=Decimal("-2.21110"),
    )  # fmt: skip
    board = story.board(site, "Consumer unit", "1", site.supplies.get(), place="under the stairs")
    _, shower = story.circuits(board, ("1L1", "Sockets", "B32"), ("2L1", "Shower", "B40"))
    report = story.own_inspection(site, [site.units.get()], 390, next_due_on=story.date(390 - 5 * 365))
    bonding = story.note(report, "1", "C2", "Water pipe not bonded", board=board)
    story.note(report, "2", "C3", "Shower without an RCD of its own", board=board, circuit=shower)
    story.issue(report)
    story.day(380)
    story.remedial([bonding], "Bond the water pipe where it enters", minutes=90)
    story.day(90)
    letter = story.make(
        write_letter, site, why="sold", to_name="The Plovers", to_address="4 Quay Street\nEbbsford", owner=story.cast.office,
        deliver_by=story.date(90) + timedelta(days=7), reason="Mrs Plover rang: sold, the new owners have their own electrician.",
    )  # fmt: skip
    story.day(86)
    story.do(
        deliver_letter, letter, how="hand", on=story.date(86), to="Mrs Plover, for the new owners too", version=letter.version
    )  # fmt: skip
    story.day(30)
    wrens = Party.objects.get(name="The Wrens")
    story.do(stop_reminders, wrens, address=wrens.email)
