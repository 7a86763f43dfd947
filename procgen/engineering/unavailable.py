"""The one error of a figure that a machine or a place cannot have."""

from __future__ import annotations


class UnavailableError(ValueError):
    """A figure does not exist for these inputs; ``id`` names the reason, ``details`` its numbers in SI."""

    def __init__(self, id: str, **details: float) -> None:
        self.id = id
        self.details = details
        shown = ", ".join(f"{name} = {found:g}" for name, found in details.items())
        super().__init__(f"{id} ({shown})" if shown else id)
