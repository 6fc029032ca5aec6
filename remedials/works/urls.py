"""Addresses of remedials."""

from django.urls import path

from remedials.works import views

app_name = "works"
urlpatterns = [
    path("remedials/", views.remedials, name="remedials"),
    path("reviews/", views.reviews, name="reviews"),
    path("sites/<uuid:pk>/remedials/new/", views.make, name="make"),
    path("remedials/<uuid:pk>/edit/", views.edit, name="edit"),
    path("remedials/<uuid:pk>/take-on/", views.take_on, name="take_on"),
    path("remedials/parts/", views.parts_to_come, name="parts_to_come"),
    path("remedials/<uuid:pk>/parts/", views.parts_ready, name="parts_ready"),
    path("remedials/<uuid:pk>/approve/", views.approve, name="approve"),
    path("remedials/<uuid:pk>/decline/", views.decline, name="decline"),
    path("remedials/<uuid:pk>/offer-again/", views.offer_again, name="offer_again"),
    path("remedials/<uuid:pk>/cancel/", views.cancel, name="cancel"),
    path("remedials/<uuid:pk>/by-others/", views.by_others, name="by_others"),
    path("remedials/<uuid:pk>/wait/", views.wait, name="wait"),
    path("observations/<uuid:pk>/wait/", views.wait_observation, name="wait_observation"),
    path("waiting/<uuid:pk>/chase/", views.chase, name="chase"),
    path("waiting/<uuid:pk>/end/", views.end_waiting, name="end_waiting"),
    path("remedials/<uuid:pk>/close/", views.close, name="close"),
    path("remedials/<uuid:pk>/power/", views.power, name="power"),
    path("remedials/<uuid:pk>/photos/", views.photo_add, name="photo_add"),
    path("remedials/<uuid:pk>/part-done/", views.part_done, name="part_done"),
    path("required-readings/<uuid:pk>/", views.reading, name="reading"),
    path("remedials/<uuid:pk>/review/", views.review, name="review"),
    path("remedials/<uuid:pk>/reopen/", views.reopen, name="reopen"),
    path("instruments/<uuid:pk>/", views.instrument, name="instrument"),
    path("recalls/", views.recalls, name="recalls"),
    path("recalls/<uuid:pk>/", views.recall, name="recall"),
    path("recalls/<uuid:pk>/readings/<uuid:reading>/", views.recall_decide, name="recall_decide"),
    path("instruments/<uuid:pk>/found-wrong/", views.found_wrong, name="found_wrong"),
    path("proof-photos/<uuid:pk>/", views.photo, name="photo"),
    path("proof-photos/<uuid:pk>/remove/", views.photo_remove, name="photo_remove"),
    path("proofs/<uuid:pk>/certificate/", views.certificate, name="certificate"),
]
