"""Addresses of the office's pages of what customers see and keep, and of what is kept of people."""

from django.urls import path

from remedials.status.bundles import views as bundles
from remedials.status.copies import views as copies
from remedials.status.portfolio import views as portfolio
from remedials.status.privacy import views as privacy
from remedials.status.proof import views as proof
from remedials.status.proof.views_year import office_year

app_name = "proof"
urlpatterns = [
    path("inspections/<uuid:pk>/copies/", copies.copy_new, name="copy_new"),
    path("report-copies/<uuid:pk>/", copies.copy, name="copy"),
    path("report-copies/<uuid:pk>/file/", copies.copy_file, name="copy_file"),
    path("report-copies/<uuid:pk>/link/", copies.copy_link, name="copy_link"),
    path("report-copies/<uuid:pk>/papers/<uuid:paper>/", copies.copy_meets, name="copy_meets"),
    path("customers/<uuid:pk>/personal-data/", privacy.personal, name="personal"),
    path("customers/<uuid:pk>/personal-data/export/", privacy.export, name="export"),
    path("customers/<uuid:pk>/personal-data/erase/", privacy.erase, name="erase"),
    path("kept/", privacy.retention, name="retention"),
    path("kept/<slug:data>/", privacy.retention_edit, name="retention_edit"),
    path("sites/<uuid:pk>/record/", bundles.site_record, name="site_record"),
    path("sites/<uuid:pk>/record/hold/", bundles.hold_site, name="hold_site"),
    path("archives/<uuid:pk>/", bundles.archive, name="archive"),
    path("archives/<uuid:pk>/file/", bundles.archive_file, name="archive_file"),
    path("archives/<uuid:pk>/again/", bundles.archive_again, name="archive_again"),
    path("archives/<uuid:pk>/here/", bundles.archive_here, name="archive_here"),
    path("assessor/", bundles.assessor, name="assessor"),
    path("holds/", bundles.holds, name="holds"),
    path("holds/<uuid:pk>/lift/", bundles.hold_lift, name="hold_lift"),
    path("sites/<uuid:pk>/proof/", proof.site_documents, name="site_documents"),
    path("sites/<uuid:pk>/proof/documents/<slug:which>/", proof.office_document, name="document"),
    path("customers/<uuid:pk>/portfolio/", portfolio.office_portfolio, name="portfolio"),
    path("customers/<uuid:pk>/portfolio/summary/", portfolio.office_in_short, name="portfolio_summary"),
    path(
        "customers/<uuid:pk>/portfolio/summary/document/",
        portfolio.office_in_short_document,
        name="portfolio_summary_document",
    ),
    path("customers/<uuid:pk>/portfolio/years/<int:year>/", office_year, name="portfolio_year"),
    path("customers/<uuid:pk>/portfolio/units/<uuid:unit>/", portfolio.office_unit, name="portfolio_unit"),
    path(
        "customers/<uuid:pk>/portfolio/units/<uuid:unit>/photos/<uuid:photo>/",
        portfolio.office_unit_photo,
        name="portfolio_photo",
    ),
    path(
        "customers/<uuid:pk>/portfolio/units/<uuid:unit>/documents/<slug:which>/",
        portfolio.office_unit_document,
        name="portfolio_document",
    ),
    path(
        "customers/<uuid:pk>/portfolio/units/<uuid:unit>/no-access/",
        portfolio.office_no_access,
        name="portfolio_no_access",
    ),
]
