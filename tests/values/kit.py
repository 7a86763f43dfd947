"""The demo guides and their worksheets, evaluated once."""

from __future__ import annotations

from functools import cache

from procgen.messages.catalog import Messages, load
from procgen.profiles.workspace import GuideInput, read_workspace
from procgen.values import Value, Worksheet, evaluate
from tests.conftest import ROOT

GUIDES: dict[str, GuideInput] = {guide.guide: guide for guide in read_workspace(ROOT).guides()}
SITES = [name for name, guide in GUIDES.items() if guide.site]
MODELS = [name for name, guide in GUIDES.items() if not guide.site]


@cache
def words() -> Messages:
    """The packaged words."""
    return load(ROOT)


@cache
def sheet(name: str) -> Worksheet:
    """The worksheet of a guide."""
    return evaluate(GUIDES[name], words())


def figures(value: Value) -> tuple[float, float, float]:
    """Low, nominal and high of a value that has them."""
    assert value.ok
    assert value.low is not None
    assert value.value is not None
    assert value.high is not None
    return value.low, value.value, value.high
