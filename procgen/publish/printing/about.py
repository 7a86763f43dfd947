"""What every printed document of one guide needs to know."""

from __future__ import annotations

from dataclasses import dataclass

from procgen.publish.job import GuideJob, Identity
from procgen.publish.words import Words
from procgen.units.kinds import Preference


@dataclass(frozen=True, slots=True)
class About:
    """A guide, its state, and where its current edition can be found."""

    job: GuideJob
    identity: Identity
    words: Words
    edition: str
    #: what a loose sheet names beside its edition: ``ellunby-bakery-install``
    document: str
    #: number of each step and hold as printed
    numbers: dict[str, str]
    #: address of the guide on the web, or "" where the workspace states none
    address: str
    #: the units that a form asks in
    asks_in: Preference = "metric"
    #: which set of exercises; None for the one that follows from guide and edition
    seed: int | None = None
    #: how many lines a document of one sheet may hold; None for all
    most: int | None = None
