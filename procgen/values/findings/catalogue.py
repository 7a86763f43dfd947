"""Importing this module declares every rule, in the order findings are listed."""

from procgen.values.findings import drain, electrical, place, survey, water, way  # noqa: F401
