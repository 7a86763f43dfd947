"""What publishing needs to know about one guide, and how a guide names itself on its pages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from procgen.figures import Drawing
from procgen.messages.catalog import Messages
from procgen.procedure.model import Procedure
from procgen.profiles.loader import Loaded
from procgen.profiles.machine import Machine
from procgen.profiles.site import Site
from procgen.values.worksheet import Worksheet


class GuideNames(Protocol):
    """What a guide is made from."""

    @property
    def guide(self) -> str:
        """Id of the guide: the site's, or the model's own."""
        ...

    @property
    def machine(self) -> Loaded[Machine]:
        """The machine profile."""
        ...

    @property
    def site(self) -> Loaded[Site] | None:
        """The site survey; None in a model's own guide."""
        ...


class GuideJob(GuideNames, Protocol):
    """Everything of one guide: loaded, validated, computed and rendered by the floors below."""

    @property
    def worksheet(self) -> Worksheet:
        """Values and findings."""
        ...

    @property
    def procedure(self) -> Procedure:
        """Parts, steps, holds."""
        ...


#: Draws a figure by its name; None where this guide cannot have it.
DrawFigure = Callable[[str], Drawing | None]


@dataclass(frozen=True, slots=True)
class Identity:
    """How a guide names itself."""

    guide: str
    machine: str
    model: str
    site: str | None
    profile_revision: str
    survey_revision: str | None
    supply: str
    demo: bool
    title: str
    description: str

    @property
    def revision(self) -> str:
        """The revision of what was surveyed; of the profile where nothing was."""
        return self.survey_revision or self.profile_revision


def identity_of(job: GuideNames, messages: Messages) -> Identity:
    """Names, revisions and whether the guide is invented demonstration data."""
    machine, site = job.machine.data, job.site.data if job.site else None
    wanted = site.supply_variant if site else machine.supply_variants[0].id
    supply = next(variant.name for variant in machine.supply_variants if variant.id == wanted)
    form = "" if site else "_model"
    names: dict[str, Any] = {"machine": machine.name, "site": site.name if site else ""}
    return Identity(
        guide=job.guide,
        machine=machine.name,
        model=machine.id,
        site=site.name if site else None,
        profile_revision=messages.text("site.revision", revision=machine.revision, date=machine.date),
        survey_revision=(
            messages.text("site.revision", revision=site.revision, date=site.date) if site else None
        ),
        supply=supply,
        demo=machine.demo or bool(site and site.demo),
        title=messages.text(f"site.title{form}", **names),
        description=messages.text(f"site.description{form}", **names),
    )
