"""Their addresses."""

from django.urls import path

from remedials.desk.api.status import archives, figures, handed, privacy

urlpatterns = [
    path("archives/", archives.Archives.as_view(), name="archives"),
    path("archives/<uuid:pk>/", archives.OneArchive.as_view(), name="archive"),
    path("archives/<uuid:pk>/file/", archives.ArchiveFile.as_view(), name="archive_file"),
    path("archives/ask-for-pack/", archives.AskForPack.as_view(), name="ask_for_pack"),
    path("archives/<uuid:pk>/ask-again/", archives.AskAgain.as_view(), name="ask_again"),
    path("sites/<uuid:pk>/ask-for-record/", archives.AskForRecord.as_view(), name="ask_for_record"),
    path("holds/", archives.Holds.as_view(), name="holds"),
    path("holds/<uuid:pk>/", archives.OneHold.as_view(), name="hold"),
    path("holds/place/", archives.HoldFirm.as_view(), name="hold_firm"),
    path("sites/<uuid:pk>/hold/", archives.HoldSite.as_view(), name="hold_site"),
    path("holds/<uuid:pk>/lift/", archives.LiftHold.as_view(), name="lift_hold"),
    path("kept/", privacy.AllKept.as_view(), name="all_kept"),
    path("kept/<slug:data>/", privacy.OneKept.as_view(), name="kept"),
    path("kept/<slug:data>/set/", privacy.SetKept.as_view(), name="set_kept"),
    path("customers/<uuid:pk>/personal-data/", privacy.About.as_view(), name="personal_data"),
    path("customers/<uuid:pk>/export/", privacy.Export.as_view(), name="export_personal_data"),
    path("customers/<uuid:pk>/export/<uuid:form>/", privacy.ExportFile.as_view(), name="personal_data_file"),
    path("customers/<uuid:pk>/erase/", privacy.Erase.as_view(), name="erase_personal_data"),
    path("erasures/", privacy.Erasures.as_view(), name="erasures"),
    path("erasures/<uuid:pk>/", privacy.OneErasure.as_view(), name="erasure"),
    path("sites/<uuid:pk>/documents/", handed.Documents.as_view(), name="site_documents"),
    path("sites/<uuid:pk>/documents/<slug:which>/", handed.DocumentFile.as_view(), name="site_document"),
    path("report-copies/", handed.Copies.as_view(), name="report_copies"),
    path("report-copies/<uuid:pk>/", handed.OneCopy.as_view(), name="report_copy"),
    path("report-copies/<uuid:pk>/file/", handed.CopyFile.as_view(), name="report_copy_file"),
    path("report-copies/<uuid:pk>/send-link/", handed.SendCopyLink.as_view(), name="send_copy_link"),
    path("inspections/<uuid:pk>/texts/", handed.Texts.as_view(), name="report_texts"),
    path("inspections/<uuid:pk>/make-copy/", handed.MakeCopy.as_view(), name="make_report_copy"),
    path("figures/ages/", figures.Ages.as_view(), name="figures_ages"),
    path("figures/remedy/", figures.Remedy.as_view(), name="figures_remedy"),
    path("figures/in-time/", figures.InTime.as_view(), name="figures_in_time"),
    path("figures/engineers/", figures.Engineers.as_view(), name="figures_engineers"),
    path("figures/quotes/", figures.Quotes.as_view(), name="figures_quotes"),
    path("figures/access/", figures.Access.as_view(), name="figures_access"),
    path("figures/inspections/", figures.Inspections.as_view(), name="figures_inspections"),
]
