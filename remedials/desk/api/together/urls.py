"""Their addresses."""

from django.urls import path

from remedials.desk.api.together import history, portfolio, search

OF_CUSTOMER = "customers/<uuid:pk>/portfolio/"
urlpatterns = [
    path("find/", search.Search.as_view(), name="find"),
    path("sites/<uuid:pk>/history/", history.History.as_view(), name="site_history"),
    path("sites/<uuid:pk>/history/file/", history.HistoryFile.as_view(), name="site_history_file"),
    path(OF_CUSTOMER, portfolio.Portfolio.as_view(), name="portfolio"),
    path(f"{OF_CUSTOMER}summary/", portfolio.PortfolioSummary.as_view(), name="portfolio_summary"),
    path(f"{OF_CUSTOMER}summary/file/", portfolio.PortfolioSummaryFile.as_view(), name="portfolio_summary_file"),
    path(f"{OF_CUSTOMER}years/<int:year>/", portfolio.PortfolioYear.as_view(), name="portfolio_year"),
    path(
        f"{OF_CUSTOMER}units/<uuid:unit>/documents/<slug:which>/",
        portfolio.PortfolioDocument.as_view(),
        name="portfolio_document",
    ),
    path(
        f"{OF_CUSTOMER}units/<uuid:unit>/no-access/", portfolio.PortfolioNoAccess.as_view(), name="portfolio_no_access"
    ),
]
