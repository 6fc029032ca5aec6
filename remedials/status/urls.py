"""Addresses of customers' pages."""

from django.urls import path

from remedials.status import views
from remedials.status.copies import views as copies
from remedials.status.portfolio import views as portfolio
from remedials.status.privacy.views import public
from remedials.status.proof import views as proof
from remedials.status.proof.views_check import check
from remedials.status.proof.views_year import customers_year

app_name = "status"
urlpatterns = [
    path("copy/<str:token>/", copies.shared, name="copy"),
    path("copy/<str:token>/file/", copies.shared_file, name="copy_file"),
    path("privacy/", public, name="privacy"),
    path("check/", check, name="check"),
    path("s/<str:token>/", views.site, name="site"),
    path("s/<str:token>/photos/<uuid:pk>/", views.photo, name="photo"),
    path("s/<str:token>/documents/<slug:which>/", proof.customers_document, name="document"),
    path("p/<str:token>/", portfolio.portfolio, name="portfolio"),
    path("p/<str:token>/summary/", portfolio.in_short, name="portfolio_summary"),
    path("p/<str:token>/summary/document/", portfolio.in_short_document, name="portfolio_summary_document"),
    path("p/<str:token>/years/<int:year>/", customers_year, name="portfolio_year"),
    path("p/<str:token>/units/<uuid:pk>/", portfolio.unit, name="portfolio_unit"),
    path("p/<str:token>/units/<uuid:pk>/photos/<uuid:photo>/", portfolio.unit_photo, name="portfolio_photo"),
    path("p/<str:token>/units/<uuid:pk>/documents/<slug:which>/", portfolio.unit_document, name="portfolio_document"),
    path("p/<str:token>/units/<uuid:pk>/no-access/", portfolio.no_access, name="portfolio_no_access"),
]
