"""Their addresses."""

from django.urls import path

from remedials.desk.api.works import nouns, remedials

urlpatterns = [
    path("remedials/", nouns.Remedials.as_view(), name="remedials"),
    path("remedials/make/", remedials.Make.as_view(), name="make"),
    path("remedials/<uuid:pk>/", nouns.OneRemedial.as_view(), name="remedial"),
    path("remedials/<uuid:pk>/approve/", remedials.Approve.as_view(), name="approve"),
    path("remedials/<uuid:pk>/decline/", remedials.Decline.as_view(), name="decline"),
    path("remedials/<uuid:pk>/cancel/", remedials.Cancel.as_view(), name="cancel"),
    path("remedials/<uuid:pk>/take-on/", remedials.TakeOn.as_view(), name="take_on_remedial"),
    path("remedials/<uuid:pk>/photos/", remedials.AddPhoto.as_view(), name="add_photo"),
    path("remedials/<uuid:pk>/close/", remedials.Close.as_view(), name="close"),
    path("remedials/<uuid:pk>/leave/", remedials.Leave.as_view(), name="leave"),
    path("remedials/<uuid:pk>/power/", remedials.Power.as_view(), name="power"),
    path("remedials/<uuid:pk>/review/", remedials.Review.as_view(), name="review_proof"),
    path("remedials/<uuid:pk>/reopen/", remedials.Reopen.as_view(), name="reopen"),
]
