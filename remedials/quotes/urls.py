"""Addresses of prices, the price book and quotes, room by room."""

from django.urls import URLPattern, path

from remedials.quotes.views import lists as of_lists

app_name = "quotes"

prices: list[URLPattern] = []
building: list[URLPattern] = []
sending: list[URLPattern] = []
answering: list[URLPattern] = []
lists: list[URLPattern] = [
    path("quotes/", of_lists.quotes, name="quotes"),
    path("quotes/figures/", of_lists.figures, name="figures"),
    path("quotes/accepted/", of_lists.accepted, name="accepted"),
]

urlpatterns = [*prices, *building, *sending, *answering, *lists]
