"""What a change of a row begins with: its lock, the row that the same form made before, one maker at a time."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TypeVar
from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist
from django.db import connection, models

from jobsite.refused import Refused

Row = TypeVar("Row", bound=models.Model)
FORM_USED = "This form was already used for something else: open it again."
GONE = "This is no longer there: somebody took it off meanwhile."


def locked(row: Row) -> Row:
    """`row` as it is now, locked until the end of the transaction. Raises Refused where somebody deleted it meanwhile."""
    try:
        return type(row)._default_manager.select_for_update(of=("self",)).get(pk=row.pk)  # noqa: SLF001
    except ObjectDoesNotExist:
        raise Refused(GONE) from None


def made_before(model: type[Row], key: UUID, **belongs: Any) -> Row | None:
    """The row that the same form made already. Raises Refused where the key belongs to something else."""
    found = model._default_manager.filter(pk=key).first()  # noqa: SLF001
    if found is not None and any(getattr(found, name) != value for name, value in belongs.items()):
        raise Refused(FORM_USED)
    return found


def alone(key: UUID) -> None:
    """Let only one transaction at a time make the row `key`: a form sent twice at once makes one row.

    For rows that stand at no site; the others wait for each other at the site's lock.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [str(key)])


def beside(key: UUID) -> None:
    """Let whoever wants to be `alone` with `key` wait until this transaction ends; others that go beside go on."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock_shared(hashtextextended(%s, 0))", [str(key)])


class RefusedRow(Refused):
    """A list cannot be written because of `row`, one of the rows that were handed in."""

    def __init__(self, refused: Refused, row: models.Model) -> None:
        super().__init__(refused.sentence, field=refused.field)
        self.row = row


@contextmanager
def about(row: models.Model) -> Iterator[None]:
    """What is refused inside this is refused because of `row`."""
    try:
        yield
    except RefusedRow:
        raise
    except Refused as refused:
        raise RefusedRow(refused, row) from refused
