"""Addresses that stand before allauth's own, whose pages of these names are not ours."""

from typing import Any

from allauth.account.views import PasswordResetFromKeyView
from django.http import HttpResponse
from django.urls import path, re_path
from django.views.generic import RedirectView

from jobsite.people.guard import open_to_all
from jobsite.people.signin import tries


class SetByLink(PasswordResetFromKeyView):
    """A password is set by the link in an e-mail."""

    def form_valid(self, form: Any) -> HttpResponse:
        """The device is known from then on: whoever reads the person's mail is no stranger, and a stranger who goes on
        trying passwords must not keep them from signing in with the one that they just chose."""
        response = super().form_valid(form)
        tries.remember_device(self.request, response, self.reset_user.email)
        return response


# A person's e-mail address is how their account is found: nobody adds another to it by themselves, without the firm knowing.
# One's sessions are listed on a page that ends them one by one.
BY_LINK = r"^password/reset/key/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$"  # as the library's own
urlpatterns = [
    re_path(BY_LINK, open_to_all(SetByLink.as_view()), name="account_reset_password_from_key"),
    path("email/", open_to_all(RedirectView.as_view(pattern_name="mfa_index")), name="account_email"),
    path("sessions/", open_to_all(RedirectView.as_view(pattern_name="people:my_sessions")), name="usersessions_list"),
]
