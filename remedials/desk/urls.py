"""Addresses of the desk: the pages that show everything together."""

from django.urls import path

from remedials.desk import boards, phone, views, waits

app_name = "desk"
urlpatterns = [
    path("", views.due, name="due"),
    path("sites/", views.sites, name="sites"),
    path("sites/<uuid:pk>/", views.site, name="site"),
    path("sites/<uuid:pk>/history/", views.history, name="history"),
    path("sites/<uuid:pk>/history.txt", views.history_text, name="history_text"),
    path("observations/<uuid:pk>/", views.observation, name="observation"),
    path("boards/<uuid:pk>/", boards.board, name="board"),
    path("sites/<uuid:pk>/isolation/", boards.isolation, name="isolation"),
    path("remedials/<uuid:pk>/", views.remedial, name="remedial"),
    path("waits/", waits.waits, name="waits"),
    path("waits/chase/", waits.chase, name="waits_chase"),
    path("find/", views.search, name="search"),
    path("phone/pack/", phone.phone_pack, name="phone_pack"),
]
