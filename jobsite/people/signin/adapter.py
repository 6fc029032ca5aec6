"""allauth's hooks: accounts by invitation only, tries that are counted, and everything at the door written down."""

import logging
import smtplib
import time
from typing import Any

from allauth.account import app_settings
from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.internal.flows.login import get_authentication_records
from allauth.core import context as of_request
from django.http import HttpRequest, HttpResponse

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.people import operations
from jobsite.people.models import SignIn, User
from jobsite.people.rights import Role
from jobsite.people.signin import tries
from jobsite.people.signin.sessions import begin
from jobsite.throttle import client_address

log = logging.getLogger(__name__)
# What changed, in words for the ledger, by the message that allauth sends to the person.
CHANGES = {
    "account/email/password_changed": "password changed",
    "account/email/password_reset": "password set by a link sent by e-mail",
    "account/email/password_set": "password set",
    "mfa/email/totp_activated": "authenticator app set up",
    "mfa/email/totp_deactivated": "authenticator app removed",
    "mfa/email/webauthn_added": "passkey added",
    "mfa/email/webauthn_removed": "passkey removed",
    "mfa/email/recovery_codes_generated": "recovery codes made",
}
MEANS = {"totp": "authenticator app", "webauthn": "passkey", "recovery_codes": "recovery code"}


def note(request: HttpRequest, user: User, what: str, means: str = "") -> None:
    """Write down what happened at the door."""
    address, device = client_address(request), request.headers.get("User-Agent", "")
    operations.note_at_the_door(user, what, means=means, address=address, device=device, now=clock.now())


def means_used(request: HttpRequest, user: User) -> str:
    """By what somebody proved who they are in this session, such as "password, authenticator app"."""
    records = get_authentication_records(request, user)
    used = [MEANS.get(told.get("type", ""), told["method"].replace("_", " ")) for told in records]
    return ", ".join(dict.fromkeys(used))


def lately_proved(request: HttpRequest) -> bool:
    """Whether somebody showed who they are within the time that it holds, when they signed in or since.

    A session is there only once every step of signing in was taken, so that any proof in it counts. The library counts
    only what was asked for again, and would ask seconds after the sign-in.
    """
    records = get_authentication_records(request, request.user) if request.user.is_authenticated else []
    return bool(records) and time.time() - records[-1]["at"] < app_settings.REAUTHENTICATION_TIMEOUT


def proved_again(request: HttpRequest) -> None:
    """Give the session another key: what was read of the old one opens nothing more (ASVS 7.2.4)."""
    before = request.session.session_key
    request.session.cycle_key()
    operations.session_moved(before or "", request.session.session_key or "")


class Door(DefaultAccountAdapter):
    """Nobody makes an account for themselves."""

    # The library's own words stand on no page.
    error_messages = DefaultAccountAdapter.error_messages | {
        "account_inactive": "This account is not in use.",
        "email_password_mismatch": "The e-mail address or the password is not right.",
        "enter_current_password": "Type the password that you have now.",
        "incorrect_password": "This password is not right.",
        "invalid_login": "The e-mail address or the password is not right.",
        "invalid_password_reset": "This link opens nothing more: have another one sent.",
        "rate_limited": "These were too many tries. Wait a few minutes, then try again.",
        "too_many_login_attempts": "These were too many wrong tries. Wait a few minutes, then try again.",
    }

    def is_reauthentication_required(self, *, app: str, **more: Any) -> bool:
        """Who one is was shown a moment ago, by signing in, as well as by saying it once more."""
        request = of_request.request
        return not lately_proved(request) and super().is_reauthentication_required(app=app, **more)

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def _get_login_attempts_cache_key(self, request: HttpRequest, **credentials: Any) -> str:
        return tries.account_key(str(credentials.get("email", "")))

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:
        """Count the try before the password is looked at. Raises ValidationError where there were too many."""
        email = str(credentials.get("email", ""))
        self._login_failed_rl_usage = tries.counted(request, email)
        if not self._login_failed_rl_usage:
            self._note_of(request, email, SignIn.What.SHUT)
            raise self.validation_error("too_many_login_attempts")

    def authentication_failed(self, request: HttpRequest, **credentials: Any) -> None:
        self._note_of(request, str(credentials.get("email", "")), SignIn.What.WRONG_PASSWORD)

    def _note_of(self, request: HttpRequest, email: str, what: str) -> None:
        """What happened to an account that there is; of others nothing is kept, what was typed least of all."""
        user = User.objects.filter(email__iexact=email).first()
        if user is None:
            log.warning("A sign-in for an account that there is not.")
            return
        if what == SignIn.What.SHUT:
            # Once for each time that the door shuts: a stranger who goes on fills no table.
            last = user.sign_ins.order_by("-at").values_list("what", flat=True).first()
            if last == SignIn.What.SHUT:
                return
            log.warning("Too many wrong passwords for person %s.", user.pk)
        note(request, user, what)

    def login(self, request: HttpRequest, user: Any) -> None:
        """Begin the session, with the limits of the person's work, and note by which means they came in."""
        super().login(request, user)
        begin(request.session, kind="hands" if set(user.roles) == {Role.ENGINEER} else "desk", now=clock.now())
        note(request, user, SignIn.What.IN, means_used(request, user))

    def logout(self, request: HttpRequest) -> None:
        user: Any = request.user
        super().logout(request)
        note(request, user, SignIn.What.OUT)

    def post_login(self, request: HttpRequest, user: Any, **more: Any) -> HttpResponse:
        response = super().post_login(request, user, **more)
        tries.remember_device(request, response, user.email)
        return response

    def reauthenticate(self, user: Any, password: str) -> bool:
        proved = super().reauthenticate(user, password)
        if proved:
            proved_again(of_request.request)
        return proved

    def send_notification_mail(
        self, template_prefix: str, user: Any, context: dict[str, Any] | None = None, **more: Any
    ) -> None:
        """The message that a means of signing in changed, and the entry in the ledger."""
        operations.note_means_changed(user, CHANGES.get(template_prefix, template_prefix), by=user, now=clock.now())
        told = {"user": user} | (context or {})
        super().send_notification_mail(template_prefix, user, told, **more)

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Send it now; a mail server that does not answer holds nobody up, and the log says so."""
        message = self.render_mail(template_prefix, email, {"firm": the_firm(), "email": email} | context)
        try:
            message.send()
        except (OSError, smtplib.SMTPException):
            log.exception("The message %s was not sent.", template_prefix)

    def format_email_subject(self, subject: str) -> str:
        return subject
