"""allauth's forms in our words; wrong codes are written down, and proving again who one is gives the session another key."""

from typing import Any

from allauth.account.forms import (
    ChangePasswordForm,
    LoginForm,
    ResetPasswordForm,
    ResetPasswordKeyForm,
)
from allauth.account.forms import (
    ReauthenticateForm as PasswordAgain,
)
from allauth.core import context
from allauth.mfa.base.forms import AuthenticateForm, ReauthenticateForm
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.webauthn.forms import AddWebAuthnForm, ReauthenticateWebAuthnForm
from django import forms

from jobsite.people.models import SignIn
from jobsite.people.signin.adapter import MEANS, note, proved_again

LABELS = {
    "code": "Code",
    "email": "E-mail",
    "login": "E-mail",
    "oldpassword": "The password that you have now",
    "password": "Password",
    "password1": "New password",
    "password2": "The same once more",
}
WHICH_PASSWORDS = "None that others use often or that was stolen elsewhere, and none made of the firm's name, its trade or your own name."


class InOurWords(forms.Form):
    """Mixed in before a form of the library: its labels are ours, and no field says its own name a second time in itself."""

    not_yet = "Not done yet: put this right"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            field.widget.attrs.pop("placeholder", None)
            field.label = LABELS.get(name, field.label)
        if "password1" in self.fields:
            self.fields["password1"].help_text = WHICH_PASSWORDS


class SignInForm(InOurWords, LoginForm):
    """The e-mail address and the password."""

    not_yet = "You are not signed in yet"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].widget.attrs["autocomplete"] = "username"


class OtherPasswordForm(InOurWords, ChangePasswordForm):
    """Another password, by who has one."""


class ForgottenForm(InOurWords, ResetPasswordForm):
    """Where the link goes that sets another password."""


class PasswordByLinkForm(InOurWords, ResetPasswordKeyForm):
    """A password set by that link, or that of an invitation."""


class PasswordAgainForm(InOurWords, PasswordAgain):
    """The password, asked for before the means of signing in are changed."""


class SetUpAppForm(InOurWords, ActivateTOTPForm):
    """The first code of an authenticator app, which shows that it works."""


class CodeForm(InOurWords, AuthenticateForm):
    """The second step of signing in: a code of the app, or a recovery code."""

    not_yet = "You are not signed in yet"

    def _emit_authentication_failed(self, authenticator: Authenticator) -> None:
        super()._emit_authentication_failed(authenticator)
        note(context.request, self.user, SignIn.What.WRONG_CODE, MEANS[authenticator.type])


class CodeAgainForm(InOurWords, ReauthenticateForm):
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
