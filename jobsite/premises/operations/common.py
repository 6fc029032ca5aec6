"""What all changes to premises have in common: locks, versions, what the database refuses in words, what is recorded."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar
from uuid import UUID

from django.conf import settings
from django.db import IntegrityError, connection, models, transaction
from django.utils.module_loading import import_string

from jobsite.ledger.actor import Actor
from jobsite.ledger.models import Entry
from jobsite.ledger.operations import record
from jobsite.ledger.rows import locked
from jobsite.premises import policy
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.verbs import Verb
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused

Row = TypeVar("Row", bound=models.Model)

WENT_OVER = "{site} was recorded twice and went over to {into}: {instead}."
NOT_YOURS = "Your rights do not cover changing what is recorded here."
CHANGED = "Somebody else changed this while you had it open."

# What a person is told when the database holds its promise, and the form field it belongs to. An empty sentence means
# that the trigger's own (migration 0002) is written for people.
REFUSALS: dict[str, tuple[str, str | None]] = {
    "party_has_a_name": ("Enter a name.", "name"),
    "site_has_a_name": ("Enter a name for the site.", "name"),
    "site_merged_is_archived": ("A site that was recorded twice stays off the lists.", None),
    "former_customer_says_why": ("Say why it was handed over.", "reason"),
    "site_nation": ("Choose one of the four nations: the law differs between them.", "nation"),
    "unit_name_once_a_site": ("Another unit of this site has this name.", "name"),
    "unit_kind": ("Choose one of the kinds of premises.", "kind"),
    "unit_tenure": ("Choose one of the kinds of tenure.", "tenure"),
    "party_role_once": ("This party is already entered in this part from that day.", "party"),
    "party_role_dates": ("The last day cannot be before the first.", "until"),
    "party_role_known": ("Choose one of the parts a party can have.", "role"),
    "supply_name_once_a_site": ("Another supply of this site has this name.", "name"),
    "supply_phases": ("A supply has at least one of the phases L1, L2 and L3.", "phases"),
    "supply_earthing": ("Choose one of the earthing arrangements.", "earthing"),
    "supply_isolator": ("Choose what the isolator disconnects.", "isolator_kind"),
    "board_main_switch": ("Choose what the main switch disconnects.", "main_switch_kind"),
    "board_name_once_a_site": ("Another board of this site has this designation.", "designation"),
    "board_phases": ("A board has at least one of the phases L1, L2 and L3.", "phases"),
    "board_has_a_designation": ("Enter what the board is called.", "designation"),
    "board_verified_when": ("Say when the designation was verified.", "verified_how"),
    "circuit_one_a_way": ("There is already a circuit on this way and phase.", "way"),
    "circuit_way": ("A way number is between 1 and 999.", "way"),
    "circuit_phase": ("Choose one of the phases, or three-phase.", "phase"),
    "circuit_rating": ("A rating is more than 0 A.", "rating_a"),
    "circuit_rcd": ("A rated residual current is more than 0 mA.", "rcd_ma"),
    "circuit_breaks": ("A breaking capacity is more than 0 kA.", "breaking_capacity_ka"),
    "circuit_length": ("A length is more than 0 m.", "length_m"),
    "circuit_no_rcd": ("A voltage-operated breaker has no rated residual current: leave it empty.", "rcd_ma"),
    "verification_of_one_thing": ("A verification is of a board or of a circuit.", None),
    "verification_says_what": ("Enter the designation that was verified.", "designation"),
    "verification_how": ("Choose how it was verified.", "verified_how"),
    "feed_from_one_thing": ("A feed comes from one circuit or from one supply.", "feeder"),
    "feed_one_verified_normal": (
        "This board already has a verified normal feed. Change that one, or record this as an alternative feed.",
        "kind",
    ),
    "feed_once": ("This feed is already recorded.", "feeder"),
    "feed_verified_when": ("Say when the feed was verified.", "verified_how"),
    "feed_possible_not_verified": ("A possible feed is not verified: record it as the normal feed.", "kind"),
    "board_document_kind": ("Choose one of the kinds of document.", None),
    "switching_of_one_device": ("Choose the one device that was switched off.", "off"),
    "switching_noted_afterwards": ("A test is noted once it was done, not before.", "at"),
    "switching_withdrawn_with_a_reason": ("Say why the test does not count.", "why"),
    "board_seen_once_a_test": ("Each board was seen dead or alive, not both.", None),
    "board_seen_state": ("A board was seen dead or alive.", None),
    "feed_stays_on_site": ("", "feeder"),
    "feed_no_loop": ("", "feeder"),
    "feed_has_the_phases": ("", "phases"),
    "circuit_on_its_boards_phase": ("", "phase"),
    "circuit_link_once": ("This link is already recorded.", "other"),
    "circuit_link_in_one_order": ("A circuit cannot be linked with itself.", "other"),
    "circuit_link_kind": ("Choose how the circuits hang together.", "kind"),
    "second_source_kind": ("Choose one of the kinds of second source.", "kind"),
    "second_source_phases": ("A second source has at least one of the phases L1, L2 and L3.", "phases"),
    "second_source_wait": ("The minutes to wait cannot be less than 0.", "wait_minutes"),
}


@contextmanager
def plainly(*, at_once: bool = True) -> Iterator[None]:
    """Write inside this: what the database refuses is raised as a Refused with a sentence.

    The supply of a site is looked over by triggers that wait for the end of the transaction; they are brought forward
    to the end of this block, and wait again afterwards, so that one operation may do several such things. Not so with
    `at_once=False`, for a part of a larger block that does it.
    """
    try:
        with transaction.atomic():
            yield
            if at_once:
                with connection.cursor() as cursor:
                    cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
                    cursor.execute("SET CONSTRAINTS ALL DEFERRED")
    except IntegrityError as error:
        diag = getattr(error.__cause__, "diag", None)
        known = REFUSALS.get(getattr(diag, "constraint_name", None) or "")
        if known is None:
            raise
        raise Refused(known[0] or str(diag.message_primary), field=known[1]) from error  # type: ignore[union-attr]


def ground(site_id: UUID, by: Actor, may: Callable[[Actor, Site], bool] = policy.may_keep_premises) -> Site:
    """The site, locked first of all; NotAllowed or Refused where `by` may not change what is recorded there now."""
    site = Site.objects.select_for_update(of=("self",)).get(pk=site_id)
    if not may(by, site):
        raise NotAllowed(NOT_YOURS)
    if site.archived_at:
        raise Refused("This site is archived: bring it back before you change what is recorded there.")
    return site


def as_it_is(row: Row) -> Row:
    """The row as it is under the lock of its site: what a page fetched earlier may have been taken out since."""
    return type(row)._default_manager.get(pk=row.pk)  # noqa: SLF001 - Django's own name


def site_of_its_own(site: Site, instead: str) -> Site:
    """The site, locked. Raises Refused where it was recorded twice and went over: it names the other, and says what to do `instead`."""
    site = locked(site)
    if site.merged_into:
        raise Refused(WENT_OVER.format(site=site.name, into=site.merged_into.name, instead=instead))
    return site


def party_in_use(party: Party, field: str) -> Party:
    """The party, locked, so that nobody archives it meanwhile. Raises Refused where it is archived."""
    party = Party.objects.select_for_update(of=("self",), no_key=True).get(pk=party.pk)
    if party.archived_at:
        raise Refused(f"{party.name} is archived: bring it back first.", field=field)
    return party


def must_be_there(row: Row, name: str, field: str | None = None) -> Row:
    """`row`. Raises Refused, calling it `name`, where it was taken out."""
    if row.retired_at:  # type: ignore[attr-defined]
        raise Refused(f"{name} was taken out.", field=field)
    return row


def change(
    row: Row,
    fields: Mapping[str, Any],
    *,
    version: int,
    verb: str,
    site: UUID | None,
    by: Actor,
    now: datetime,
    more: Mapping[str, Any] | None = None,
    over_own: bool = False,
) -> bool:
    """Set `fields` on the locked `row`, write it and record what it was and is; False where nothing differs.

    Raises ChangedMeanwhile where `version` is not the row's; the same change sent again is no such case, nor, with
    `over_own`, is one where all changes since `version` are by `by`: what a phone without signal kept rests on the page
    as it was before all of them. `more`: facts that stand beside, such as the keys of related rows.
    """
    new = {name: value for name, value in fields.items() if getattr(row, name) != value}
    if not new and not more:
        return False
    if row.version != version and not (over_own and _all_own(row, version, by)):  # type: ignore[attr-defined]
        raise ChangedMeanwhile(CHANGED, theirs=row)
    facts, words = told(row, new)
    for name, value in new.items():
        setattr(row, name, value)
    row.version += 1  # type: ignore[attr-defined]
    with plainly():
        row.save(update_fields=[*new, "version"])
    record(verb, site=site, subject=row, by=by, now=now, facts=facts | dict(more or {}), words=words)
    return True


def _all_own(row: Any, version: int, by: Actor) -> bool:
    """Whether every change of a board or circuit since `version` is by `by`: each made one entry, of one of these verbs."""
    verbs = (
        Verb.BOARD_CHANGED, Verb.BOARD_VERIFIED, Verb.CIRCUIT_CHANGED, Verb.CIRCUIT_VERIFIED, Verb.VERIFICATION_TAKEN_BACK,
    )  # fmt: skip
    since = row.version - version
    if since < 1:
        return False
    entries = Entry.objects.filter(chain=row.site_id, subject=row.pk, verb__in=verbs).order_by("-number")
    who = list(entries.values_list("actor_kind", "actor")[:since])
    return who == [(by.actor_kind, by.actor_id)] * since


def tell_of_units(units: Iterable[Unit], *, by: Actor, now: datetime) -> None:
    """Inside an operation: what the law or the kind of premises asks of `units` may be another now.

    The floors above count it again (the setting WHEN_UNITS_CHANGE).
    """
    units = list(units)
    for name in settings.WHEN_UNITS_CHANGE if units else ():
        import_string(name)(units, by=by, now=now)


def told(row: models.Model, new: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, str]]:
    """A change as facts {column: [before, after]} and, for free text, as words {column, column_before}."""
    facts: dict[str, Any] = {}
    words: dict[str, str] = {}
    for name, value in new.items():
        if is_free_text(type(row), name):
            words |= {name: value, f"{name}_before": getattr(row, name)}
        else:
            facts[name] = [as_fact(getattr(row, name)), as_fact(value)]
    return facts, words


def particulars(row: models.Model, *names: str) -> tuple[dict[str, Any], dict[str, str]]:
    """The named columns of a new row as facts and words; what is empty or no is left out."""
    filled = {name: value for name in names if (value := getattr(row, name)) not in ("", None, [], False)}
    words = {name: value for name, value in filled.items() if is_free_text(type(row), name)}
    return {name: as_fact(value) for name, value in filled.items() if name not in words}, words


@cache
def is_free_text(model: type[models.Model], name: str) -> bool:
    """Whether the column holds words that a person typed, and so stands beside the ledger's facts."""
    field: Any = model._meta.get_field(name)
    return isinstance(field, models.TextField | models.CharField) and not field.choices


def as_fact(value: Any) -> Any:
    """The value as the ledger holds it: keys, numbers and dates as text."""
    if isinstance(value, models.Model):
        return str(value.pk)
    if isinstance(value, UUID | Decimal):
        return str(value)
    if isinstance(value, date | datetime):
        return value.isoformat()
    return value
