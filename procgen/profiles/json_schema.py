"""The JSON Schema that editors complete and check with, exported from the one schema."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from procgen.profiles.machine import Machine
from procgen.profiles.site import Site

FILES: dict[str, type[BaseModel]] = {"machine": Machine, "site": Site}


def json_schema(name: str) -> dict[str, Any]:
    """JSON Schema (2020-12) of a file kind: ``machine`` or ``site``."""
    model = FILES[name]
    schema = model.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
