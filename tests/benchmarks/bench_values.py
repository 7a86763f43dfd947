"""Worksheets of synthetic sites against the stock site generator on the same guide's pages, by ratio.

``python -m tests.benchmarks.bench_values [--sites N] [--turns N]`` prints JSON. Times are processor time of
one process, start-up aside. A machine is faster one minute and slower the next, so both are timed in turns:
one build of a model's guide, then a share of that model's sites. Nothing is asserted.
"""

from __future__ import annotations

import argparse
import json
import statistics
import time
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from procgen.messages.catalog import Messages, load
from procgen.profiles.workspace import GuideInput, read_workspace
from procgen.values import evaluate
from tests.benchmarks import centres, sites, stock

ROOT = Path(__file__).resolve().parents[2]
#: sites that the profiler looks at
PROFILED = 32


def measure(count: int, turns: int) -> dict[str, Any]:
    """Everything that is printed."""
    messages = load(ROOT)
    with TemporaryDirectory() as folder:
        guides = list(sites.guides(ROOT, count, Path(folder) / "sites"))
        models = sorted({guide.machine.id for guide in guides})
        texts = {model: stock.pages(ROOT, messages, _guide_of(model)) for model in models}
        stocks = {model: stock.Stock(texts[model], Path(folder) / model) for model in models}
        builds, sheets = _in_turns(guides, stocks, turns, messages)
        found = centres.centres(guides[:PROFILED], messages)
    mean_build = {model: statistics.fmean(times) for model, times in builds.items()}
    ratios = [one / mean_build[model] for model, times in sheets.items() for one in times]
    return {
        "sites": count,
        "ratio": round(statistics.fmean(ratios), 4),
        "worksheet_ms": _summary([one for times in sheets.values() for one in times]),
        "by_model": {
            model: {
                "ratio": round(statistics.fmean(sheets[model]) / mean_build[model], 4),
                "worksheet_ms": _ms(statistics.fmean(sheets[model])),
                "stock_build_ms": _ms(mean_build[model]),
                "pages": len(texts[model]),
            }
            for model in models
        },
        "cost_centres": found,
    }


def _guide_of(model: str) -> str:
    """A demo guide of a model: the first with a site."""
    workspace = read_workspace(ROOT)
    return next(one.guide for one in workspace.guides() if one.site and one.machine.id == model)


def _in_turns(
    guides: Sequence[GuideInput], stocks: dict[str, stock.Stock], turns: int, messages: Messages
) -> tuple[dict[str, list[float]], dict[str, list[float]]]:
    """By model the times of its guide's builds and of its sites' worksheets."""
    builds: dict[str, list[float]] = defaultdict(list)
    sheets: dict[str, list[float]] = defaultdict(list)
    evaluate(guides[0], messages)
    for turn in range(turns):
        for model, generator in stocks.items():
            builds[model].append(generator.seconds())
            own = [guide for guide in guides if guide.machine.id == model]
            for guide in own[turn::turns]:
                begin = time.process_time()
                evaluate(guide, messages)
                sheets[model].append(time.process_time() - begin)
    return builds, sheets


def _ms(seconds: float) -> float:
    return round(seconds * 1e3, 2)


def _summary(times: Sequence[float]) -> dict[str, float]:
    ranked = sorted(times)
    return {
        "mean": _ms(statistics.fmean(ranked)),
        "median": _ms(statistics.median(ranked)),
        "p95": _ms(ranked[min(len(ranked) - 1, int(0.95 * len(ranked)))]),
        "max": _ms(ranked[-1]),
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=1000, help="how many synthetic sites")
    parser.add_argument("--turns", type=int, default=5, help="how many builds of each model's guide")
    given = parser.parse_args()
    print(json.dumps(measure(given.sites, given.turns), indent=2))


if __name__ == "__main__":
    main()
