"""How the description of the API (OpenAPI 3.1) is drawn from its views."""

from decimal import Decimal
from typing import Any

from drf_spectacular.contrib.django_filters import DjangoFilterExtension, _NoHint
from drf_spectacular.drainage import get_override
from drf_spectacular.extensions import OpenApiAuthenticationExtension, OpenApiSerializerFieldExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import get_view_model, is_list_serializer
from rest_framework.serializers import CharField, DateTimeField, DecimalField, FileField, TimeField

from jobsite.api.examples import examples_of, key_of, part_of_address
from jobsite.api.field_words import with_words
from jobsite.api.patterns import NOT_BLANK, TIME, YEARS, YEARS_OF_INSTANTS
from jobsite.api.told import described


class Filters(DjangoFilterExtension):
    """Filters whose method takes a value of any type are described by their own type."""

    priority = 1

    def resolve_filter_field(self, auto_schema: Any, model: Any, filterset: Any, name: str, field: Any) -> Any:
        """Parameters of a filter; words hold more than spaces, instants are of our time."""
        found = super().resolve_filter_field(auto_schema, model, filterset, name, field)
        for parameter in found:
            schema = parameter["schema"]
            if schema.get("type") == "string" and not {"format", "enum"} & set(schema):
                schema["pattern"] = NOT_BLANK
                if most := field.extra.get("max_length"):
                    schema["maxLength"] = most
            elif schema.get("format") == "date-time":
                schema["pattern"] = YEARS_OF_INSTANTS
        return found

    def _get_filter_method_hint(self, filter_method: Any) -> Any:
        hint = super()._get_filter_method_hint(filter_method)
        return _NoHint if hint is Any else hint


class Described(AutoSchema):
    """With the examples that serializers carry, and the key of an example in each address."""

    def get_description(self, path: str = "", method: str = "") -> str:
        """What the view itself says, if it says anything: what its class has in common with others is no description."""
        return " ".join((type(self.view).__dict__.get("__doc__") or "").split())

    def _get_examples(
        self, serializer: Any, direction: str, media_type: str, status_code: str | None = None, extras: Any = None
    ) -> Any:
        own = examples_of(serializer.child if is_list_serializer(serializer) else serializer)
        if own and not get_override(serializer, "examples", []):
            extras = [*(extras or []), *own]
        return super()._get_examples(serializer, direction, media_type, status_code, extras)

    def _map_basic_serializer(self, serializer: Any, direction: Any) -> dict[str, Any]:
        schema: dict[str, Any] = super()._map_basic_serializer(serializer, direction)
        # What a body may not hold is refused (`jobsite.api.bodies`): a misspelt field would be lost.
        return schema | {"additionalProperties": False} if direction == "request" else schema

    def _map_serializer_field(self, field: Any, direction: Any, bypass_extensions: bool = False) -> Any:
        schema = super()._map_serializer_field(field, direction, bypass_extensions)
        if direction == "request" and schema and "array" in schema.get("type", ()) and not field.allow_empty:
            schema["minItems"] = max(1, schema.get("minItems", 1))
        if direction == "request" and _is_words(field) and not {"format", "enum", "pattern"} & set(schema):
            schema["pattern"] = NOT_BLANK
        if direction == "request" and isinstance(field, FileField):  # drf-spectacular would say: the address of a file
            schema = schema | {"format": "binary", "contentMediaType": "application/octet-stream"}
        if isinstance(field, DecimalField) and "pattern" in schema:
            schema["pattern"] = _decimal(field)
        if isinstance(field, TimeField) and schema.pop("format", None):
            schema["pattern"] = TIME  # the format would be a time with its offset (RFC 3339)
        if direction == "request" and isinstance(field, DateTimeField):
            schema["pattern"] = YEARS_OF_INSTANTS
        if schema and isinstance(schema.get("type"), list):
            schema["type"] = list(dict.fromkeys(schema["type"]))  # an extension's field says null twice
        return schema

    def _resolve_path_parameters(self, variables: list[str]) -> list[dict[str, Any]]:
        parameters: list[dict[str, Any]] = super()._resolve_path_parameters(variables)
        model = getattr(self.view, "model", None) or get_view_model(self.view, emit_warnings=False)
        for parameter in parameters:
            if model is not None and parameter["name"] in ("id", "pk"):
                parameter["example"] = key_of(model)
            elif (part := part_of_address(parameter["name"], self.path)) is not None:
                parameter["example"] = part
        return parameters


def _is_words(field: Any) -> bool:
    """Whether it is a text that must hold more than spaces."""
    return isinstance(field, CharField) and field.trim_whitespace and not field.allow_blank


def _decimal(field: DecimalField) -> str:
    """The text of a number that `field` takes: digits there must be, a sign only where it may be negative."""
    whole, places = (field.max_digits or 0) - (field.decimal_places or 0), field.decimal_places or 0
    sign = "" if field.min_value is not None and field.min_value >= 0 else "-?"
    digits = rf"[0-9]{{1,{whole}}}" if whole else "0"
    most = field.max_value
    if most is not None and most == int(most) and (sign == "" or field.min_value == -most):
        return (
            _from(field)
            + rf"{sign}({_below(int(most))}(\.[0-9]{{1,{places or 1}}})?|{int(most)}(\.0{{1,{places or 1}}})?)$"
        )
    return _from(field) + (rf"{sign}{digits}(\.[0-9]{{1,{places}}})?$" if places else rf"{sign}{digits}$")


def _from(field: DecimalField) -> str:
    """How the text of a number begins that must be more than nothing, or one at least."""
    least = field.min_value
    if least is None or least <= 0:
        return "^"
    if least >= 1:
        return r"^(?!0+(\.|$))"
    places = -int(Decimal(least).as_tuple().exponent)  # the least is a 1 at this place, as in 0.01
    return rf"^(?=[0-9]*[1-9]|[0-9]*\.[0-9]{{0,{places - 1}}}[1-9])"


def _below(most: int) -> str:
    """A whole number of digits, less than `most` (which is more than nothing), without noughts before it."""
    digits = str(most)
    found = [r"[0-9]" if length == 1 else rf"[1-9][0-9]{{{length - 1}}}" for length in range(1, len(digits))]
    for at, digit in enumerate(digits):
        least = 1 if at == 0 and len(digits) > 1 else 0
        if int(digit) > least:
            found.append(f"{digits[:at]}[{least}-{int(digit) - 1}]" + r"[0-9]" * (len(digits) - at - 1))
    return f"({'|'.join(found)})"


class DayDescribed(OpenApiSerializerFieldExtension):
    """Days of our time."""

    target_class = "remedials.desk.api.ground.Day"
    match_subclasses = True

    def map_serializer_field(self, auto_schema: Any, direction: Any) -> dict[str, Any]:
        """With the years that are taken."""
        schema: dict[str, Any] = auto_schema._map_serializer_field(self.target, direction, bypass_extensions=True)  # noqa: SLF001
        return schema | {"pattern": YEARS}


class ByTokenDescribed(OpenApiAuthenticationExtension):
    """How the description of the API speaks of it."""

    target_class = "jobsite.people.bearer.ByToken"
    name = "personalToken"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        """A bearer token of no format that anybody need know."""
        said = "A personal token, made by a person for a program on the page about other programs."
        return {"type": "http", "scheme": "bearer", "description": said}


# --- what every operation may answer besides --------------------------------------------------------------------------

PROBLEM_MEDIA = "application/problem+json"
PROBLEMS: dict[str, tuple[str, str]] = {
    "400": ("Malformed", "It cannot be read, or a field needs another look (`errors`)."),
    "401": ("NotSignedIn", "Nobody is signed in, and no token that stands is shown."),
    "403": ("NotAllowed", "This person, or this token, may not do that."),
    "404": ("NotFound", "There is no such row, or not for this person."),
    "406": ("NotAcceptable", "Only JSON is spoken here."),
    "409": ("Refused", "It cannot be done as things stand: `detail` says why."),
    "412": ("ChangedMeanwhile", "Somebody else changed it meanwhile: `version` is the one that it has now."),
    "413": ("TooLarge", "The body is larger than what is read."),
    "414": (
        "AddressTooLong",
        "The address is too long for the server, which refuses it unread: keep it below 4,000 characters.",
    ),
    "415": ("UnsupportedMediaType", "The body is of another media type than those listed."),
    "422": ("KeyUsedBefore", "The Idempotency-Key was used for another request."),
    "428": ("VersionRequired", "If-Match is missing."),
    "429": ("TooManyRequests", "Go on after the seconds in Retry-After."),
}
HEADERS: dict[str, dict[str, Any]] = {
    "401": {"WWW-Authenticate": {"schema": {"type": "string"}, "required": True}},
    "429": {"Retry-After": {"schema": {"type": "integer", "minimum": 1}, "required": True}},
}
ANY, READ = ("400", "401", "403", "406", "414", "429"), ("404", "409")
CHANGE = ("404", "409", "412", "413", "415", "422")
UNTOLD = {"414"}  # no problem document: what no program of ours is asked about
METHODS = ("get", "post")


def finish(result: dict[str, Any], generator: Any, request: Any, public: bool) -> dict[str, Any]:
    """The last step: the refusals that each operation may answer with, named once and referred to."""
    parts = result.setdefault("components", {})
    parts.setdefault("schemas", {})["Problem"] = PROBLEM
    with_words(parts["schemas"])
    parts["responses"] = {name: _refusal(code, said) for code, (name, said) in PROBLEMS.items()}
    for path in result["paths"].values():
        for method in METHODS:
            if operation := path.get(method):
                for code in _refusals_of(operation, method):
                    name = PROBLEMS[code][0]
                    operation["responses"].setdefault(code, {"$ref": f"#/components/responses/{name}"})
    return described(result)


def _refusals_of(operation: dict[str, Any], method: str) -> tuple[str, ...]:
    versioned = any(one.get("name") == "If-Match" for one in operation.get("parameters", ()))
    return (*ANY, *(CHANGE if method == "post" else READ), *(("428",) if versioned else ()))


def _refusal(code: str, said: str) -> dict[str, Any]:
    if code in UNTOLD:
        return {"description": said}
    refusal = {"description": said, "content": {PROBLEM_MEDIA: {"schema": {"$ref": "#/components/schemas/Problem"}}}}
    return refusal | ({"headers": HEADERS[code]} if code in HEADERS else {})


PROBLEM: dict[str, Any] = {
    "type": "object",
    "description": "A problem document (RFC 9457).",
    "properties": {
        "type": {"type": "string", "description": "What kind of problem it is, where others have the same status."},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "field": {"type": "string", "description": "The field that the sentence belongs to."},
        "errors": {"type": "object", "description": "Sentences by field.", "additionalProperties": True},
        "version": {
            "type": ["integer", "null"],
            "description": "With 412: the version that the row has now; null: it counts none.",
        },
    },
    "required": ["type", "title", "status", "detail"],
}
