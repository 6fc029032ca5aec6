"""The e-mail with which a person of the firm sets their first password."""

import smtplib

from django.conf import settings
from django.core.mail import EmailMessage

from jobsite.firm.queries import the_firm
from jobsite.people.models import User

BODY = """Hello {name},

{firm} has made an account for you in its record of sites, inspections and remedial works.
Choose your password here; this address works once:

{address}

If you did not expect this, leave it: without a password nobody can use the account.
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
