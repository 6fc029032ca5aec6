"""allauth's forms for codes: wrong ones are written down, and proving again who one is gives the session another key."""

from typing import Any

from allauth.core import context
from allauth.mfa.base.forms import AuthenticateForm, ReauthenticateForm
from allauth.mfa.models import Authenticator
from allauth.mfa.webauthn.forms import AddWebAuthnForm, ReauthenticateWebAuthnForm
from django import forms

from jobsite.people.models import SignIn
from jobsite.people.signin.adapter import MEANS, note, proved_again


class CodeForm(AuthenticateForm):
    """The second step of signing in: a code of the app, or a recovery code."""

    def _emit_authentication_failed(self, authenticator: Authenticator) -> None:
        super()._emit_authentication_failed(authenticator)
        note(context.request, self.user, SignIn.What.WRONG_CODE, MEANS[authenticator.type])


class CodeAgainForm(ReauthenticateForm):
    """A code asked for before the means of signing in are changed."""

    def _emit_authentication_failed(self, authenticator: Authenticator) -> None:
        super()._emit_authentication_failed(authenticator)
        note(context.request, self.user, SignIn.What.WRONG_CODE, MEANS[authenticator.type])

    def save(self) -> None:
        """Note that it was right."""
        super().save()
        proved_again(context.request)


class PasskeyAgainForm(ReauthenticateWebAuthnForm):
    """A passkey asked for before the means of signing in are changed."""

    def save(self) -> None:
        """Note that it was right."""
        super().save()
        proved_again(context.request)


class NewPasskeyForm(AddWebAuthnForm):
    """A new passkey; that it opens without a password is what most people mean by one."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        name: Any = self.fields["name"]
        name.label, name.max_length = "What you call it", 100
        name.help_text = "Such as: my phone, the key on my ring."
        passwordless: Any = self.fields["passwordless"]
        passwordless.label = "Signs in without a password"
        passwordless.help_text = "The device then asks for your finger, your face or a PIN by itself."
        self.fields["credential"].widget = forms.HiddenInput()
