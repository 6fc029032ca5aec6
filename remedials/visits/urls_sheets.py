"""Addresses of calendar feeds, job sheets and what to bring."""

from django.urls import path

from remedials.visits.views import feeds, sheets

FEEDS_AND_SHEETS = [
    path("calendar/<str:token>.ics", feeds.read, name="calendar"),
    path("calendar-addresses/", feeds.addresses, name="calendars"),
    path("calendar-addresses/everybody/make/", feeds.make_all, name="calendar_make_all"),
    path("people/<uuid:pk>/calendar-address/", feeds.make, name="calendar_make"),
    path("calendar-addresses/<uuid:pk>/withdraw/", feeds.withdraw, name="calendar_withdraw"),
    path("visits/<uuid:pk>/job-sheet/", sheets.sheet, name="job_sheet"),
    path("visits/<uuid:pk>/bring/", sheets.bring, name="bring"),
    path("my-day/bring/", sheets.bring_on, name="my_bring"),
    path("my-day/calendar/", feeds.own, name="my_calendar"),
    path("my-day/calendar/make/", feeds.make_own, name="my_calendar_make"),
    path("my-day/calendar/withdraw/", feeds.withdraw_own, name="my_calendar_withdraw"),
]
