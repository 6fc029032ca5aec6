"""Their addresses."""

from django.urls import path

from remedials.desk.api.inspections import nouns, observations, readings

urlpatterns = [
    path("sites/<uuid:pk>/report-defect/", observations.ReportDefect.as_view(), name="report_defect"),
    path("observations/", nouns.Observations.as_view(), name="observations"),
    path("observations/<uuid:pk>/", nouns.OneObservation.as_view(), name="observation"),
    path("observations/<uuid:pk>/review/", observations.Review.as_view(), name="review_code"),
    path("observations/<uuid:pk>/take-on/", observations.TakeOn.as_view(), name="take_on_observation"),
    path("readings/", readings.Readings.as_view(), name="readings"),
    path("readings/<uuid:pk>/", readings.OneReading.as_view(), name="reading"),
    path("circuits/<uuid:pk>/take-reading/", readings.TakeReading.as_view(), name="take_reading"),
]
