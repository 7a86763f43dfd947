"""``edition.json``: what an edition consists of, so that two editions of a guide can be told apart by part,
step and figure on the reader's own phone.
"""

from __future__ import annotations

import json
from typing import Any

from procgen.procedure.anchors import part_page
from procgen.procedure.fingerprint import fingerprints
from procgen.procedure.model import Hold, Part, Step
from procgen.publish.job import GuideJob, Identity
from procgen.publish.part_pages import numbered
from procgen.values.shown import shown_span
from procgen.values.worksheet import Value

EDITION_FILE = "edition.json"
SCHEMA = 1


def edition_file(job: GuideJob, identity: Identity, edition: str) -> bytes:
    """Parts with the fingerprint of each step and hold, and the values as they are shown."""
    numbers, prints = numbered(job.procedure), fingerprints(job.procedure)

    def steps(part: Part) -> list[dict[str, str]]:
        items = (item for item in part.items if isinstance(item, Step | Hold))
        return [
            {"id": item.id, "number": numbers[item.id], "title": item.title, "print": prints[item.id]}
            for item in items
        ]

    def shown(value: Value) -> str:
        return shown_span(value, job.worksheet.prefer).text if value.value is not None else value.why

    content: dict[str, Any] = {
        "schema": SCHEMA,
        "guide": identity.guide,
        "edition": edition,
        "profile": identity.profile_revision,
        "survey": identity.survey_revision,
        "parts": [
            {
                "id": part.id,
                "title": f"{part.number} {part.title}",
                "page": part_page(part.number, part.id),
                "steps": steps(part),
            }
            for part in job.procedure.parts
        ],
        "values": [
            {"id": value.id, "title": value.title, "shown": shown(value)}
            for value in job.worksheet.values.values()
        ],
    }
    return (json.dumps(content, ensure_ascii=False, separators=(",", ":")) + "\n").encode()
