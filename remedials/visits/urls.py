"""Addresses of visits."""

from django.urls import path

from remedials.visits import views

app_name = "visits"
urlpatterns = [
    path("visits/new/", views.book, name="book"),
    path("visits/<uuid:pk>/", views.visit, name="visit"),
    path("visits/<uuid:pk>/cancel/", views.cancel, name="cancel"),
    path("my-day/", views.my_day, name="my_day"),
    path("diary/", views.diary, name="diary"),
]
