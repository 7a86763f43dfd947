"""Losses made ready for many flows, against the same losses taken one by one."""

from __future__ import annotations

import pytest
from fluids.friction import friction_factor

from procgen.engineering.fast_losses import fast_hose_loss, fast_treatment_loss
from procgen.engineering.hydraulics import fitting_loss, pipe_loss, treatment_loss

T = 288.15
CURVE = ((1e-4, 2e4), (2e-4, 5e4))


@pytest.mark.parametrize("flow", [1e-7, 5e-6, 2e-5, 4e-5, 1e-4, 5e-4])
@pytest.mark.parametrize("roughness", [0.0, 1.5e-6, 1e-4])
def test_a_hose(flow: float, roughness: float) -> None:
    quick = fast_hose_loss(0.008, 2.5, roughness, 3.0, T)
    whole = pipe_loss(flow, 0.008, 2.5, roughness, T) + fitting_loss(flow, 0.008, 3.0, T)
    assert quick(flow) == pytest.approx(whole, rel=1e-9)


def test_a_hose_by_hand() -> None:
    """0.1 L/s in 8 mm: 1.98944 m/s; 999.1 kg/m3 and 1.1375 mPa s at 15 °C (tables); f by the library."""
    v = 1.98943679
    f = friction_factor(Re=999.1 * v * 0.008 / 1.1375e-3, eD=0.0125)
    by_hand = (f * 2.5 / 0.008 + 3.0) * 999.1 * v * v / 2.0
    assert fast_hose_loss(0.008, 2.5, 1e-4, 3.0, T)(1e-4) == pytest.approx(by_hand, rel=1e-3)


def test_no_flow_and_less() -> None:
    hose, cartridge = fast_hose_loss(0.008, 2.5, 1e-6, 3.0, T), fast_treatment_loss(CURVE)
    for flow in (0.0, -0.01, -1.0):
        assert (hose(flow), cartridge(flow)) == (0.0, 0.0)
    assert cartridge(1.5e-4) == pytest.approx(treatment_loss(1.5e-4, CURVE), rel=1e-12)
