"""Changes to people, their competence, the instruments and the private links."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from allauth.account.forms import default_token_generator
from allauth.account.models import EmailAddress
from allauth.account.utils import user_pk_to_url_str
from django.db import IntegrityError, models, transaction
from django.db.models import F
from django.urls import reverse

from jobsite import clock, words
from jobsite.firm.operations import describe_firm
from jobsite.ledger.actor import CLOCK, Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.links import new_token, token_hash
from jobsite.people.models import Competence, Instrument, PrivateLink, User
from jobsite.people.rights import Right, Role
from jobsite.people.verbs import Verb
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused

ONLY_MANAGERS = "Only a manager keeps people, competence and instruments."
ADDRESS_TAKEN = "Somebody with this e-mail address has an account already."
# What a person is told when the database holds its promise, and the form field it belongs to, by the constraint's name.
REFUSALS = {
    "user_email_once": (ADDRESS_TAKEN, "email"),
    "people_user_email_key": (ADDRESS_TAKEN, "email"),
    "user_has_a_name": ("Enter a name.", "name"),
    "competence_once_a_day": ("A competence from this day is recorded already.", "since"),
    "people_instrument_serial_number_key": (
        "An instrument with this serial number is recorded already.",
        "serial_number",
    ),
    "instrument_has_serial_number": ("Enter its serial number.", "serial_number"),
}


def _must_keep_people(by: Actor) -> None:
    if not by.may(Right.KEEP_PEOPLE):
        raise NotAllowed(ONLY_MANAGERS)


def _must_be_seen(user: User, version: int) -> None:
    """A version other than the one the person saw raises ChangedMeanwhile."""
    if user.version != version:
        raise ChangedMeanwhile("Somebody else changed this while you had it open.", theirs=user)


def password_link(user: User) -> str:
    """The address, without the host, under which a person sets a first password; dead once it was used."""
    key = default_token_generator.make_token(user)
    return reverse("account_reset_password_from_key", kwargs={"uidb36": user_pk_to_url_str(user), "key": key})


@operation
def invite_person(
    *,
    id: UUID,
    email: str,
    name: str,
    roles: Sequence[str],
    by: Actor,
    now: datetime,
    phone: str = "",
    subcontractor: bool = False,
) -> tuple[User, str]:
    """Make an account without a password; returns the person and the link under which they set their first one."""
    _must_keep_people(by)
    alone(id)
    if made := made_before(User, id):
        return made, _link_once_more(made)
    email = email.strip().lower()
    _check_roles(roles)
    if User.objects.filter(email__iexact=email).exists():
        raise Refused(ADDRESS_TAKEN, field="email")
    user = User(id=id, email=email, name=name, phone=phone, roles=sorted(roles), subcontractor=subcontractor)
    user.set_unusable_password()
    _save_new(user)
    EmailAddress.objects.create(user=user, email=email, verified=True, primary=True)
    facts = {"roles": sorted(roles), "subcontractor": subcontractor}
    record(Verb.INVITED, site=None, subject=user, by=by, now=now, facts=facts, words={"name": name, "email": email})
    return user, password_link(user)


def _link_once_more(made: User) -> str:
    """The link for somebody whom the same form invited: no way back for who left, nor into an account in use."""
    made = locked(made)
    _must_work_here(made)
    if made.has_usable_password():
        raise Refused(f"{made.name} has an account and a password already.")
    return password_link(made)


def _must_work_here(user: User) -> None:
    if not user.is_active:
        raise Refused(f"{user.name} has left the firm.")


@operation
def invite_again(user: User, *, by: Actor, now: datetime) -> str:
    """Another first-password link. Refused once the person has a password: they reset it themselves when signing in."""
    _must_keep_people(by)
    user = locked(user)
    _must_work_here(user)
    if user.has_usable_password():
        raise Refused(f"{user.name} has a password already, and can have it reset on the page for signing in.")
    record(Verb.INVITED_AGAIN, site=None, subject=user, by=by, now=now)
    return password_link(user)


@operation
def start_firm(*, id: UUID, name: str, email: str, manager: str, now: datetime) -> str:
    """Name the firm and make its first manager; returns their first-password link. Refused where there are people."""
    if User.objects.exists():
        raise Refused("This database has people already: a manager invites others.")
    describe_firm(by=CLOCK, now=now, name=name)
    return invite_person(id=id, email=email, name=manager, roles=[Role.MANAGER], by=CLOCK, now=now)[1]


def _check_roles(roles: Sequence[str]) -> None:
    if not roles or not set(roles) <= {role.value for role in Role}:
        raise Refused("Choose at least one role: office, engineer or manager.", field="roles")


def _save_new(row: models.Model) -> None:
    """Insert `row`; what the database refuses for a reason in REFUSALS is said in words, anything else is our mistake."""
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError as error:
        name = getattr(getattr(error.__cause__, "diag", None), "constraint_name", None)
        if name not in REFUSALS:
            raise
        sentence, field = REFUSALS[name]
        raise Refused(sentence, field=field) from error


@operation
def edit_person(user: User, *, version: int, by: Actor, now: datetime, **fields: Any) -> User:
    """Change name, phone, roles or `subcontractor`. The firm never loses its last manager."""
    _must_keep_people(by)
    user = _locked_person(user)
    if "roles" in fields:
        _check_roles(fields["roles"])
        fields["roles"] = sorted(fields["roles"])
        if Role.MANAGER in user.roles and Role.MANAGER not in fields["roles"]:
            _must_not_be_last_manager(user, "roles")
    changed = {name: value for name, value in fields.items() if getattr(user, name) != value}
    if not changed:
        return user
    _must_be_seen(user, version)
    for name, value in changed.items():
        setattr(user, name, value)
    user.version += 1
    user.save(update_fields=[*changed, "version"])
    facts = {name: value for name, value in changed.items() if name in {"roles", "subcontractor"}}
    words = {name: value for name, value in changed.items() if name in {"name", "phone"}}
    record(Verb.EDITED, site=None, subject=user, by=by, now=now, facts=facts, words=words)
    return user


def _locked_person(user: User) -> User:
    """The person as they are now, locked after all managers: of two managers who go at once, one sees the other gone."""
    managers = User.objects.filter(roles__contains=[Role.MANAGER.value]).order_by("pk")
    list(managers.select_for_update().values_list("pk"))
    return locked(user)


def _must_not_be_last_manager(user: User, field: str | None = None) -> None:
    others = User.objects.filter(is_active=True, roles__contains=[Role.MANAGER.value]).exclude(pk=user.pk)
    if not others.exists():
        raise Refused("This is the firm's only manager: make somebody else a manager first.", field=field)


@operation
def person_left(user: User, *, by: Actor, now: datetime) -> User:
    """End an account at once. What the person had open becomes loose ends; what they did stays theirs."""
    _must_keep_people(by)
    user = _locked_person(user)
    if not user.is_active:
        return user
    if Role.MANAGER in user.roles:
        _must_not_be_last_manager(user)
    user.is_active = False
    user.version += 1
    user.save(update_fields=["is_active", "version"])
    record(Verb.LEFT, site=None, subject=user, by=by, now=now)
    return user


@operation
def person_returned(user: User, *, by: Actor, now: datetime) -> User:
    """Open the account of somebody who had left; their password is as it was."""
    _must_keep_people(by)
    user = locked(user)
    if user.is_active:
        return user
    user.is_active = True
    user.version += 1
    user.save(update_fields=["is_active", "version"])
    record(Verb.RETURNED, site=None, subject=user, by=by, now=now)
    return user


@operation
def record_competence(
    user: User, *, id: UUID, since: date, evidence: str, by: Actor, now: datetime, until: date | None = None
) -> Competence:
    """Record that the firm holds `user` to be a qualified person from `since`, until a date or for good."""
    _must_keep_people(by)
    alone(id)
    if made := made_before(Competence, id, user_id=user.pk):
        return made
    if until and until < since:
        raise Refused("It cannot end before it begins.", field="until")
    if not evidence.strip():
        raise Refused("Say what shows it: a certificate, an assessment.", field="evidence")
    recorded_by = by if isinstance(by, User) else None
    row = Competence(id=id, user=user, since=since, until=until, evidence=evidence.strip(), recorded_by=recorded_by)
    _save_new(row)
    facts = {"person": str(user.pk), "since": since.isoformat(), "until": until.isoformat() if until else None}
    record(Verb.COMPETENCE, site=None, subject=row, by=by, now=now, facts=facts, words={"evidence": evidence})
    return row


@operation
def end_competence(competence: Competence, *, until: date, by: Actor, now: datetime) -> Competence:
    """Set the last day on which a competence holds."""
    _must_keep_people(by)
    competence = locked(competence)
    if until < competence.since:
        raise Refused("It cannot end before it begins.", field="until")
    if competence.until == until:
        return competence
    competence.until = until
    competence.save(update_fields=["until"])
    record(Verb.COMPETENCE_ENDED, site=None, subject=competence, by=by, now=now, facts={"until": until.isoformat()})
    return competence


@operation
def add_instrument(*, id: UUID, name: str, serial_number: str, by: Actor, now: datetime) -> Instrument:
    """Add a test instrument; until a check is recorded its readings are flagged."""
    _must_keep_people(by)
    alone(id)
    if made := made_before(Instrument, id):
        return made
    row = Instrument(id=id, name=name, serial_number=serial_number.strip())
    _save_new(row)
    record(Verb.INSTRUMENT, site=None, subject=row, by=by, now=now, words={"serial_number": serial_number})
    return row


@operation
def check_instrument(
    instrument: Instrument, *, checked_on: date, check_due: date, by: Actor, now: datetime
) -> Instrument:
    """Record an accuracy check and the day by which the next one is due. An older one than that on record is refused."""
    _must_keep_people(by)
    instrument = locked(instrument)
    if checked_on > clock.local_day(now):
        raise Refused("A check cannot be in the future.", field="checked_on")
    if check_due <= checked_on:
        raise Refused("The next check must be later than this one.", field="check_due")
    if instrument.checked_on and checked_on < instrument.checked_on:
        day = words.day(instrument.checked_on)
        raise Refused(f"A later check, of {day}, is on record: an older one does not replace it.", field="checked_on")
    if (instrument.checked_on, instrument.check_due) == (checked_on, check_due):
        return instrument
    instrument.checked_on, instrument.check_due = checked_on, check_due
    instrument.version += 1
    instrument.save(update_fields=["checked_on", "check_due", "version"])
    facts = {"checked_on": checked_on.isoformat(), "check_due": check_due.isoformat()}
    record(Verb.CHECKED, site=None, subject=instrument, by=by, now=now, facts=facts)
    return instrument


@operation
def archive_instrument(instrument: Instrument, *, by: Actor, now: datetime) -> Instrument:
    """Take an instrument out of use; its readings stay."""
    _must_keep_people(by)
    instrument = locked(instrument)
    if instrument.archived_at is None:
        instrument.archived_at = now
        instrument.version += 1
        instrument.save(update_fields=["archived_at", "version"])
        record(Verb.ARCHIVED, site=None, subject=instrument, by=by, now=now)
    return instrument


@operation
def make_link(
    *,
    id: UUID,
    purpose: str,
    site: UUID,
    sent_to: str,
    expires_at: datetime,
    by: User,
    now: datetime,
    unit: UUID | None = None,
    party: UUID | None = None,
) -> tuple[PrivateLink, str]:
    """Make a private link; returns it and its token, which is not kept and cannot be shown again.

    Made again with the same key, it answers with an empty token.
    """
    if not by.may(Right.SHARE_STATUS):
        raise NotAllowed("Only the office may share a site's status.")
    alone(id)
    if made := made_before(PrivateLink, id, site=site):
        return made, ""
    if expires_at <= now:
        raise Refused("A link must end in the future.", field="expires_at")
    token = new_token()
    link = PrivateLink.objects.create(
        id=id,
        token_hash=token_hash(token),
        purpose=purpose,
        site=site,
        unit=unit,
        party=party,
        sent_to=sent_to,
        made_by=by,
        made_at=now,
        expires_at=expires_at,
    )
    facts = {"purpose": purpose, "unit": str(unit) if unit else None, "expires_at": expires_at.isoformat()}
    record(Verb.LINK_MADE, site=site, subject=link, by=by, now=now, facts=facts, words={"sent_to": sent_to})
    return link, token


@operation
def withdraw_link(link: PrivateLink, *, by: Actor, now: datetime) -> PrivateLink:
    """End a private link at once."""
    if not by.may(Right.SHARE_STATUS):
        raise NotAllowed("Only the office may withdraw a link.")
    link = locked(link)
    if link.withdrawn_at is None:
        link.withdrawn_at = now
        link.save(update_fields=["withdrawn_at"])
        record(Verb.LINK_WITHDRAWN, site=link.site, subject=link, by=by, now=now)
    return link


def count_use(link: PrivateLink, *, now: datetime) -> None:
    """Note that the link was opened. Reading leaves no entry in the ledger."""
    PrivateLink.objects.filter(pk=link.pk).update(uses=F("uses") + 1, last_used_at=now)
