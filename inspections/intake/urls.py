"""Addresses of intake."""

from django.urls import path

from inspections.intake import views

app_name = "intake"
urlpatterns = [
    path("new/", views.new, name="new"),
    path("columns/", views.columns, name="columns"),
    path("templates/<slug:kind>.xlsx", views.empty, name="template"),
    path("<uuid:pk>/", views.intake, name="intake"),
    path("<uuid:pk>/read/", views.read_here, name="read_here"),
    path("<uuid:pk>/read-again/", views.read_again, name="read_again"),
    path("<uuid:pk>/leave-out/", views.leave_out, name="leave_out"),
    path("<uuid:pk>/put-back/", views.put_back, name="put_back"),
    path("<uuid:pk>/set-aside/", views.set_aside, name="set_aside"),
    path("<uuid:pk>/file/", views.file, name="file"),
]
