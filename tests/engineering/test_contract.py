"""Every formula says its units, range and source: signature, decorator and docstring agree."""

import importlib
import inspect
import math
import pkgutil
import re

import pytest

import procgen.engineering
from procgen.engineering.kernel import Kernel, OutOfRangeError
from procgen.units.registry import registry

SECTIONS = ("Formula", "Args", "Returns", "Valid", "Raises", "Source")


def kernels():
    found = {}
    for module in pkgutil.iter_modules(procgen.engineering.__path__):
        home = importlib.import_module(f"procgen.engineering.{module.name}")
        for name, thing in vars(home).items():
            if isinstance(thing, Kernel) and thing.__module__ == home.__name__:
                found[f"{module.name}.{name}"] = thing
    return found


KERNELS = kernels()


def sections(doc):
    """Text of each section of a docstring, by its heading at the left margin."""
    parts = re.split(r"^(\w+):", inspect.cleandoc(doc), flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


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
    for argument, (low, high) in kernel.info.valid.items():
        beyond = [
            math.nan,
            *([low - 1] if low is not None else []),
            *([high + 1] if high is not None else []),
        ]
        for bad in beyond:
            with pytest.raises(OutOfRangeError) as caught:
                kernel(**{argument: bad})
            assert caught.value.argument == argument


def plain_formulas():
    """Functions on more than plain numbers (networks, curves, machines) keep the same docstring."""
    found = {}
    for module in pkgutil.iter_modules(procgen.engineering.__path__):
        home = importlib.import_module(f"procgen.engineering.{module.name}")
        for name, thing in vars(home).items():
            function = inspect.unwrap(thing) if callable(thing) else thing
            if not inspect.isfunction(function) or isinstance(thing, Kernel):
                continue
            if function.__module__ == home.__name__ and "Formula:" in (function.__doc__ or ""):
                found[f"{module.name}.{name}"] = function
    return found


PLAIN = plain_formulas()


@pytest.mark.parametrize("name", PLAIN)
def test_plain_formulas_keep_the_shape(name):
    found = sections(PLAIN[name].__doc__)
    assert [part for part in found if part in SECTIONS] == list(SECTIONS)
    described = re.findall(r"^\s+(\w+):", found["Args"], flags=re.MULTILINE)
    assert described == list(inspect.signature(PLAIN[name]).parameters)
