"""Who carries: the demo guides agree with the lifting equation worked out here, and they differ."""

from __future__ import annotations

import pytest

from tests.values.kit import GUIDES, SITES, sheet
from tests.values.mutate import worksheet


def one_person(name: str) -> float:
    """Revised NIOSH equation (DHHS 94-110), metric, typed here again: one lift, no twist, poor grip."""
    guide = GUIDES[name]
    body = guide.machine.data.body
    counter = guide.site.data.counter if guide.site else None
    H = 20 + 50 * body.depth.value
    V = 100 * body.grip_height.value
    height = 100 * counter.height.value if counter else 90.0
    D = max(height, 25)
    return 23 * 25 / max(H, 25) * (1 - 0.003 * abs(V - 75)) * (0.82 + 4.5 / D) * 0.90


def team(mass: float, limit: float) -> int | None:
    """Least team by HSE L23: two can do two thirds, three half of what they can alone; none beyond three."""
    return next((n for n, share in ((1, 1.0), (2, 2 / 3), (3, 0.5)) if mass <= n * limit * share), None)


@pytest.mark.parametrize("name", SITES)
def test_people_follow_the_equation(name: str) -> None:
    found = sheet(name)
    mass, limit = found.value("handling.mass").value, found.value("handling.weight_limit").value
    assert mass is not None
    assert limit == pytest.approx(one_person(name), rel=1e-6)
    assert found.value("handling.lift_index").value == pytest.approx(mass / limit)
    needed = team(mass, limit)
    assert found.value("handling.lifting_aid").value == (needed is None)
    # Common practice, no source: two steady what an aid carries, three above 100 kg.
    assert found.value("handling.people").value == (needed or (3 if mass > 100 else 2))


def test_nobody_lifts_such_a_machine_alone() -> None:
    for name in GUIDES:
        assert (sheet(name).value("handling.people").value or 0) >= 2
        index = sheet(name).value("handling.lift_index").value
        assert index is None or index > 1


def test_the_demo_sites_differ() -> None:
    """Two and three people; an aid; stairs; too few people; all of it somewhere."""
    people = {sheet(name).value("handling.people").value for name in SITES}
    assert people >= {2, 3}
    assert any(sheet(name).value("handling.lifting_aid").value for name in SITES)
    said = {
        (finding.verdict, GUIDES[name].site.data.access.stairs > 0)  # type: ignore[union-attr]
        for name in SITES
        for finding in sheet(name).findings
        if finding.id == "lift_people"
    }
    assert {("pass", False), ("stop", True)} <= said


@pytest.mark.parametrize(
    ("kilograms", "people", "aid"), [(6, 1, 0), (9, 2, 0), (10, 3, 0), (11, 2, 1), (101, 3, 1)]
)
def test_from_one_pair_of_hands_to_an_aid(kilograms: int, people: int, aid: int) -> None:
    """By hand, limit 7.00 kg: one to 6.99, two to 9.3, three to 10.5 kg (HSE L23); then an aid."""
    found = worksheet("ellunby-bakery", {"machine:body.dry_mass": f"{kilograms} kg"})
    assert found.value("handling.weight_limit").value == pytest.approx(6.997, abs=5e-4)
    got = (found.value("handling.people").value, found.value("handling.lifting_aid").value)
    assert got == (people, aid)
