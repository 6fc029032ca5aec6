"""How the description of the API (OpenAPI 3.1) is drawn from its views."""

from typing import Any

from drf_spectacular.drainage import get_override
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import get_view_model, is_list_serializer

from jobsite.api.examples import examples_of, key_of


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

    def _resolve_path_parameters(self, variables: list[str]) -> list[dict[str, Any]]:
        parameters: list[dict[str, Any]] = super()._resolve_path_parameters(variables)
        model = getattr(self.view, "model", None) or get_view_model(self.view, emit_warnings=False)
        for parameter in parameters:
            if model is not None and parameter["name"] in ("id", "pk"):
                parameter["example"] = key_of(model)
        return parameters
