"""Rotary-vane pump with a bypass: its outlet rides on its inlet, so a setting belongs to an inlet."""

from __future__ import annotations

from procgen.engineering.kernel import kernel
from procgen.engineering.sources_fluid import VANE_PUMP

GAUGE = (0.0, 5e6)
FLOW = (0.0, 1e-2)
SLOPE = (0.0, 1e12)


@kernel(
    inlet_gauge="Pa",
    setting_gauge="Pa",
    reference_inlet_gauge="Pa",
    returns="Pa",
    source=VANE_PUMP,
    valid={"inlet_gauge": GAUGE, "setting_gauge": GAUGE, "reference_inlet_gauge": GAUGE},
)
def outlet_pressure_gauge(inlet_gauge: float, setting_gauge: float, reference_inlet_gauge: float) -> float:
    """Outlet pressure at an inlet pressure other than that at which the bypass was set, at the same flow.

    Formula: p_out = p_set + (p_in − p_in,set). The bypass spring holds the difference between outlet and
        inlet.
    Args:
        inlet_gauge: inlet pressure now, Pa gauge.
        setting_gauge: outlet pressure read when the bypass was set, Pa gauge.
        reference_inlet_gauge: inlet pressure at that moment, Pa gauge.
    Returns: outlet pressure, Pa gauge.
    Valid: each 0..5 MPa.
    Raises: OutOfRangeError.
    Source: force balance at a bypass that opens from outlet to inlet.
    """
    return setting_gauge + inlet_gauge - reference_inlet_gauge


@kernel(
    setting_gauge="Pa",
    reference_inlet_gauge="Pa",
    returns="Pa",
    source=VANE_PUMP,
    valid={"setting_gauge": GAUGE, "reference_inlet_gauge": GAUGE},
)
def bypass_rise(setting_gauge: float, reference_inlet_gauge: float) -> float:
    """Pressure that the pump adds at the flow at which its bypass was set.

    Formula: Δp = max(0, p_set − p_in,set).
    Args:
        setting_gauge: outlet pressure read when the bypass was set, Pa gauge.
        reference_inlet_gauge: inlet pressure at that moment, Pa gauge.
    Returns: pressure difference, Pa.
    Valid: each 0..5 MPa.
    Raises: OutOfRangeError.
    Source: force balance at the bypass.
    """
    return max(0.0, setting_gauge - reference_inlet_gauge)


@kernel(
    target_gauge="Pa",
    inlet_in_service_gauge="Pa",
    inlet_at_setting_gauge="Pa",
    returns="Pa",
    source=VANE_PUMP,
    valid={"target_gauge": GAUGE, "inlet_in_service_gauge": GAUGE, "inlet_at_setting_gauge": GAUGE},
)
def setting_for(target_gauge: float, inlet_in_service_gauge: float, inlet_at_setting_gauge: float) -> float:
    """What the gauge should read while the bypass is adjusted, so that service gives the target.

    Formula: p_set = p_target + (p_in,set − p_in,service), with a group running against a puck both times.
    Args:
        target_gauge: outlet pressure wanted in service, Pa gauge.
        inlet_in_service_gauge: inlet pressure in service, while brewing, Pa gauge.
        inlet_at_setting_gauge: inlet pressure while the bypass is adjusted, while brewing, Pa gauge.
    Returns: reading to adjust to, Pa gauge.
    Valid: each 0..5 MPa.
    Raises: OutOfRangeError.
    Source: the inverse of outlet_pressure_gauge.
    """
    return target_gauge + inlet_at_setting_gauge - inlet_in_service_gauge


@kernel(
    setting_gauge="Pa",
    inlet_flowing_gauge="Pa",
    inlet_static_gauge="Pa",
    brew_flow="m**3/s",
    bypass_slope="Pa*s/m**3",
    returns="Pa",
    source=VANE_PUMP,
    valid={
        "setting_gauge": GAUGE,
        "inlet_flowing_gauge": GAUGE,
        "inlet_static_gauge": GAUGE,
        "brew_flow": FLOW,
        "bypass_slope": SLOPE,
    },
)
def static_setting_gauge(
    setting_gauge: float,
    inlet_flowing_gauge: float,
    inlet_static_gauge: float,
    brew_flow: float = 0.0,
    bypass_slope: float = 0.0,
) -> float:
    """What the same bypass setting reads with the pump running and no group open.

    Formula: p_0 = p_set + (p_in,static − p_in,flowing) + k·Q_brew. Without draw the inlet recovers to its
        static pressure, and the bypass must pass the brewing flow as well, which lifts its spring further.
    Args:
        setting_gauge: reading with a group running against a puck, Pa gauge.
        inlet_flowing_gauge: inlet pressure at that moment, Pa gauge.
        inlet_static_gauge: inlet pressure without draw, Pa gauge.
        brew_flow: flow of the group at that moment, m3/s.
        bypass_slope: rise of the bypass pressure with the flow through the bypass, Pa per m3/s.
    Returns: reading without draw, Pa gauge.
    Valid: pressures 0..5 MPa; brew_flow 0..0.01 m3/s; bypass_slope 0..1e12 Pa·s/m3.
    Raises: OutOfRangeError.
    Source: force balance at the bypass.
    """
    return setting_gauge + inlet_static_gauge - inlet_flowing_gauge + bypass_slope * brew_flow


@kernel(
    setting_gauge="Pa",
    reference_inlet_gauge="Pa",
    highest_inlet_gauge="Pa",
    brew_flow="m**3/s",
    bypass_slope="Pa*s/m**3",
    returns="Pa",
    source=VANE_PUMP,
    valid={
        "setting_gauge": GAUGE,
        "reference_inlet_gauge": GAUGE,
        "highest_inlet_gauge": GAUGE,
        "brew_flow": FLOW,
        "bypass_slope": SLOPE,
    },
)
def maximum_outlet_gauge(
    setting_gauge: float,
    reference_inlet_gauge: float,
    highest_inlet_gauge: float,
    brew_flow: float = 0.0,
    bypass_slope: float = 0.0,
) -> float:
    """Highest pressure behind the pump: running without draw at the highest inlet (night) pressure.

    Formula: p_max = p_set + (p_in,max − p_in,set) + k·Q_brew, and never below p_in,max.
    Args:
        setting_gauge: reading with a group running against a puck, Pa gauge.
        reference_inlet_gauge: inlet pressure at that moment, Pa gauge.
        highest_inlet_gauge: highest static inlet pressure, Pa gauge.
        brew_flow: flow of the group at that moment, m3/s.
        bypass_slope: rise of the bypass pressure with the flow through the bypass, Pa per m3/s.
    Returns: pressure, Pa gauge.
    Valid: pressures 0..5 MPa; brew_flow 0..0.01 m3/s; bypass_slope 0..1e12 Pa·s/m3.
    Raises: OutOfRangeError.
    Source: force balance at the bypass.
    """
    outlet = setting_gauge + highest_inlet_gauge - reference_inlet_gauge + bypass_slope * brew_flow
    return max(outlet, highest_inlet_gauge)


@kernel(
    dp="Pa",
    displacement_flow="m**3/s",
    slip_flow_per_Pa="m**3/(s*Pa)",
    returns="m**3/s",
    source=VANE_PUMP,
    valid={"dp": (-5e6, 5e6), "displacement_flow": FLOW, "slip_flow_per_Pa": (0.0, 1e-6)},
)
def delivered_flow(dp: float, displacement_flow: float, slip_flow_per_Pa: float) -> float:
    """Flow of a vane pump against a pressure rise, bypass shut.

    Formula: Q = max(0, Q_displacement − s·Δp).
    Args:
        dp: outlet less inlet pressure, Pa.
        displacement_flow: flow without a pressure rise, m3/s.
        slip_flow_per_Pa: flow that slips back per pascal of rise, m3/(s·Pa).
    Returns: flow, m3/s.
    Valid: dp −5..5 MPa; displacement_flow 0..0.01 m3/s; slip_flow_per_Pa 0..1e-6 m3/(s·Pa).
    Raises: OutOfRangeError.
    Source: displacement less leakage, the usual first-order model; figures from the pump's maker.
    """
    return max(0.0, displacement_flow - slip_flow_per_Pa * dp)


@kernel(
    rise="Pa",
    displacement_flow="m**3/s",
    slip_flow_per_Pa="m**3/(s*Pa)",
    returns="m**3/s",
    source=VANE_PUMP,
    valid={"rise": GAUGE, "displacement_flow": FLOW, "slip_flow_per_Pa": (0.0, 1e-6)},
)
def pump_flow_limit(rise: float, displacement_flow: float, slip_flow_per_Pa: float) -> float:
    """Largest flow at which the pump still holds its bypass pressure.

    Formula: Q_limit = max(0, Q_displacement − s·Δp_bypass).
    Args:
        rise: pressure that the bypass holds above the inlet, Pa.
        displacement_flow: flow without a pressure rise, m3/s.
        slip_flow_per_Pa: flow that slips back per pascal of rise, m3/(s·Pa).
    Returns: flow, m3/s.
    Valid: rise 0..5 MPa; displacement_flow 0..0.01 m3/s; slip_flow_per_Pa 0..1e-6 m3/(s·Pa).
    Raises: OutOfRangeError.
    Source: displacement less leakage; figures from the pump's maker.
    """
    return max(0.0, displacement_flow - slip_flow_per_Pa * rise)
