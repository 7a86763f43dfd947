"""The invented place at which a model is practised where no site has been surveyed."""

from __future__ import annotations

from procgen.messages.yamltext import Document, read
from procgen.profiles.loader import Loaded, validated
from procgen.profiles.machine import Machine
from procgen.profiles.site import Site
from procgen.profiles.site_rules import SITE_RULES
from procgen.publish.printing.engine import ASSETS
from procgen.units.kinds import Preference

SURVEY = ASSETS / "practice-site.yml"


def practice_site(machine: Machine, prefer: Preference) -> Loaded[Site]:
    """A survey of an invented place with the model's first supply variant."""
    variant, typed = machine.supply_variants[0], read(SURVEY)
    data = {**typed.data, "machine": machine.id, "supply_variant": variant.id, "units": prefer}
    voltages = {
        name: voltage.text
        for name, voltage in (
            ("line_to_neutral", variant.line_to_neutral),
            ("line_to_line", variant.line_to_line),
        )
        if voltage is not None
    }
    data["electricity"] = {**data["electricity"], "arrangement": variant.arrangement, **voltages}
    site, faults = validated(Document(SURVEY, data, typed.marks), ASSETS, Site, SITE_RULES)
    assert site is not None, faults
    return site
