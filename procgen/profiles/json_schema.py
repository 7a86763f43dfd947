"""The JSON Schema that editors complete and check with, exported from the one schema."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from procgen.profiles.machine import Machine
from procgen.profiles.site import Site

FILES: dict[str, type[BaseModel]] = {"machine": Machine, "site": Site}


class _AsTyped(GenerateJsonSchema):
    """As editors read a file: an absent field is left out, not ``null``; 8.8 without quotes is a number."""

    def literal_schema(self, schema: core_schema.LiteralSchema) -> JsonSchemaValue:
        made = super().literal_schema(schema)
        numbers = [float(word) for word in made.get("enum", []) if word.replace(".", "", 1).isdigit()]
        return {"enum": [*made["enum"], *numbers]} if numbers else made

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        if schema.get("default", ...) is None:
            return self.generate_inner(schema["schema"])
        return super().default_schema(schema)


def json_schema(name: str) -> dict[str, Any]:
    """JSON Schema (2020-12) of a file kind: ``machine`` or ``site``."""
    model = FILES[name]
    schema = model.model_json_schema(schema_generator=_AsTyped)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
