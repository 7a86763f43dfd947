"""Worksheets of synthetic sites against the stock site generator on the same guide's pages, by ratio.

``python -m tests.benchmarks.bench_values [--sites N] [--stock N]`` prints JSON. Times are processor time of
one process, start-up aside. Nothing is asserted.
"""

from __future__ import annotations

import argparse
import json
import statistics
import time
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from procgen.messages.catalog import load
from procgen.values import evaluate
from tests.benchmarks import centres, sites, stock

ROOT = Path(__file__).resolve().parents[2]
#: the guide whose pages the generator builds, and how many pages make the short measure
GUIDE, SHORT = "ellunby-bakery", 10
#: sites that the profiler looks at
PROFILED = 32


def measure(count: int, repeats: int) -> dict[str, Any]:
    """Everything that is printed."""
    messages = load(ROOT)
    texts = stock.pages(ROOT, messages, GUIDE)
    short = dict(list(texts.items())[:SHORT])
    builds, builds_short = stock.seconds(texts, repeats), stock.seconds(short, repeats)
    with TemporaryDirectory() as folder:
        guides = list(sites.guides(ROOT, count, Path(folder)))
        times = []
        by_model: dict[str, list[float]] = {}
        for guide in guides:
            begin = time.process_time()
            evaluate(guide, messages)
            times.append(time.process_time() - begin)
            by_model.setdefault(guide.machine.id, []).append(times[-1])
        found = centres.centres(guides[:PROFILED], messages)
    mean = statistics.fmean(times)
    return {
        "sites": count,
        "worksheet_ms": {**_summary(times), "mean_by_model": _means(by_model)},
        "stock_build_ms": {
            "guide": GUIDE,
            "pages": len(texts),
            "median": _ms(statistics.median(builds)),
            "short_pages": len(short),
            "short_median": _ms(statistics.median(builds_short)),
        },
        "ratio": round(mean / statistics.median(builds), 4),
        "ratio_short": round(mean / statistics.median(builds_short), 4),
        "cost_centres": found,
    }


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


def _means(groups: dict[str, list[float]]) -> dict[str, float]:
    return {name: _ms(statistics.fmean(times)) for name, times in sorted(groups.items())}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=1000, help="how many synthetic sites")
    parser.add_argument("--stock", type=int, default=3, help="how many builds of the stock generator")
    given = parser.parse_args()
    print(json.dumps(measure(given.sites, given.stock), indent=2))


if __name__ == "__main__":
    main()
