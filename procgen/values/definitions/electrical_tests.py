"""What the electrician's readings are held against: guidance beside the licensed electrician, who decides."""

from __future__ import annotations

from procgen.engineering import earthing, electrical
from procgen.engineering.sources_general import (
    IEC_60335_1_13,
    IEC_60335_1_27,
    IEC_60364_6,
    IEC_61008,
    MEASURED_LOOP,
    MEASURED_LOOP_INSTEAD,
)
from procgen.values.constants import IEC_60038, VOLTAGE_HIGH, VOLTAGE_LOW
from procgen.values.define import VALUES, UnavailableError
from procgen.values.definitions.electrical import WITHOUT_NEUTRAL, has_neutral
from procgen.values.reader import Facts, Reader

#: Flexible cords (IEC 60228).
FLEXIBLE = 5
#: A general residual-current device at its rated residual current, s.
TRIP_TIME = 0.3


def loop_by_another_code(facts: Facts) -> bool:
    """True where the site declares a code whose own limits of the loop impedance are not held here."""
    return facts.site is not None and facts.site.codes.electrical != "IEC 60364"


@VALUES.value(
    "electrical.loop_impedance_maximum",
    "resistance",
    formula=lambda facts: (
        f"2 / 3 * loop_impedance(I_n, U_nominal{'' if has_neutral(facts) else ' / sqrt(3)'})"
    ),
    source=lambda facts: MEASURED_LOOP_INSTEAD if loop_by_another_code(facts) else MEASURED_LOOP,
    digits=2,
    limit="at_most",
)
def loop_impedance_maximum(r: Reader) -> float:
    """Highest reading on cold conductors at which the device still disconnects at once when they are hot."""
    device = r.site.electricity.device if r.site else None
    rating = r.surveyed(device, "rating", "I_n")
    assert device is not None
    if device.curve is None:
        raise UnavailableError("not_surveyed", field="curve")
    # By the nominal voltage, as the clause says: a supply that stands high today may stand low tomorrow.
    without = r.variant.arrangement in WITHOUT_NEUTRAL
    nominal = _nominal(r, "line_to_line" if without else "line_to_neutral")
    hot = earthing.loop_impedance_maximum(rating, device.curve, nominal / 3**0.5 if without else nominal)
    return earthing.loop_impedance_measured_maximum(hot)


@VALUES.value(
    "electrical.leakage_expected",
    "small_current",
    formula=lambda facts: f"leakage({' + '.join(f'P_{e.mark}' for e in facts.machine.elements)})",
    source=IEC_60335_1_13,
    digits=2,
)
def leakage_expected(r: Reader) -> float:
    """What the standard allows this machine to leak: the most a healthy one shows."""
    total = sum(r.leaf(item, "rating", f"P_{item.mark}") for item in r.machine.elements)
    return electrical.expected_leakage(total)


def _nominal(r: Reader, field: str) -> float:
    """Nominal voltage of the variant; unavailable where the supply has none of this kind."""
    if getattr(r.variant, field) is None:
        raise UnavailableError("no_neutral" if field == "line_to_neutral" else "one_line")
    return r.leaf(r.variant, field, "U_nominal")


def _permitted(identifier: str, field: str, *, high: bool) -> None:
    """The narrower of the public supply's tolerance and of what the maker allows."""
    pick = min if high else max

    @VALUES.value(
        identifier,
        "voltage",
        formula=f"U_nominal * {pick.__name__}(k, k_maker)",
        source=IEC_60038,
        step=1.0,
        limit="at_most" if high else "at_least",
    )
    def permitted(r: Reader) -> float:
        share = r.constant(VOLTAGE_HIGH if high else VOLTAGE_LOW, "k")
        return _nominal(r, field) * pick(
            share, r.end(r.machine.design, "voltage_share", "k_maker", high=high)
        )


_permitted("electrical.voltage_low", "line_to_neutral", high=False)
_permitted("electrical.voltage_high", "line_to_neutral", high=True)
_permitted("electrical.voltage_line_low", "line_to_line", high=False)
_permitted("electrical.voltage_line_high", "line_to_line", high=True)


@VALUES.value(
    "electrical.insulation_minimum",
    "insulation",
    formula="insulation_minimum(U_nominal)",
    source=IEC_60364_6,
    digits=2,
    limit="at_least",
)
def insulation_minimum(r: Reader) -> float:
    """Live conductors joined to each other, against earth."""
    field = "line_to_line" if r.variant.line_to_line is not None else "line_to_neutral"
    return earthing.insulation_minimum(_nominal(r, field))


@VALUES.value(
    "electrical.continuity_maximum",
    "resistance",
    formula="continuity_maximum(conductor(L, S))",
    source=IEC_60335_1_27,
    digits=2,
    limit="at_most",
)
def continuity_maximum(r: Reader) -> float:
    """From the isolator's earth terminal through the cord to metal of the machine that can be touched."""
    cord = r.variant.cord
    length, section = r.leaf(cord, "length", "L"), r.leaf(cord, "section", "S")
    return earthing.continuity_maximum(earthing.protective_conductor_resistance(length, section, FLEXIBLE))


@VALUES.value(
    "electrical.trip_time_maximum",
    "time",
    formula="t_trip",
    source=IEC_61008,
    digits=2,
    step=0.1,
    limit="at_most",
)
def trip_time_maximum(r: Reader) -> float:
    """At the rated residual current of a device of the general type."""
    fitted = r.site.electricity.residual_device if r.site else None
    if fitted is not None and fitted.type == "people_protection":
        raise UnavailableError("people_protection")
    return r.table("IEC 61008-1.break_time", TRIP_TIME, "time", "t_trip", IEC_61008.title)
