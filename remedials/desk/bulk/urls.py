"""Addresses of taking everything out."""

from django.urls import path

from remedials.desk.bulk import views

app_name = "bulk"
urlpatterns = [
    path("", views.take_outs, name="take_outs"),
    path("progress/", views.progress, name="progress"),
    path("<uuid:pk>/file/", views.file, name="file"),
    path("<uuid:pk>/drop/", views.drop, name="drop"),
    path("<uuid:pk>/here/", views.here, name="here"),
]
