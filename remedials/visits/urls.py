"""Addresses of visits: the diary, booking, getting in, calendar feeds, the planner."""

from django.urls import URLPattern, path

from remedials.visits.views import diary, visits

app_name = "visits"

BOOKING = [
    path("visits/new/", visits.book, name="book"),
    path("visits/<uuid:pk>/", visits.visit, name="visit"),
    path("visits/<uuid:pk>/cancel/", visits.cancel, name="cancel"),
]
DIARY = [
    path("diary/", diary.diary, name="diary"),
    path("diary/gap/", diary.gap, name="gap"),
    path("diary/visits/<uuid:pk>/move/", diary.move, name="diary_move"),
]
MY_DAY = [
    path("my-day/", visits.my_day, name="my_day"),
]
CHECKS: list[URLPattern] = []
FEEDS_AND_SHEETS: list[URLPattern] = []
GETTING_IN: list[URLPattern] = []
PLANNER: list[URLPattern] = []

urlpatterns = [*BOOKING, *DIARY, *MY_DAY, *CHECKS, *FEEDS_AND_SHEETS, *GETTING_IN, *PLANNER]
