"""E-mails to people of the firm about their account: the first password, and what a manager did to their sign-in."""

import smtplib

from django.conf import settings
from django.core.mail import EmailMessage

from jobsite.firm.queries import the_firm
from jobsite.people.models import User

BODY = """Hello {name},

{firm} has made an account for you in its record of sites, inspections and remedial works.
Choose your password here; this address works once, and for three days:

{address}

If you did not expect this, leave it: without a password nobody can use the account.
"""


TAKEN = """Hello {name},

{by} of {firm} took the second step of your sign-in away, and signed you out everywhere: you sign in with your password alone,
and set up another second step then.

If you did not ask for this, tell a manager at once, by telephone.
"""


def full_address(path: str, host: str = "") -> str:
    """`path` with the address by which the service is reached: `host`, or the one of the settings."""
    return f"{(host or settings.SITE_ADDRESS).rstrip('/')}{path}"


def mail_first_password(user: User, path: str) -> bool:
    """Send `user` the link under which the first password is set; False where the mail server did not take it.

    Sent at once and not kept as a message: whoever reads it may take over the account.
    """
    firm = the_firm().name
    body = BODY.format(name=user.name, firm=firm, address=full_address(path))
    try:
        EmailMessage(f"Your account at {firm}", body, to=[user.email]).send()
    except (OSError, smtplib.SMTPException):
        return False
    return True


def mail_second_step_taken(user: User, *, by: str) -> bool:
    """Tell `user` that a manager took their second step away; False where the mail server did not take it."""
    firm = the_firm().name
    try:
        EmailMessage(f"Your sign-in at {firm}", TAKEN.format(name=user.name, by=by, firm=firm), to=[user.email]).send()
    except (OSError, smtplib.SMTPException):
        return False
    return True
