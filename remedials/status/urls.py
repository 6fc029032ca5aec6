"""Addresses of customers' pages."""

from django.urls import path

from remedials.status import views

app_name = "status"
urlpatterns = [
    path("s/<str:token>/", views.site, name="site"),
    path("s/<str:token>/photos/<uuid:pk>/", views.photo, name="photo"),
]
