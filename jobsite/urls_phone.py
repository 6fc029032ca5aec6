"""Addresses of what a phone needs besides pages. The worker stands at the root: so it answers for every page."""

from django.urls import path

from jobsite import phone

app_name = "phone"
urlpatterns = [
    path("worker.js", phone.worker, name="worker"),
    path("manifest.webmanifest", phone.manifest, name="manifest"),
    path("phone/here/", phone.here, name="here"),
    path("phone/nothing/", phone.nothing, name="nothing"),
]
