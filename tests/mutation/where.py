"""Which files there are, what each builds on, and fingerprints that say when a verdict still holds."""

from __future__ import annotations

import ast
import hashlib
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FLOOR = ROOT / "procgen" / "engineering"
TESTS = ROOT / "tests" / "engineering"
KEPT = ROOT / ".procgen" / "mutation.jsonl"
TRACES = ROOT / ".procgen" / "mutation-traces.json"
EQUIVALENT = Path(__file__).with_name("equivalent.yml")
PACKAGE = "procgen.engineering"

#: The gravest first: what can burn, shock, flood or crush.
ORDER = (
    "electrical", "electrical_cable", "electrical_network", "earthing", "filling", "fill_network", "heating",
    "heating_stretch", "heating_machine", "water", "atmosphere", "mixing", "mixing_balance",
    "mixing_chamber", "treatment", "drain", "hydraulics", "fast_losses", "pump", "handling", "fastening",
    "supply", "use", "materials",
)  # fmt: skip


def modules() -> list[str]:
    """Names of the floor's modules, the gravest first."""
    names = sorted(path.stem for path in FLOOR.glob("*.py") if path.stem != "__init__")
    return sorted(names, key=lambda name: ORDER.index(name) if name in ORDER else len(ORDER))


def source(module: str) -> bytes:
    """Source of a module of the floor."""
    return (FLOOR / f"{module}.py").read_bytes()


@cache
def imported(path: Path) -> frozenset[Path]:
    """Files of the floor and of its tests that a file imports."""
    found = set()
    for node in ast.walk(ast.parse(path.read_bytes())):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            package = (node.module or "") if not node.level else f"tests.engineering.{node.module or ''}"
            names = [package, *(f"{package}.{alias.name}" for alias in node.names)]
        for name in names:
            for prefix, folder in ((f"{PACKAGE}.", FLOOR), ("tests.engineering.", TESTS)):
                candidate = folder / f"{name.removeprefix(prefix)}.py"
                if name.startswith(prefix) and candidate.is_file():
                    found.add(candidate)
    return frozenset(found)


@cache
def closure(path: Path) -> frozenset[Path]:
    """A file and all of the floor and of its tests that it builds on."""
    seen: set[Path] = set()
    waiting = [path]
    while waiting:
        one = waiting.pop()
        if one not in seen:
            seen.add(one)
            waiting.extend(imported(one))
    return frozenset(seen)


@cache
def fingerprint(*paths: Path) -> str:
    """Of the content of these files and of all they build on."""
    everything = sorted(set[Path]().union(*(closure(path) for path in paths)))
    digest = hashlib.sha256()
    for path in everything:
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def test_files() -> list[Path]:
    """All tests of the floor."""
    return sorted(TESTS.glob("test_*.py"))
