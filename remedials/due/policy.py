"""Who may answer for a row of the due list."""

from jobsite.people.models import User
from remedials.due.models import DueRow


def may_have_it(by: User, row: DueRow) -> bool:
    """The firm's own people for every row that they see; a subcontractor for own rows only."""
    return by.is_active and (not by.subcontractor or row.owner_id == by.pk)
