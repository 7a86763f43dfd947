"""A change reaches everyone who took the function or the figure over when it was imported."""

import subprocess
import sys

from tests.conftest import ROOT
from tests.mutation.ledger import Ledger, Verdict, equivalents, numbered
from tests.mutation.operators import mutants
from tests.mutation.where import source

# In a process of its own, which the changes do not outlive.
PROGRAM = """
from procgen.engineering import fill_network, hydraulics, mixing
from procgen.engineering.hydraulics import velocity
from tests.mutation.operators import mutants
from tests.mutation.propagate import propagate
from tests.mutation.transplant import forget, transplant
from tests.mutation.where import source

before = source("hydraulics")
found = mutants("hydraulics", before)

def change(function, becomes):
    return next(m for m in found if m.function == function and becomes in m.becomes)

def near(a, b):
    return abs(a / b - 1.0) < 1e-12

right = velocity(1e-4, 0.01)
four = change("velocity", "4.08")
assert transplant(four, four.apply(before))
assert near(velocity(1e-4, 0.01), 1.02 * right)

bore = change("", "BORE = (1e-5, 1.02)")
assert propagate(bore, bore.apply(before))
assert mixing.BORE == hydraulics.BORE == (1e-5, 1.02)
assert velocity.info.valid["d"] == (1e-5, 1.02)
assert velocity(1.0, 1.01) > 0.0

rough = next(m for m in mutants("fill_network", source("fill_network")) if "= 1.53e-06" in m.becomes)
assert transplant(rough, rough.apply(source("fill_network")))
assert near(fill_network.Hose(0.008, 1.0).roughness, 1.53e-6)
forget()
"""


def test_a_change_reaches_everyone():
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")


def test_verdicts_outlive_a_run(tmp_path):
    work = list(numbered(mutants("pump", source("pump"))))
    assert len({name for _, name in work}) == len(work)
    by = "tests/engineering/test_pump.py::test_outlet_rides_on_inlet"
    ledger = Ledger(tmp_path / "kept.jsonl")
    ledger.put(*work[0], Verdict("killed", by))
    ledger.put(*work[1], Verdict("survived", ""))
    with ledger.path.open("a") as file:
        file.write('{"name": "cut sho')
    again = Ledger(ledger.path)
    assert again.get(*work[0]) == Verdict("killed", by)
    assert again.get(*work[1]) == Verdict("survived", "")
    assert again.get(*work[2]) is None
    # With another source or other tests it no longer holds.
    again.verdicts[work[0][1]] = ("0000", Verdict("killed", by))
    assert again.get(*work[0]) is None


def test_equivalents_have_reasons():
    for key, reason in equivalents().items():
        assert all(isinstance(part, str) for part in key), key
        assert len(reason) > 20, key
