"""The second step: seeds sealed at rest, whose it is by name, and that nobody takes away the last one that the firm asks for."""

from typing import Any

from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import generate_totp_secret
from cryptography.fernet import InvalidToken

from jobsite.firm.queries import the_firm
from jobsite.people.models import second_steps_of
from jobsite.sealing import ring

FOR_WHAT = b"second steps of people"
NOT_THE_LAST = "The firm asks a second step of you: add another one first, then remove this."


class SecondStep(DefaultMFAAdapter):
    """allauth's second step, as we want it."""

    error_messages = DefaultMFAAdapter.error_messages | {
        "cannot_delete_authenticator": NOT_THE_LAST,
        "incorrect_code": "This code is not right, or was used already. Codes of an app change every half minute.",
    }

    def encrypt(self, text: str) -> str:
        """A seed as it is kept."""
        return ring(FOR_WHAT).encrypt(text.encode()).decode("ascii")

    def decrypt(self, encrypted_text: str) -> str:
        """The seed. Where the secret is another one, such as after a restore: one that nobody knows."""
        try:
            return ring(FOR_WHAT).decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            return generate_totp_secret()

    def get_totp_issuer(self) -> str:
        """The firm's name, as the app on the phone shows it."""
        return the_firm().name

    def _get_site_name(self) -> str:
        return the_firm().name

    def can_delete_authenticator(self, authenticator: Authenticator) -> bool:
        """Not the last one of somebody of whom the firm asks one."""
        user: Any = authenticator.user
        others = second_steps_of(user.pk).exclude(pk=authenticator.pk)
        return not user.must_have_second_step or others.exists()

    def generate_authenticator_name(self, user: Any, type: str) -> str:
        """How a passkey is called until its person says so."""
        count = Authenticator.objects.filter(user_id=user.pk, type=type).count()
        return "Passkey" if count == 0 else f"Passkey {count + 1}"
