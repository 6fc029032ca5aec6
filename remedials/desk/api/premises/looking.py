"""What the record of a site comes to, to read: its supply, what should go dead, what was traced, labels that disagree.

Nothing here says that anything is dead: the firm's safe isolation procedure, lock off, prove dead at the point of work.
"""

from typing import Any, ClassVar
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite.people.rights import Right
from jobsite.premises.graph import depths
from jobsite.premises.isolation import Work, isolate
from jobsite.premises.isolation.words import tell
from jobsite.premises.labels import Kind
from jobsite.premises.models import Site
from jobsite.premises.queries.disagreements import disagreements_of
from jobsite.premises.queries.graph import isolation_graph, supply_graph
from jobsite.premises.queries.isolation import GONE, KINDS, is_there, keys_of
from jobsite.premises.queries.merging import clashing, what_goes_over
from jobsite.premises.queries.wiring import ground_of
from jobsite.premises.tracing import Advice
from jobsite.premises.views.isolation import MOST, TOO_MANY
from jobsite.refused import Refused
from remedials.desk.api.ground import UnknownRow, rows
from remedials.desk.api.premises.nouns import SITES
from remedials.desk.api.reading import Rows
from remedials.works.queries.locks import locks_of


def asked_by(name: str, description: str, *, many: bool = False, required: bool = False) -> OpenApiParameter:
    """A key, or several, in the query."""
    return OpenApiParameter(name, OpenApiTypes.UUID, description=description, many=many, required=required)


class OfSite(Rows):
    """Something that is worked out for one site."""

    queryset = SITES
    filter_backends = ()
    lookup_field = "pk"
    asked: ClassVar[tuple[str, ...]] = ()

    def get(self, request: Request, **kwargs: Any) -> Response:
        site = self.get_object()
        if unknown := sorted(set(request.query_params) - set(self.asked)):
            raise ValidationError({name: ["There is no such filter."] for name in unknown})
        return Response(self.get_serializer(self.found(site)).data)

    def found(self, site: Site) -> Any:
        """What is shown."""
        raise NotImplementedError

    def keys(self, name: str) -> list[UUID]:
        """The keys in the query under `name`, each once. Raises ValidationError for what is no key."""
        field = serializers.UUIDField()
        try:
            return list(
                dict.fromkeys(field.to_internal_value(text) for text in self.request.query_params.getlist(name))
            )
        except ValidationError as wrong:
            raise ValidationError({name: wrong.detail}) from None


# --- the supply -------------------------------------------------------------------------------------------------------


class Plain(serializers.Serializer):
    """Values by the names of attributes; a set in order."""

    def to_representation(self, instance: Any) -> dict[str, Any]:
        """Each field as it is, JSON for what JSON has no word for."""
        shown = {name: getattr(instance, str(field.source)) for name, field in self.fields.items()}
        return {name: sorted(value) if isinstance(value, frozenset) else value for name, value in shown.items()}


class Several(serializers.ListField):
    """A list of words or keys."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(child=serializers.CharField(), **kwargs)


class OriginShown(Plain):
    """Where the network comes in; main fuse in amperes. `switch`: what the customer's own isolator disconnects."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    fuse_a = serializers.IntegerField(allow_null=True)
    phases = Several()
    earthing = serializers.CharField()
    detail = serializers.CharField()
    isolator = serializers.CharField()
    switch = serializers.CharField()


class NodeShown(Plain):
    """A board in the supply. `name_verified`: somebody saw that it is what it is called."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    name_verified = serializers.BooleanField()
    label_found = serializers.CharField()
    place = serializers.CharField()
    phases = Several()
    main_switch = serializers.CharField()
    switch = serializers.CharField()
    own_earthing = serializers.CharField()


class EdgeShown(Plain):
    """What feeds `child`: `from_origin` or `from_board`, there by `circuit`. Possible feeds count as normal, not verified."""

    child = serializers.UUIDField()
    from_origin = serializers.UUIDField(allow_null=True)
    from_board = serializers.UUIDField(allow_null=True)
    circuit = serializers.UUIDField(allow_null=True)
    way = serializers.CharField()
    kind = serializers.CharField()
    verified = serializers.BooleanField()
    changeover = serializers.CharField()


class SourceNodeShown(Plain):
    """A second source: where it is isolated on each side and the minutes to wait after. Its rating: see second-sources."""

    id = serializers.UUIDField()
    kind = serializers.CharField()
    name = serializers.CharField()
    on_board = serializers.UUIDField()
    circuit = serializers.UUIDField(allow_null=True)
    way = serializers.CharField()
    supply_side = serializers.CharField()
    source_side = serializers.CharField()
    wait_minutes = serializers.IntegerField(allow_null=True)


class BorrowedShown(Plain):
    """Two circuits that share a neutral ("neutral"), or of which one is also fed from the other ("feed")."""

    circuit_a = serializers.UUIDField()
    circuit_b = serializers.UUIDField()
    board_a = serializers.UUIDField()
    board_b = serializers.UUIDField()
    kind = serializers.CharField()


class StandsShown(serializers.Serializer):
    """How far a board is from an origin, in feeds, and the feeder that it stands behind; `fed`: whether any origin feeds it."""

    board = serializers.UUIDField()
    distance = serializers.IntegerField()
    feeder = serializers.UUIDField(allow_null=True)
    fed = serializers.BooleanField()


class SupplyGraphShown(serializers.Serializer):
    """What feeds what at a site, as it is recorded now; what was taken out is left out."""

    origins = OriginShown(many=True)
    boards = NodeShown(many=True)
    feeds = EdgeShown(many=True)
    sources = SourceNodeShown(many=True)
    links = BorrowedShown(many=True)
    stands = StandsShown(many=True)


@extend_schema_view(get=extend_schema(summary="What feeds what at a site."))
class SupplyOfSite(OfSite):
    serializer_class = SupplyGraphShown

    def found(self, site: Site) -> dict[str, Any]:
        graph = supply_graph(site)
        names = ("origins", "boards", "feeds", "sources", "links")
        far = depths(graph)
        stands = [
            {"board": board, "distance": column, "feeder": far.feeder[board], "fed": board not in far.unfed}
            for board, column in far.column.items()
        ]
        return {name: getattr(graph, name) for name in names} | {"stands": stands}


# --- what should go dead ----------------------------------------------------------------------------------------------


class LineShown(Plain):
    """One line of the answer, and what is to be said of it."""

    what = serializers.CharField()
    more = Several()


class IsolationShown(serializers.Serializer):
    """What should go dead, by the record; never a claim that it is.

    `points`: where to switch off and lock. `no_point`: supplies at which nothing of the customer's isolates. `sure`: the
    first point upstream whose own feed is verified. `dead`: what should go dead. `live`: what may stay live. `boards`,
    `units`, `loads`: who may lose power. `locks`: what is locked off already at other points.
    """

    works = Several()
    points = LineShown(many=True)
    sure = Several()
    no_point = Several()
    dead = LineShown(many=True)
    live = LineShown(many=True)
    boards = LineShown(many=True)
    units = Several()
    loads = Several()
    cautions = Several()
    locks = Several()
    standing = serializers.CharField()


WORK = {
    "circuit": "Work on this circuit.",
    "inside": "Work inside this board.",
    "supply": "Work on the supply side of this board.",
}


@extend_schema_view(
    get=extend_schema(
        summary="What should go dead for a piece of work, by the record.",
        parameters=[asked_by(kind, words, many=True) for kind, words in WORK.items()],
    )
)
class IsolationOfSite(OfSite):
    """Name at least one piece of work, at most 20. Competent people only; prove dead at the point of work."""

    serializer_class = IsolationShown
    asked = tuple(KINDS)

    def found(self, site: Site) -> Any:
        works = [Work(kind, str(key)) for kind in KINDS for key in self.keys(kind)]  # type: ignore[arg-type]
        if not works:
            raise Refused("Say what work it is for: on a circuit, inside a board, or on its supply side.")
        if len(works) > MOST:
            raise Refused(TOO_MANY)
        graph = isolation_graph(site, keys_of(works))
        if missing := next((work for work in works if not is_there(graph, work)), None):
            raise UnknownRow({missing.kind: [GONE]})
        return tell(graph, isolate(graph, *works), locks_of(site.pk))


# --- tracing ----------------------------------------------------------------------------------------------------------


class CertainShown(serializers.Serializer):
    """A board that went dead with just this device off. `alone`: no other was named that a test could have ruled out."""

    board = serializers.UUIDField()
    feeder = serializers.UUIDField()
    alone = serializers.BooleanField()


class LeftShown(serializers.Serializer):
    """The circuits and supplies that may feed a board, as far as the tests tell."""

    board = serializers.UUIDField()
    feeders = serializers.ListField(child=serializers.UUIDField())


class RuledOutShown(serializers.Serializer):
    """That a board is not fed from there: by one test, or (`test` null) by several together, or since it would feed itself."""

    board = serializers.UUIDField()
    feeder = serializers.UUIDField()
    test = serializers.UUIDField(allow_null=True)


class AdviceShown(serializers.Serializer):
    """What to switch off, which boards to look at then, and who may lose power by it. `bits`: what it is expected to tell.

    `keep`: circuits that must not lose power and may. `others_off`: together with second sources and other feeds.
    """

    device = serializers.UUIDField()
    look_at = serializers.ListField(child=serializers.UUIDField())
    boards = serializers.ListField(child=serializers.UUIDField())
    circuits = serializers.IntegerField()
    keep = serializers.ListField(child=serializers.UUIDField())
    others_off = serializers.BooleanField()
    bits = serializers.FloatField()


class TracedShown(serializers.Serializer):
    """What the switching tests of a site tell of its feeds. Feeders are circuits or supplies, by their keys.

    `certain`: may be taken over as verified. `possible`: several remain. `lost`: nothing is left. `clashes`: sets of tests
    that no arrangement of feeds explains. `arrangements`: how many remain, at most so many where not `exact`. `next`: what
    to switch off, best first. `to_see`: what to switch off to see what is left over.
    """

    certain = CertainShown(many=True)
    possible = LeftShown(many=True)
    ruled_out = RuledOutShown(many=True)
    lost = serializers.ListField(child=serializers.UUIDField())
    clashes = serializers.ListField(child=serializers.ListField(child=serializers.UUIDField()))
    arrangements = serializers.IntegerField()
    exact = serializers.BooleanField()
    next = AdviceShown(many=True)
    to_see = AdviceShown(many=True)


@extend_schema_view(get=extend_schema(summary="What the switching tests of a site tell of its feeds."))
class TracedOfSite(OfSite):
    serializer_class = TracedShown

    def found(self, site: Site) -> dict[str, Any]:
        ground = ground_of(site)
        traced, at = ground.traced, ground.wiring.at
        certain = [
            {"board": key, "feeder": traced.left[key][0], "alone": len(at[key].candidates) == 1}
            for key in ground.boards
            if key in traced.seen
        ]
        return {
            "certain": certain,
            "possible": [{"board": key, "feeders": traced.left[key]} for key in traced.open],
            "ruled_out": [
                {"board": out.board, "feeder": out.device, "test": out.test or None} for out in traced.ruled_out
            ],
            "lost": [key for key in ground.boards if not traced.left[key]],
            "clashes": [[test.id for test in clash] for clash in traced.clashes],
            "arrangements": traced.arrangements,
            "exact": traced.exact,
            "next": list(map(_advice, traced.next)),
            "to_see": list(map(_advice, traced.confirm)),
        }


def _advice(advice: Advice) -> dict[str, Any]:
    names = ("device", "look_at", "boards", "circuits", "keep", "others_off", "bits")
    return {name: getattr(advice, name) for name in names}


# --- labels that disagree ---------------------------------------------------------------------------------------------


class DisagreementShown(serializers.Serializer):
    """A label to put right: of a way, or (`circuit` null) of the board itself. `written` empty: there is none."""

    board = serializers.UUIDField()
    circuit = serializers.UUIDField(allow_null=True)
    written = serializers.CharField()
    wrong = serializers.ChoiceField(choices=[(kind.value, kind.words) for kind in Kind])
    why = serializers.CharField()


class DisagreementsShown(serializers.Serializer):
    """Compared by their words, which can miss a wrong label and question a right one."""

    labels = DisagreementShown(many=True)


@extend_schema_view(
    get=extend_schema(
        summary="Labels of a site that disagree with each other or with what is verified.",
        parameters=[asked_by("board", "Only labels of this board and its ways.")],
    )
)
class LabelsOfSite(OfSite):
    serializer_class = DisagreementsShown
    asked = ("board",)

    def found(self, site: Site) -> dict[str, Any]:
        boards = set(map(str, self.keys("board")))
        return {
            "labels": [
                {
                    "board": one.board,
                    "circuit": one.way or None,
                    "written": one.label,
                    "wrong": one.kind,
                    "why": one.sentence,
                }
                for one in disagreements_of(site)
                if not boards or one.board in boards
            ]
        }


# --- a site recorded twice --------------------------------------------------------------------------------------------


class ClashShown(serializers.Serializer):
    """A unit, a supply or a board whose name the other site has too: merging asks for another one."""

    id = serializers.UUIDField()
    row = serializers.ChoiceField(choices=[("unit", "unit"), ("supply", "supply"), ("board", "board")])
    name = serializers.CharField()


class GoesOverShown(serializers.Serializer):
    """What of a site would go over to the other: how many rows of each kind, and which need another name first."""

    counts = serializers.DictField(child=serializers.IntegerField())
    clashes = ClashShown(many=True)


@extend_schema_view(
    get=extend_schema(
        summary="What would go over, were a site another one that was recorded twice.",
        parameters=[asked_by("into", "The site that stays.", required=True)],
    )
)
class GoesOver(OfSite):
    right = Right.KEEP_CUSTOMERS
    serializer_class = GoesOverShown
    asked = ("into",)

    def found(self, site: Site) -> dict[str, Any]:
        into = rows(self, Site).current().filter(pk__in=self.keys("into")).exclude(pk=site.pk).first()  # type: ignore[attr-defined]
        if into is None:
            raise UnknownRow({"into": ["Name another site that is not archived."]})
        clashes = [{"id": row.pk, "row": type(row).__name__.lower(), "name": str(row)} for row in clashing(site, into)]
        return {"counts": what_goes_over(site), "clashes": clashes}
