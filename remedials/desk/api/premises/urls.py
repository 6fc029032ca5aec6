"""Their addresses."""

from django.urls import path

from remedials.desk.api.premises import (
    boards,
    circuits,
    documents,
    links,
    looking,
    nouns,
    nouns_found,
    nouns_supply,
    parties,
    sites,
    supplies,
    tracing,
    units,
    verifying,
)

NOUNS = {
    "sites": (nouns.Sites, nouns.OneSite, "site"),
    "units": (nouns.Units, nouns.OneUnit, "unit"),
    "unit-parties": (nouns.Roles, nouns.OneRole, "unit_party"),
    "parties": (nouns.Parties, nouns.OneParty, "party"),
    "supplies": (nouns_supply.Supplies, nouns_supply.OneSupply, "supply"),
    "boards": (nouns_supply.Boards, nouns_supply.OneBoard, "board"),
    "circuits": (nouns_supply.Circuits, nouns_supply.OneCircuit, "circuit"),
    "feeds": (nouns_supply.Feeds, nouns_supply.OneFeed, "feed"),
    "circuit-links": (nouns_supply.CircuitLinks, nouns_supply.OneCircuitLink, "circuit_link"),
    "second-sources": (nouns_supply.SecondSources, nouns_supply.OneSecondSource, "second_source"),
    "verifications": (nouns_found.Verifications, nouns_found.OneVerification, "verification"),
    "switching-tests": (nouns_found.SwitchingTests, nouns_found.OneSwitchingTest, "switching_test"),
    "board-documents": (nouns_found.BoardDocuments, nouns_found.OneBoardDocument, "board_document"),
}
READ = [
    pattern
    for noun, (several, one, name) in NOUNS.items()
    for pattern in (
        path(f"{noun}/", several.as_view(), name=noun.replace("-", "_")),
        path(f"{noun}/<uuid:pk>/", one.as_view(), name=name),
    )
]
LOOKED_AT = [
    path("sites/<uuid:pk>/supply/", looking.SupplyOfSite.as_view(), name="site_supply"),
    path("sites/<uuid:pk>/isolation/", looking.IsolationOfSite.as_view(), name="site_isolation"),
    path("sites/<uuid:pk>/tracing/", looking.TracedOfSite.as_view(), name="site_tracing"),
    path("sites/<uuid:pk>/labels/", looking.LabelsOfSite.as_view(), name="site_labels"),
    path("sites/<uuid:pk>/goes-over/", looking.GoesOver.as_view(), name="site_goes_over"),
    path("board-documents/<uuid:pk>/file/", nouns_found.BoardDocumentFile.as_view(), name="board_document_file"),
]
DONE = [
    path("sites/open/", sites.OpenSite.as_view(), name="open_site"),
    path("sites/<uuid:pk>/edit/", sites.EditSite.as_view(), name="edit_site"),
    path("sites/<uuid:pk>/edit-plain/", sites.EditPlainSite.as_view(), name="edit_plain_site"),
    path("sites/<uuid:pk>/archive/", sites.ArchiveSite.as_view(), name="archive_site"),
    path("sites/<uuid:pk>/bring-back/", sites.BringBackSite.as_view(), name="bring_back_site"),
    path("sites/<uuid:pk>/merge/", sites.MergeSites.as_view(), name="merge_sites"),
    path("sites/<uuid:pk>/hand-over/", sites.HandOverSite.as_view(), name="hand_over_site"),
    path("sites/<uuid:pk>/send-link/", links.SendSiteLink.as_view(), name="send_site_link"),
    path("sites/<uuid:pk>/add-unit/", units.AddUnit.as_view(), name="add_unit"),
    path("sites/<uuid:pk>/add-supply/", supplies.AddSupply.as_view(), name="add_supply"),
    path("sites/<uuid:pk>/add-board/", boards.AddBoard.as_view(), name="add_board"),
    path("sites/<uuid:pk>/note-switching-test/", tracing.NoteSwitchingTest.as_view(), name="note_switching_test"),
    path("sites/<uuid:pk>/take-over-certain/", tracing.TakeOverCertain.as_view(), name="take_over_certain"),
    path("parties/add/", parties.AddParty.as_view(), name="add_party"),
    path("parties/<uuid:pk>/edit/", parties.EditParty.as_view(), name="edit_party"),
    path("parties/<uuid:pk>/archive/", parties.ArchiveParty.as_view(), name="archive_party"),
    path("parties/<uuid:pk>/bring-back/", parties.BringBackParty.as_view(), name="bring_back_party"),
    path("parties/<uuid:pk>/send-link/", links.SendPortfolioLink.as_view(), name="send_portfolio_link"),
    path("units/<uuid:pk>/edit/", units.EditUnit.as_view(), name="edit_unit"),
    path("units/<uuid:pk>/retire/", units.RetireUnit.as_view(), name="retire_unit"),
    path("units/<uuid:pk>/bring-back/", units.BringBackUnit.as_view(), name="bring_back_unit"),
    path("units/<uuid:pk>/give-role/", units.GiveRole.as_view(), name="give_role"),
    path("unit-parties/<uuid:pk>/end/", units.EndRole.as_view(), name="end_role"),
    path("supplies/<uuid:pk>/edit/", supplies.EditSupply.as_view(), name="edit_supply"),
    path("supplies/<uuid:pk>/retire/", supplies.RetireSupply.as_view(), name="retire_supply"),
    path("supplies/<uuid:pk>/bring-back/", supplies.BringBackSupply.as_view(), name="bring_back_supply"),
    path("second-sources/<uuid:pk>/edit/", supplies.EditSecondSource.as_view(), name="edit_second_source"),
    path("second-sources/<uuid:pk>/retire/", supplies.RetireSecondSource.as_view(), name="retire_second_source"),
    path(
        "second-sources/<uuid:pk>/bring-back/",
        supplies.BringBackSecondSource.as_view(),
        name="bring_back_second_source",
    ),
    path("boards/<uuid:pk>/edit/", boards.EditBoard.as_view(), name="edit_board"),
    path("boards/<uuid:pk>/retire/", boards.RetireBoard.as_view(), name="retire_board"),
    path("boards/<uuid:pk>/bring-back/", boards.BringBackBoard.as_view(), name="bring_back_board"),
    path("boards/<uuid:pk>/replace/", boards.ReplaceBoard.as_view(), name="replace_board"),
    path("boards/<uuid:pk>/verify/", verifying.VerifyBoard.as_view(), name="verify_board"),
    path("boards/<uuid:pk>/set-feed/", boards.SetFeed.as_view(), name="set_feed"),
    path("boards/<uuid:pk>/name-candidates/", tracing.NameCandidates.as_view(), name="name_candidates"),
    path("boards/<uuid:pk>/add-circuit/", circuits.AddCircuit.as_view(), name="add_circuit"),
    path("boards/<uuid:pk>/add-second-source/", supplies.AddSecondSource.as_view(), name="add_second_source"),
    path("boards/<uuid:pk>/make-chart/", documents.MakeChart.as_view(), name="make_chart"),
    path("boards/<uuid:pk>/make-labels/", documents.MakeLabels.as_view(), name="make_labels"),
    path("boards/<uuid:pk>/make-board-label/", documents.MakeBoardLabel.as_view(), name="make_board_label"),
    path("feeds/<uuid:pk>/edit/", boards.EditFeed.as_view(), name="edit_feed"),
    path("feeds/<uuid:pk>/remove/", boards.RemoveFeed.as_view(), name="remove_feed"),
    path("circuits/<uuid:pk>/edit/", circuits.EditCircuit.as_view(), name="edit_circuit"),
    path("circuits/<uuid:pk>/retire/", circuits.RetireCircuit.as_view(), name="retire_circuit"),
    path("circuits/<uuid:pk>/bring-back/", circuits.BringBackCircuit.as_view(), name="bring_back_circuit"),
    path("circuits/<uuid:pk>/verify/", verifying.VerifyCircuit.as_view(), name="verify_circuit"),
    path("circuits/<uuid:pk>/link/", circuits.LinkCircuits.as_view(), name="link_circuits"),
    path("circuit-links/<uuid:pk>/unlink/", circuits.UnlinkCircuits.as_view(), name="unlink_circuits"),
    path("verifications/<uuid:pk>/take-back/", verifying.TakeBackVerification.as_view(), name="take_back_verification"),
    path(
        "switching-tests/<uuid:pk>/withdraw/", tracing.WithdrawSwitchingTest.as_view(), name="withdraw_switching_test"
    ),
]
urlpatterns = [*READ, *LOOKED_AT, *DONE]
