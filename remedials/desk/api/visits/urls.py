"""Their addresses."""

from django.urls import path

from remedials.desk.api.visits import booking, getting_in, visits

urlpatterns = [
    path("sites/<uuid:pk>/book-visit/", booking.Book.as_view(), name="book_visit"),
    path("visits/", visits.Visits.as_view(), name="visits"),
    path("visits/<uuid:pk>/", visits.OneVisit.as_view(), name="visit"),
    path("visits/<uuid:pk>/move/", booking.Move.as_view(), name="move_visit"),
    path("visits/<uuid:pk>/ask/", booking.Ask.as_view(), name="ask_visit"),
    path("visits/<uuid:pk>/confirm/", booking.Confirm.as_view(), name="confirm_visit"),
    path("visits/<uuid:pk>/no-access/", booking.NoAccess.as_view(), name="no_access"),
    path("visits/<uuid:pk>/cancel/", booking.Cancel.as_view(), name="cancel_visit"),
    path("visits/<uuid:pk>/check-in/", getting_in.In.as_view(), name="check_in"),
    path("visits/<uuid:pk>/check-out/", getting_in.Out.as_view(), name="check_out"),
    path("attempts/", getting_in.Attempts.as_view(), name="attempts"),
    path("attempts/<uuid:pk>/", getting_in.OneAttempt.as_view(), name="attempt"),
    path("sites/<uuid:pk>/log-attempt/", getting_in.LogAttempt.as_view(), name="log_attempt"),
]
