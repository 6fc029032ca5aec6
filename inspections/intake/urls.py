"""Addresses of intake."""

from django.urls import path

from inspections.intake.views import looking_over, sending

app_name = "intake"
urlpatterns = [
    path("new/", sending.new, name="new"),
    path("columns/", sending.columns, name="columns"),
    path("templates/<slug:kind>.xlsx", sending.empty, name="template"),
    path("<uuid:pk>/", looking_over.intake, name="intake"),
    path("<uuid:pk>/read/", sending.read_here, name="read_here"),
    path("<uuid:pk>/read-again/", sending.read_again, name="read_again"),
    path("<uuid:pk>/leave-out/", looking_over.leave_out, name="leave_out"),
    path("<uuid:pk>/put-back/", looking_over.put_back, name="put_back"),
    path("<uuid:pk>/correct/", looking_over.correct, name="correct"),
    path("<uuid:pk>/as-in-file/", looking_over.as_in_file, name="as_in_file"),
    path("<uuid:pk>/set-aside/", sending.set_aside, name="set_aside"),
    path("<uuid:pk>/file/", sending.file, name="file"),
]
