"""How long a property test on the whole graph looks: a share of what the profile asks of a formula."""

from __future__ import annotations

from hypothesis import HealthCheck, settings


def _asked() -> int:
    default = settings.default
    assert default is not None
    return default.max_examples


def thorough() -> bool:
    """True where time does not matter."""
    return _asked() > 100


def heavy(share: int) -> settings:
    """One example in so many: an evaluation of a guide costs a thousand times what a formula costs."""
    examples = max(5, _asked() // share)
    return settings(
        max_examples=examples,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
    )
