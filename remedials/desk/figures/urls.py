"""Addresses of the figures."""

from django.urls import path

from remedials.desk.figures import views

app_name = "figures"
urlpatterns = [
    path("", views.ages, name="ages"),
    path("remedy/", views.remedy, name="remedy"),
    path("in-time/", views.in_time, name="in_time"),
    path("engineers/", views.engineers, name="engineers"),
    path("quotes/", views.quotes, name="quotes"),
    path("access/", views.access, name="access"),
    path("inspections/", views.inspections, name="inspections"),
]
