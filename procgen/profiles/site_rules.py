"""Rules of a site survey that need nothing but the survey."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from procgen.profiles.loader import Location
from procgen.profiles.site import Site

Breach = tuple[Location, str, dict[str, str]]


def pressures(site: Site) -> Iterator[Breach]:
    """Water that flows has less pressure than water that stands."""
    mains = site.mains
    if mains.flowing and mains.static_pressure and mains.flowing.pressure.high > mains.static_pressure.high:
        params = {"found": mains.flowing.pressure.text, "expected": mains.static_pressure.text}
        yield ("mains", "flowing", "pressure"), "not_below", params


def drain_joints(site: Site) -> Iterator[Breach]:
    """A segment starts where the one before ends (a drop between two is a joint; a climb is a mistake)."""
    segments = site.drain.segments if site.drain else []
    for i, (before, after) in enumerate(pairwise(segments), 1):
        if after.start_height.value > before.end_height.value + 1e-6:
            params = {"found": after.start_height.text, "expected": before.end_height.text}
            yield ("drain", "segments", i, "start_height"), "segment_starts_above", params


def sample_point(site: Site) -> Iterator[Breach]:
    """A sample from behind a treatment needs one."""
    if site.water and site.water.treated and site.treatment is None:
        yield ("water", "sample_point"), "no_treatment_to_sample", {"found": str(site.water.sample_point)}


def capacity_basis(site: Site) -> Iterator[Breach]:
    """A capacity says what it counts."""
    treatment = site.treatment
    if treatment and (treatment.capacity is None) != (treatment.capacity_counts is None):
        name = "capacity" if treatment.capacity is None else "capacity_counts"
        yield ("treatment",), "missing_field", {"field": f"treatment.{name}", "found": name}


def rejection(site: Site) -> Iterator[Breach]:
    """Only a membrane keeps salts back, and how much reaches the machine depends on what is blended in."""
    treatment = site.treatment
    if treatment is None or treatment.rejection is None:
        return
    if treatment.kind != "reverse_osmosis":
        yield ("treatment", "rejection"), "rejection_without_membrane", {"found": treatment.kind}
    elif treatment.bypass is None:
        yield ("treatment",), "missing_field", {"field": "treatment.bypass", "found": "bypass"}


def loss_curve(site: Site) -> Iterator[Breach]:
    """More flow, more loss, wherever in their ranges the points lie; no flow passes without any."""
    points = site.treatment.loss if site.treatment else []
    if points and points[0].loss.low <= 0:
        yield ("treatment", "loss", 0), "loss_curve_falls", {"found": points[0].loss.text}
    for i, (before, after) in enumerate(pairwise(points), 1):
        for low, high in ((before.flow, after.flow), (before.loss, after.loss)):
            if high.low <= low.high:
                yield ("treatment", "loss", i), "loss_curve_falls", {"found": high.text}
                break


def droop(site: Site) -> Iterator[Breach]:
    """A reducer's droop belongs to a flow."""
    fitted = site.mains.reducer
    if fitted and (fitted.droop is None) != (fitted.nominal_flow is None):
        name = "droop" if fitted.droop is None else "nominal_flow"
        yield ("mains", "reducer"), "missing_field", {"field": f"mains.reducer.{name}", "found": name}


SITE_RULES = (pressures, drain_joints, sample_point, capacity_basis, rejection, loss_curve, droop)
