"""Addresses of inspections, observations and readings."""

from django.urls import path

from inspections.views import acting, deciding, drafting, entering, files, issuing, metering, reading

app_name = "inspections"
urlpatterns = [
    path("inspections/", entering.inspections, name="inspections"),
    path("inspections/<uuid:pk>/", issuing.inspection, name="inspection"),
    path("inspections/<uuid:pk>/edit/", entering.edit, name="edit"),
    path("inspections/<uuid:pk>/issue/", issuing.issue, name="issue"),
    path("inspections/<uuid:pk>/file/", files.report_file, name="file"),
    path("inspections/<uuid:pk>/codes/", deciding.codes, name="codes"),
    path("inspections/<uuid:pk>/missed/", deciding.missed, name="missed"),
    path("inspections/<uuid:pk>/dates/", issuing.count_again, name="count_again"),
    path("inspections/<uuid:pk>/limitations/new/", entering.limitation_new, name="limitation_new"),
    path("limitations/<uuid:pk>/remove/", entering.limitation_remove, name="limitation_remove"),
    path("limitations/<uuid:pk>/cover/", entering.limitation_cover, name="limitation_cover"),
    path("sites/<uuid:pk>/ways/", drafting.ways, name="ways"),
    path("sites/<uuid:pk>/inspections/new/", entering.new, name="new"),
    path("observations/<uuid:pk>/change/", drafting.change, name="change"),
    path("observations/<uuid:pk>/drop/", drafting.drop, name="drop"),
    path("rang/", acting.rang, name="rang"),
    path("observations/<uuid:pk>/review/", deciding.review, name="review"),
    path("observations/<uuid:pk>/finding/", deciding.finding, name="finding"),
    path("observations/<uuid:pk>/finding/withdraw/", deciding.withdraw_finding, name="withdraw_finding"),
    path("observations/<uuid:pk>/make-safe/", acting.make_safe, name="make_safe"),
    path("observations/<uuid:pk>/look-again/", acting.look_again, name="look_again"),
    path("observations/<uuid:pk>/reconnect/", acting.reconnect, name="reconnect"),
    path("observations/<uuid:pk>/notice/", acting.notice, name="notice"),
    path("observations/<uuid:pk>/take-on/", acting.take_on, name="take_on"),
    path("observations/<uuid:pk>/photos/new/", acting.photo_add, name="photo_add"),
    path("observations/<uuid:pk>/meters/", metering.meters, name="meters"),
    path("notices/<uuid:pk>/document/", files.notice_document, name="notice_document"),
    path("notices/<uuid:pk>/answer/", acting.notice_answer, name="notice_answer"),
    path("photos/<uuid:pk>/", files.photo, name="photo"),
    path("made-safe/<uuid:pk>/photo/", files.made_safe_photo, name="made_safe_photo"),
    path("circuits/<uuid:pk>/readings/new/", reading.reading, name="reading"),
    path("circuits/<uuid:pk>/readings/new/judge/", reading.judge_circuit, name="judge_circuit"),
    path("boards/<uuid:pk>/readings/", reading.board_readings, name="board_readings"),
    path("boards/<uuid:pk>/readings/judge/", reading.judge_board, name="judge_board"),
]
