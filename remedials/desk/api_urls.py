"""Addresses of the API, version 1."""

from django.urls import path

from remedials.desk.api import booking, getting_in, ground, observations, quotes, reading, readings, remedials, visits

app_name = "api"
urlpatterns = [
    path("schema/", ground.Schema.as_view(), name="schema"),
    path("sites/", reading.Sites.as_view(), name="sites"),
    path("sites/<uuid:pk>/", reading.OneSite.as_view(), name="site"),
    path("sites/<uuid:pk>/report-defect/", observations.ReportDefect.as_view(), name="report_defect"),
    path("boards/", reading.Boards.as_view(), name="boards"),
    path("boards/<uuid:pk>/", reading.OneBoard.as_view(), name="board"),
    path("observations/", reading.Observations.as_view(), name="observations"),
    path("observations/<uuid:pk>/", reading.OneObservation.as_view(), name="observation"),
    path("observations/<uuid:pk>/review/", observations.Review.as_view(), name="review_code"),
    path("observations/<uuid:pk>/take-on/", observations.TakeOn.as_view(), name="take_on_observation"),
    path("readings/", readings.Readings.as_view(), name="readings"),
    path("readings/<uuid:pk>/", readings.OneReading.as_view(), name="reading"),
    path("circuits/<uuid:pk>/take-reading/", readings.TakeReading.as_view(), name="take_reading"),
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
    path("quotes/", quotes.Quotes.as_view(), name="quotes"),
    path("quotes/<uuid:pk>/", quotes.OneQuote.as_view(), name="quote"),
    path("remedials/", reading.Remedials.as_view(), name="remedials"),
    path("remedials/make/", remedials.Make.as_view(), name="make"),
    path("remedials/<uuid:pk>/", reading.OneRemedial.as_view(), name="remedial"),
    path("remedials/<uuid:pk>/approve/", remedials.Approve.as_view(), name="approve"),
    path("remedials/<uuid:pk>/decline/", remedials.Decline.as_view(), name="decline"),
    path("remedials/<uuid:pk>/cancel/", remedials.Cancel.as_view(), name="cancel"),
    path("remedials/<uuid:pk>/take-on/", remedials.TakeOn.as_view(), name="take_on_remedial"),
    path("remedials/<uuid:pk>/photos/", remedials.AddPhoto.as_view(), name="add_photo"),
    path("remedials/<uuid:pk>/close/", remedials.Close.as_view(), name="close"),
    path("remedials/<uuid:pk>/review/", remedials.Review.as_view(), name="review_proof"),
    path("remedials/<uuid:pk>/reopen/", remedials.Reopen.as_view(), name="reopen"),
]
