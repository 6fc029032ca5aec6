"""People of the firm: invited, changed, gone and back."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from allauth.account.models import EmailAddress
from allauth.account.utils import user_pk_to_url_str
from django.conf import settings
from django.urls import reverse
from django.utils.module_loading import import_string

from jobsite.firm.operations import describe_firm
from jobsite.ledger.actor import CLOCK, Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.models import User
from jobsite.people.operations.ground import ADDRESS_TAKEN, must_keep_people, save_new
from jobsite.people.operations.signin import end_sessions_at_once
from jobsite.people.operations.tokens import end_tokens_of
from jobsite.people.rights import Role
from jobsite.people.signin.reset_links import link_tokens
from jobsite.people.verbs import Verb
from jobsite.refused import ChangedMeanwhile, Refused

OF_THE_DESK = frozenset({Role.OFFICE, Role.MANAGER})


def _must_be_seen(user: User, version: int) -> None:
    """A version other than the one the person saw raises ChangedMeanwhile."""
    if user.version != version:
        raise ChangedMeanwhile("Somebody else changed this while you had it open.", theirs=user)


def password_link(user: User) -> str:
    """The address, without the host, under which a person sets a first password; dead once it was used."""
    key = link_tokens.make_token(user)
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
    must_keep_people(by)
    alone(id)
    if made := made_before(User, id):
        return made, _link_once_more(made)
    email = email.strip().lower()
    _check_roles(roles)
    if User.objects.filter(email__iexact=email).exists():
        raise Refused(ADDRESS_TAKEN, field="email")
    user = User(id=id, email=email, name=name, phone=phone, roles=sorted(roles), subcontractor=subcontractor)
    user.set_unusable_password()
    save_new(user)
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
    must_keep_people(by)
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


@operation
def edit_person(user: User, *, version: int, by: Actor, now: datetime, **fields: Any) -> User:
    """Change name, phone, roles, `subcontractor`, `insured_until`, `apprentice` or where they start from.

    Who from now on works at a desk too is signed out: their sessions lasted as long as an engineer's may. Whose
    roles grow loses their tokens, which were made for less. The firm never loses its last manager. Raises NotAllowed, ChangedMeanwhile, Refused.
    """
    must_keep_people(by)
    user = _locked_person(user)
    _place_is_whole(fields)
    if "roles" in fields:
        _check_roles(fields["roles"])
        fields["roles"] = sorted(fields["roles"])
        if Role.MANAGER in user.roles and Role.MANAGER not in fields["roles"]:
            _must_not_be_last_manager(user, "roles")
    changed = {name: value for name, value in fields.items() if getattr(user, name) != value}
    roles_before = set(user.roles)
    if not changed:
        return user
    _must_be_seen(user, version)
    for name, value in changed.items():
        setattr(user, name, value)
    user.version += 1
    sees_more = bool(OF_THE_DESK & set(user.roles)) and not OF_THE_DESK & roles_before
    user.save(update_fields=[*changed, "version"])
    if sees_more:
        end_sessions_at_once(user, by=by, now=now)
    elif set(user.roles) - roles_before:
        end_tokens_of(user, by=by, now=now)
    facts = {name: value for name, value in changed.items() if name in {"roles", "subcontractor", "apprentice"}}
    if "insured_until" in changed:
        facts["insured_until"] = user.insured_until.isoformat() if user.insured_until else None
    if {"home_postcode", "home_latitude", "home_longitude"} & set(changed):
        facts["home"] = "changed"  # where somebody lives is nobody's business here
    words = {name: value for name, value in changed.items() if name in {"name", "phone"}}
    record(Verb.EDITED, site=None, subject=user, by=by, now=now, facts=facts, words=words)
    return user


def _place_is_whole(fields: dict[str, Any]) -> None:
    """Raises Refused for a latitude without a longitude, or one that is none."""
    latitude, longitude = fields.get("home_latitude"), fields.get("home_longitude")
    if (latitude is None) != (longitude is None):
        missing = "home_longitude" if longitude is None else "home_latitude"
        raise Refused("A place on the map is both: latitude and longitude.", field=missing)


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
    """End an account at once, with every session and every link that would set its password.

    What the person had open becomes loose ends; what they did stays theirs.
    """
    must_keep_people(by)
    user = _locked_person(user)
    if not user.is_active:
        return user
    if Role.MANAGER in user.roles:
        _must_not_be_last_manager(user)
    user.is_active = False
    user.version += 1
    user.save(update_fields=["is_active", "version"])
    end_sessions_at_once(user, by=by, now=now)
    record(Verb.LEFT, site=None, subject=user, by=by, now=now)
    for name in settings.WHEN_PERSON_LEAVES:
        import_string(name)(user, by=by, now=now)
    return user


@operation
def person_returned(user: User, *, by: Actor, now: datetime) -> User:
    """Open the account of somebody who had left; their password is as it was."""
    must_keep_people(by)
    user = locked(user)
    if user.is_active:
        return user
    user.is_active = True
    user.version += 1
    user.save(update_fields=["is_active", "version"])
    record(Verb.RETURNED, site=None, subject=user, by=by, now=now)
    return user
