"""Addresses of premises."""

from django.urls import path

from jobsite.premises.views import boards, circuits, links, parties, sites

app_name = "premises"
urlpatterns = [
    path("customers/", parties.parties, name="parties"),
    path("customers/new/", parties.party_new, name="party_new"),
    path("customers/<uuid:pk>/", parties.party, name="party"),
    path("customers/<uuid:pk>/edit/", parties.party_edit, name="party_edit"),
    path("customers/<uuid:pk>/archive/", parties.party_archive, name="party_archive"),
    path("sites/new/", sites.site_new, name="site_new"),
    path("sites/<uuid:pk>/premises/", sites.premises, name="premises"),
    path("sites/<uuid:pk>/page/", sites.site_page, name="site_page"),
    path("sites/<uuid:pk>/take-in/", sites.take_in, name="take_in"),
    path("sites/<uuid:pk>/edit/", sites.site_edit, name="site_edit"),
    path("sites/<uuid:pk>/archive/", sites.site_archive, name="site_archive"),
    path("sites/<uuid:pk>/links/", links.links, name="links"),
    path("sites/<uuid:pk>/links/new/", links.link_make, name="link_make"),
    path("private-links/<uuid:pk>/withdraw/", links.link_withdraw, name="link_withdraw"),
    path("sites/<uuid:pk>/units/new/", sites.unit_new, name="unit_new"),
    path("units/<uuid:pk>/edit/", sites.unit_edit, name="unit_edit"),
    path("units/<uuid:pk>/retire/", sites.unit_retire, name="unit_retire"),
    path("units/<uuid:pk>/parties/new/", sites.role_new, name="role_new"),
    path("unit-parties/<uuid:pk>/end/", sites.role_end, name="role_end"),
    path("sites/<uuid:pk>/supplies/new/", sites.supply_new, name="supply_new"),
    path("supplies/<uuid:pk>/edit/", sites.supply_edit, name="supply_edit"),
    path("supplies/<uuid:pk>/retire/", sites.supply_retire, name="supply_retire"),
    path("sites/<uuid:pk>/boards/new/", boards.board_new, name="board_new"),
    path("boards/<uuid:pk>/", boards.board, name="board"),
    path("boards/<uuid:pk>/edit/", boards.board_edit, name="board_edit"),
    path("boards/<uuid:pk>/retire/", boards.board_retire, name="board_retire"),
    path("boards/<uuid:pk>/feeds/new/", boards.feed_new, name="feed_new"),
    path("feeds/<uuid:pk>/edit/", boards.feed_edit, name="feed_edit"),
    path("feeds/<uuid:pk>/remove/", boards.feed_remove, name="feed_remove"),
    path("boards/<uuid:pk>/circuits/new/", circuits.circuit_new, name="circuit_new"),
    path("circuits/<uuid:pk>/edit/", circuits.circuit_edit, name="circuit_edit"),
    path("circuits/<uuid:pk>/retire/", circuits.circuit_retire, name="circuit_retire"),
    path("circuits/<uuid:pk>/links/new/", circuits.link_new, name="link_new"),
    path("circuit-links/<uuid:pk>/remove/", circuits.link_remove, name="link_remove"),
    path("boards/<uuid:pk>/sources/new/", circuits.source_new, name="source_new"),
    path("sources/<uuid:pk>/edit/", circuits.source_edit, name="source_edit"),
    path("sources/<uuid:pk>/retire/", circuits.source_retire, name="source_retire"),
]
