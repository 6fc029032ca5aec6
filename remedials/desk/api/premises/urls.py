"""Their addresses."""

from django.urls import path

from remedials.desk.api.premises import looking, nouns, nouns_found, nouns_supply

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
urlpatterns = [*READ, *LOOKED_AT]
