"""What every operation here begins with: the locked row, the right, the row that the same form made before."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db import models

from inspections.models import Observation
from jobsite.ledger.rows import FORM_USED as FORM_USED  # noqa: PLC0414 - part of this ground too
from jobsite.ledger.rows import locked as locked  # noqa: PLC0414
from jobsite.ledger.rows import made_before as made_before  # noqa: PLC0414
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Site, Unit
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused


def locked_site(site: Site) -> Site:
    """The site, locked against a second change of the same kind, not against rows that only refer to it.

    Raises Refused for an archived site: what is due there is not shown, so nothing new may become due.
    """
    site = held_site(site)
    must_be_in_use(site)
    return site


def held_site(site: Site) -> Site:
    """The site as it is now, locked like `locked_site`, archived or not."""
    return Site.objects.select_for_update(of=("self",), no_key=True).get(pk=site.pk)


def must_be_in_use(site: Site) -> None:
    """Raises Refused for an archived site."""
    if site.archived_at:
        raise Refused(f"{site.name} is archived: bring it back first.")


def must(allowed: bool, sentence: str) -> None:
    """Raises NotAllowed with `sentence` unless `allowed`."""
    if not allowed:
        raise NotAllowed(sentence)


def unchanged(row: Any, version: int, sentence: str) -> None:
    """Raises ChangedMeanwhile unless `row` still has the version that the person saw."""
    if row.version != version:
        raise ChangedMeanwhile(sentence, theirs=row)


def said(text: str, sentence: str, field: str) -> str:
    """`text` without blanks around it. Raises Refused with `sentence` where nothing is left."""
    text = text.strip()
    if not text:
        raise Refused(sentence, field=field)
    return text


def must_be_active(person: User | None, field: str) -> None:
    """Raises Refused where the step would fall to somebody who has left the firm."""
    if person is not None and not person.is_active:
        raise Refused(f"{person.name} has left the firm: choose somebody else.", field=field)


def settle_place(site_id: UUID, unit: Unit, board: Board | None, circuit: Circuit | None) -> Board | None:
    """The board of an observation (that of its circuit where none is named).

    Raises Refused where unit, board and circuit are not of the site, or the circuit is not on the board.
    """
    if unit.site_id != site_id:
        raise Refused("This unit is not at this site.", field="unit")
    if circuit is not None:
        if board is not None and circuit.board_id != board.pk:
            raise Refused("This way is not on the board that was chosen.", field="way")
        board = board or circuit.board
    if board is not None and board.site_id != site_id:
        raise Refused("This board is not at this site.", field="board")
    return board


def not_past(day: date, today: date, sentence: str, field: str) -> None:
    """Raises Refused with `sentence` for a day before today."""
    if day < today:
        raise Refused(sentence, field=field)


def still_open(observation: Observation, doing: str) -> None:
    """Raises Refused, naming what was asked, where the observation has ended."""
    if observation.ended:
        raise Refused(f"Observation {observation.number} is closed ({observation.get_ended_display()}): {doing}.")


def in_force(observation: Observation, doing: str) -> None:
    """Raises Refused where the observation has ended, or its report is not issued yet."""
    if observation.draft:
        raise Refused(f"Observation {observation.number} is in a report that is not issued yet: {doing}.")
    still_open(observation, doing)


def apply(row: models.Model, fields: Mapping[str, Any]) -> list[str]:
    """Set `fields` on `row` and return the names of those that differ from before."""
    changed = [name for name, value in fields.items() if getattr(row, name) != value]
    for name in changed:
        setattr(row, name, fields[name])
    return changed


def iso(day: date | None) -> str | None:
    """A date as the ledger spells it."""
    return day.isoformat() if day else None


def key(row: models.Model | None) -> str | None:
    """A row's key as the ledger spells it."""
    return str(row.pk) if row is not None else None
