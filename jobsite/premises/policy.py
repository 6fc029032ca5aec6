"""Who may change what is recorded of premises."""

from jobsite.ledger.actor import Actor
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site, SiteAccess


def sees(by: Actor, site: Site) -> bool:
    """Whether `by` may see `site`: a subcontractor only the sites of their own visits. Asks the database for those."""
    if isinstance(by, User) and by.subcontractor:
        return SiteAccess.objects.filter(site=site, user=by).exists()
    return True


def may_keep_premises(by: Actor, site: Site) -> bool:
    """Boards, circuits, feeds, supplies, second sources: what is there."""
    return by.may(Right.KEEP_PREMISES) and sees(by, site)


def may_keep_site(by: Actor, site: Site) -> bool:
    """The site itself, its units, and who answers for them."""
    return by.may(Right.KEEP_CUSTOMERS) and sees(by, site)


def may_keep_customers(by: Actor) -> bool:
    """Customers and other parties, and opening sites for them."""
    return by.may(Right.KEEP_CUSTOMERS) and not (isinstance(by, User) and by.subcontractor)
