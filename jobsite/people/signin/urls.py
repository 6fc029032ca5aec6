"""Addresses that stand before allauth's own, whose pages of these names are not ours."""

from django.urls import path
from django.views.generic import RedirectView

from jobsite.people.guard import open_to_all

# A person's e-mail address is how their account is found: nobody adds another to it by themselves, without the firm knowing.
# One's sessions are listed on a page that ends them one by one.
urlpatterns = [
    path("email/", open_to_all(RedirectView.as_view(pattern_name="mfa_index")), name="account_email"),
    path("sessions/", open_to_all(RedirectView.as_view(pattern_name="people:my_sessions")), name="usersessions_list"),
]
