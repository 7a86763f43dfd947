"""Every formula says its units, range and source: signature, decorator and docstring agree."""

import inspect
import math
import re

import pytest

from procgen.engineering.kernel import Kernel, OutOfRangeError
from procgen.units.registry import registry

from .formulas import SECTIONS, formulas, sections

KERNELS = {name: thing for name, thing in formulas().items() if isinstance(thing, Kernel)}
#: Functions on more than plain numbers (networks, curves, machines) keep the same docstring.
PLAIN = {name: thing for name, thing in formulas().items() if not isinstance(thing, Kernel)}


def test_there_are_formulas():
    assert len(KERNELS) > 40


@pytest.mark.parametrize("name", KERNELS)
def test_units_name_every_argument(name):
    info = KERNELS[name].info
    arguments = list(inspect.signature(KERNELS[name]).parameters)
    assert sorted(info.units) == sorted(arguments)
    assert set(info.valid) <= set(arguments)


@pytest.mark.parametrize("name", KERNELS)
def test_units_are_known(name):
    info = KERNELS[name].info
    for units in (*info.units.values(), info.returns):
        for unit in units.split(", "):
            registry().Unit(unit)


@pytest.mark.parametrize("name", KERNELS)
def test_docstring_has_its_sections(name):
    found = sections(KERNELS[name].__doc__)
    assert [part for part in found if part in SECTIONS] == list(SECTIONS)
    assert all(found[part].strip() for part in SECTIONS)


@pytest.mark.parametrize("name", KERNELS)
def test_docstring_describes_every_argument(name):
    described = re.findall(r"^\s+(\w+):", sections(KERNELS[name].__doc__)["Args"], flags=re.MULTILINE)
    assert described == list(inspect.signature(KERNELS[name]).parameters)


@pytest.mark.parametrize("name", KERNELS)
def test_a_source_is_named(name):
    source = KERNELS[name].info.source
    assert source.id
    assert source.title
    assert source.kind in {"standard", "handbook", "library", "arithmetic", "maker", "common practice"}


@pytest.mark.parametrize("name", [n for n, k in KERNELS.items() if k.info.valid])
def test_nan_and_beyond_are_refused(name):
    kernel = KERNELS[name]
    good = dict.fromkeys(kernel.info.units)
    good |= {other: high if low is None else low for other, (low, high) in kernel.info.valid.items()}
    for argument, (low, high) in kernel.info.valid.items():
        beyond = [
            math.nan,
            *([low - 1] if low is not None else []),
            *([high + 1] if high is not None else []),
        ]
        for bad in beyond:
            with pytest.raises(OutOfRangeError) as caught:
                kernel(**good | {argument: bad})
            assert caught.value.argument == argument


@pytest.mark.parametrize("name", PLAIN)
def test_plain_formulas_keep_the_shape(name):
    found = sections(PLAIN[name].__doc__)
    assert [part for part in found if part in SECTIONS] == list(SECTIONS)
    described = re.findall(r"^\s+(\w+):", found["Args"], flags=re.MULTILINE)
    assert described == list(inspect.signature(PLAIN[name]).parameters)
