"""What the survey lacks, and papers the place asks for."""

from __future__ import annotations

from procgen.engineering.sources import COMMON_PRACTICE
from procgen.values.judge import Case, Outcome, attention, passes, rule


@rule("survey_incomplete", "planner", COMMON_PRACTICE)
def survey_incomplete(c: Case) -> Outcome | None:
    site = c.site
    assert site is not None
    lacking = [
        name
        for name, part in (
            ("altitude", site.altitude),
            ("static_pressure", site.mains.static_pressure),
            ("night_pressure", site.mains.night_pressure),
            ("flowing_pressure", site.mains.flowing),
            ("water_temperature", site.mains.water_temperature),
            ("water_analysis", site.water),
            ("arrangement", site.electricity.arrangement),
            ("device", site.electricity.device),
            ("residual_device", site.electricity.residual_device),
            ("cable", site.electricity.cable),
            ("loop_impedance", site.electricity.loop_impedance),
            ("drain_route", site.drain),
            ("counter", site.counter),
            ("way_in", site.access),
            ("expected_use", site.use),
        )
        if part is None
    ]
    if lacking:
        return attention("lacking", lacking=tuple(f"words.survey_{name}" for name in lacking))
    return passes()


@rule("figures_missing", "planner", COMMON_PRACTICE, without_site=True)
def figures_missing(c: Case) -> Outcome | None:
    """A figure outside its formula's range is not printed, and that is told."""
    beyond = c.beyond()
    if not beyond:
        return None
    first: dict[str, str] = {}
    for value in beyond:
        c.seen.append(value.id)
        first.setdefault(value.why, f"values.titles.{value.id.partition('[')[0]}")
    sentence = "partly" if all(value.ok for value in beyond) else "missing"
    return attention(sentence, figures=tuple(dict.fromkeys(first.values())), why=next(iter(first)))


@rule("plumber_licence", "planner", COMMON_PRACTICE)
def plumber_licence(c: Case) -> Outcome | None:
    assert c.site is not None
    return passes("required") if c.site.codes.licensed_plumber_required else passes()


@rule("pressure_vessel", "planner", COMMON_PRACTICE)
def pressure_vessel(c: Case) -> Outcome | None:
    assert c.site is not None
    asked = c.site.codes.pressure_vessel_examination
    if asked == "unknown":
        return attention("unknown")
    return attention("required") if asked == "required" else passes()


@rule("design_only", "planner", COMMON_PRACTICE, without_site=True)
def design_only(c: Case) -> Outcome | None:
    """A model's own guide stands on design ranges."""
    return attention("no_site") if c.site is None else None
