"""Addresses of visits: the diary, booking, getting in, calendar feeds, the planner."""

from django.urls import URLPattern, path

from remedials.visits.views import visits

app_name = "visits"

BOOKING = [
    path("visits/new/", visits.book, name="book"),
    path("visits/<uuid:pk>/", visits.visit, name="visit"),
    path("visits/<uuid:pk>/cancel/", visits.cancel, name="cancel"),
]
DIARY = [
    path("diary/", visits.diary, name="diary"),
]
MY_DAY = [
    path("my-day/", visits.my_day, name="my_day"),
]
CHECKS: list[URLPattern] = []
FEEDS_AND_SHEETS: list[URLPattern] = []
GETTING_IN: list[URLPattern] = []
PLANNER: list[URLPattern] = []

urlpatterns = [*BOOKING, *DIARY, *MY_DAY, *CHECKS, *FEEDS_AND_SHEETS, *GETTING_IN, *PLANNER]
