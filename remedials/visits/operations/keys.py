"""Keys of sites: taken in, out to somebody, back in, given back for good."""

from datetime import date, datetime
from uuid import UUID

from django.db import IntegrityError, transaction

from jobsite import clock
from jobsite.ids import part_of
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import NotAllowed, Refused
from remedials.visits.models import KeyMove, SiteKey
from remedials.visits.operations.ground import iso, office, site_in_use
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import must_be_active, needed, person

NOT_YOURS = "Only the office gives keys out; whoever has one may bring it back."


@operation
def take_key(
    site: Site, *, id: UUID, tag: str, what: str, by: Actor, now: datetime, held_for: str = "", place: str = ""
) -> SiteKey:
    """Keep a key of `site` under `tag`, which never says the address: a lost key must not tell its door.

    The same form again: its row. Raises NotAllowed, and Refused for a tag in use or one that names the site.
    """
    office(by)
    site = site_in_use(site)
    if made := made_before(SiteKey, id, site_id=site.pk):
        return made
    tag = needed(tag, "Give the key a tag.", field="tag")
    what = needed(what, "Say what the key opens.", field="what")
    _tells_no_door(tag, site)
    try:
        with transaction.atomic():
            key = SiteKey.objects.create(
                id=id, site=site, tag=tag, what=what, held_for=held_for.strip(), place=place.strip()
            )
    except IntegrityError as error:
        raise Refused(f"Another key has the tag {tag} already.", field="tag") from error
    words = {"tag": tag, "what": what, "held_for": key.held_for, "place": key.place}
    record(Verb.KEY_TAKEN, site=site.pk, subject=key, by=by, now=now, words=words)
    return key


def _tells_no_door(tag: str, site: Site) -> None:
    folded = tag.casefold()
    telling = [site.name, site.postcode, *site.address.splitlines()]
    if any(len(part.strip()) > 3 and part.strip().casefold() in folded for part in telling):
        raise Refused("The tag tells the address: whoever finds the key would know the door.", field="tag")


@operation
def give_key_out(
    key: SiteKey, *, id: UUID, to: User, by: Actor, now: datetime, back_by: date | None = None, note: str = ""
) -> SiteKey:
    """Give `key` to `to`, who brings it back by the day `back_by`. Out to them already: nothing more happens.

    Raises NotAllowed, and Refused where it is out to somebody else, or no longer the firm's to give.
    """
    office(by, NOT_YOURS)
    site_in_use(key.site)
    key = locked(key)
    must_be_active(to, field="to")
    if key.out_to_id == to.pk or _made(key, id, "out"):
        return key
    if key.given_back_at or key.out_to_id:
        raise Refused(_where(key), field="to")
    if back_by and back_by < clock.local_day(now):
        raise Refused("This day is past: choose today or a later day.", field="back_by")
    return _moved(key, id, "out", to, note, back_by=back_by, by=by, now=now)


@operation
def bring_key_in(key: SiteKey, *, id: UUID, by: Actor, now: datetime, note: str = "") -> SiteKey:
    """Note that `key` hangs in its place again. In already: nothing more happens. Raises NotAllowed, Refused."""
    site_in_use(key.site)
    key = locked(key)
    if not by.may(Right.BOOK) and key.out_to_id != by.actor_id:
        raise NotAllowed(NOT_YOURS)
    if key.given_back_at:
        raise Refused(_where(key))
    if key.out_to_id is None or _made(key, id, "in"):
        return key
    return _moved(key, id, "in", None, note, by=by, now=now)


@operation
def give_key_back(key: SiteKey, *, id: UUID, by: Actor, now: datetime, note: str = "") -> SiteKey:
    """Note that `key` went back to its owner for good. Given back already: nothing more happens. Raises NotAllowed, Refused."""
    office(by, NOT_YOURS)
    site_in_use(key.site)
    key = locked(key)
    if key.given_back_at:
        return key
    if key.out_to_id:
        raise Refused(_where(key))
    key.given_back_at = now
    return _moved(key, id, "back", None, note, by=by, now=now)


def _made(key: SiteKey, id: UUID, way: str) -> bool:
    """Whether the same form did that already, however often the key went out and in since."""
    return made_before(KeyMove, part_of(id, way), key_id=key.pk, way=way) is not None


def _moved(
    key: SiteKey,
    id: UUID,
    way: str,
    who: User | None,
    note: str,
    *,
    by: Actor,
    now: datetime,
    back_by: date | None = None,
) -> SiteKey:
    key.out_to, key.back_by, key.version = who, back_by, key.version + 1
    key.save(update_fields=["out_to", "back_by", "given_back_at", "version"])
    KeyMove.objects.create(
        id=part_of(id, way), key=key, way=way, who=who, note=note.strip(), at=now, recorded_by=person(by)
    )
    facts = {"way": way, "who": str(who.pk) if who else None, "back_by": iso(back_by)}
    record(Verb.KEY_MOVED, site=key.site_id, subject=key, by=by, now=now, facts=facts, words={"note": note.strip()})
    return key


def _where(key: SiteKey) -> str:
    if key.given_back_at:
        return f"Key {key.tag} was given back to its owner."
    return f"Key {key.tag} is out to {key.out_to}: it must come in first."
