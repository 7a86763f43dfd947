"""Where the time of worksheets goes: by value and by formula, from the profiler, in a run of its own."""

from __future__ import annotations

import cProfile
import pstats
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import procgen
from procgen.messages.catalog import Messages
from procgen.profiles.workspace import GuideInput
from procgen.values import catalogue, evaluate

PACKAGE = Path(procgen.__file__).parent


def centres(guides: Sequence[GuideInput], messages: Messages, count: int = 10) -> dict[str, dict[str, float]]:
    """Shares of the time of ``evaluate``: of a value with all it calls for; of a formula by itself."""
    profile = cProfile.Profile()
    profile.enable()
    for guide in guides:
        evaluate(guide, messages)
    profile.disable()
    stats: Any = pstats.Stats(profile)
    whole = stats.total_tt or 1.0
    names = {
        (definition.compute.__code__.co_filename, definition.compute.__code__.co_firstlineno): definition.id
        for definition in catalogue.definitions()
    }
    values: dict[str, float] = {}
    kernels: dict[str, float] = defaultdict(float)
    for (file, line, function), (_, _, own, total, _) in stats.stats.items():
        if (file, line) in names:
            values[names[file, line]] = total / whole
        if Path(file).is_relative_to(PACKAGE / "engineering"):
            kernels[f"{Path(file).stem}.{function}"] += own / whole
    return {"values": _largest(values, count), "kernels": _largest(kernels, count)}


def _largest(shares: dict[str, float], count: int) -> dict[str, float]:
    ranked = sorted(shares.items(), key=lambda item: -item[1])[:count]
    return {name: round(share, 4) for name, share in ranked}
