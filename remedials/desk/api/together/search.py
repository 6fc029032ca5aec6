"""Finding whatever bears some words or a number."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite.api.patterns import NOT_BLANK
from remedials.desk.api.ground import Marked
from remedials.desk.api.reading import only_asked
from remedials.desk.queries.search import GROUPS, LONGEST, MOST_WORDS, SHOWN, found
from remedials.works.states import Stage

KINDS = [(kind, heading) for kind, heading, _ in GROUPS]
# Of an observation, and of a remedial.
STATES = [
    ("held", "made safe, the defect stays open"),
    ("closed", "closed by work"),
    ("needless", "looked at: no code"),
    *((stage.value, stage.name.lower().replace("_", " ")) for stage in Stage),
]


class RowFound(serializers.Serializer):
    """Something that was found. `code` and `state` are empty where it has none."""

    id = serializers.UUIDField(help_text="Its key: of the kind that the group names.")
    title = serializers.CharField()
    detail = serializers.CharField(help_text="Where it is, or whose.")
    code = serializers.CharField(help_text="The code in force of an observation.")
    state = serializers.ChoiceField(
        STATES, allow_blank=True, help_text="Of an observation, or the stage of a remedial."
    )


class GroupFound(serializers.Serializer):
    """What was found of one kind, the likeliest first. `more`: there are others, which more words would find."""

    kind = serializers.ChoiceField(KINDS)
    more = serializers.BooleanField()
    rows = RowFound(many=True)


class Found(serializers.Serializer):
    """What was found, by kind; kinds of which nothing was found, or that you may not see, are left out."""

    groups = GroupFound(many=True)


ASKED = OpenApiParameter(
    "q",
    {"type": "string", "maxLength": LONGEST, "pattern": NOT_BLANK},
    required=True,
    description=(
        f"Words, each of which must be in it (at most {MOST_WORDS} count), or a number as it is spoken: 31 or #31. "
        "A name may be misspelt a little."
    ),
)


@extend_schema_view(
    get=extend_schema(
        summary="Find sites, boards, observations, remedials, visits, quotes, reports and parties.",
        description=f"At most {SHOWN} of each kind.",
        parameters=[ASKED],
        responses={200: Found},
    )
)
class Search(Marked):
    def get(self, request: Request) -> Response:
        """What this person may see that says all of it."""
        only_asked(request, "q")
        words = request.query_params.get("q", "")
        if not words or len(words) > LONGEST or "\0" in words:
            raise ValidationError({"q": [f"Say what to look for, in at most {LONGEST} characters."]})
        groups = [
            {
                "kind": group["kind"],
                "more": group["more"],
                "rows": [_shown(group["kind"], row) for row in group["rows"]],
            }
            for group in found(request.user, words)  # type: ignore[arg-type]
        ]
        return Response(Found({"groups": groups}).data)


def _shown(kind: str, row: dict[str, Any]) -> dict[str, str]:
    code, _, state = row["said"].partition(" ") if kind == "observation" else ("", "", row["said"])
    return {"id": row["key"], "title": row["title"], "detail": row["detail"], "code": code, "state": state}
