"""Sources of the formulas on water, air, flow, filling and heat."""

from __future__ import annotations

from procgen.engineering.kernel import Source

IAPWS_IF97 = Source(
    "iapws-if97",
    "IAPWS R7-97(2012), Industrial Formulation 1997 for water and steam",
    "regions 1, 2 and 4, computed by the library chemicals",
)
IAPWS_VISCOSITY = Source(
    "iapws-viscosity",
    "IAPWS R12-08, Formulation 2008 for the viscosity of ordinary water",
    "without the critical enhancement, computed by the library chemicals",
)
ISA = Source(
    "isa",
    "ISO 2533 / US Standard Atmosphere 1976",
    "troposphere, computed by the library fluids",
)
DARCY_WEISBACH = Source(
    "darcy-weisbach",
    "Darcy-Weisbach with the Colebrook friction factor, computed by the library fluids",
    "blended between Re 2000 and 4000",
    kind="handbook",
)
LOSS_COEFFICIENT = Source("loss-coefficient", "Crane TP-410, loss of a fitting by its K", kind="handbook")
ORIFICE = Source(
    "orifice", "Textbook orifice equation (Bernoulli and a discharge coefficient)", kind="handbook"
)
HYDROSTATICS = Source("hydrostatics", "Hydrostatic pressure of a water column", kind="handbook")
QUADRATIC_SOURCE = Source(
    "quadratic-source",
    "Supply as a static pressure with a loss that grows with the square of the flow, from one flow test",
    kind="handbook",
)
TREATMENT_CURVE = Source("treatment-curve", "The cartridge maker's flow and loss points", kind="maker")
REDUCER = Source("reducer", "Pressure-reducing valve: droop and open loss by its maker", kind="maker")
VANE_PUMP = Source(
    "vane-pump",
    "Rotary-vane pump with a spring bypass from outlet to inlet: force balance at the bypass",
    kind="handbook",
)
IDEAL_GAS = Source("ideal-gas", "Isothermal compression of trapped air (Boyle)", kind="handbook")
ARITHMETIC = Source("arithmetic", "Arithmetic from the stated formula", kind="arithmetic")
STOP_AND_CHECK = Source("stop-and-check", "Common practice, no source", kind="common practice")
JOULE = Source("joule", "Joule heat of a resistance: power as the square of the voltage", kind="handbook")
LUMPED_HEAT = Source(
    "lumped-heat",
    "Heat balance of a lumped mass with a loss proportional to the temperature difference",
    kind="handbook",
)
RATED_INPUT = Source(
    "iec-60335-1-input",
    "IEC 60335-1, deviation of the power input of heating appliances",
    "10.1",
    from_memory=True,
)
ENTHALPY_BALANCE = Source(
    "enthalpy-balance", "Enthalpy balance of two streams, properties by IAPWS-IF97", kind="handbook"
)
