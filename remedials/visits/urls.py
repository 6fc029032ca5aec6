"""Addresses of visits: the diary, booking, getting in, calendar feeds, the planner."""

from django.urls import path

from remedials.visits.urls_getting_in import GETTING_IN
from remedials.visits.urls_sheets import FEEDS_AND_SHEETS
from remedials.visits.views import booking, confirming, diary, driving, planning, terms, visits

app_name = "visits"

BOOKING = [
    path("visits/new/", booking.book, name="book"),
    path("visits/<uuid:pk>/", visits.visit, name="visit"),
    path("visits/<uuid:pk>/cancel/", booking.cancel, name="cancel"),
    path("visits/<uuid:pk>/ask/", confirming.ask, name="ask"),
    path("visits/<uuid:pk>/answered/", confirming.answered, name="answered"),
    path("visits/<uuid:pk>/no-access/", visits.no_access, name="no_access"),
    path("visits/<uuid:pk>/settle/", visits.settle, name="settle"),
    path("v/<str:token>/", confirming.asked, name="asked"),
]
DIARY = [
    path("diary/", diary.diary, name="diary"),
    path("diary/gap/", diary.gap, name="gap"),
    path("diary/visits/<uuid:pk>/move/", diary.move, name="diary_move"),
]
MY_DAY = [
    path("my-day/", visits.my_day, name="my_day"),
]
CHECKS = [
    path("diary/terms/", terms.terms, name="terms"),
]
PLANNER = [
    path("plans/", planning.plans, name="plans"),
    path("plans/new/", planning.plan_new, name="plan_new"),
    path("plans/<uuid:pk>/", planning.plan, name="plan"),
    path("plans/<uuid:pk>/work-out/", planning.plan_here, name="plan_here"),
    path("plans/<uuid:pk>/accept-all/", planning.plan_accept_all, name="plan_accept_all"),
    path("proposals/<uuid:pk>/accept/", planning.proposal_accept, name="proposal_accept"),
    path("proposals/<uuid:pk>/refuse/", planning.proposal_refuse, name="proposal_refuse"),
    path("driving/", driving.driving, name="driving"),
    path("driving/file/", driving.driving_file, name="driving_file"),
    path("driving/drop/", driving.driving_drop, name="driving_drop"),
]

urlpatterns = [*BOOKING, *DIARY, *MY_DAY, *CHECKS, *FEEDS_AND_SHEETS, *GETTING_IN, *PLANNER]
