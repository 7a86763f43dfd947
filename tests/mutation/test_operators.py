"""The changes themselves: found where they are meant, applied exactly, and judged by a test that fails."""

from tests.mutation.operators import mutants

SOURCE = b'''"""Doc: 1 + 1."""
LIMIT = (0.0, 1e5)
NOTE = Source("x", "3 < 4")

@kernel(unit="1", source=s.X, valid={"a": (-2.0, 8)})
def f(a: float, b: float = 3.0) -> float:
    """At 7 K.

    >>> f(1.0)
    2.0
    """
    text = f"{a:5.1f}"
    if a <= b and not b == 4:
        return min(a, b) ** 2 - table[0]
    return (a  # a comment - with * signs
            * -b)
'''


def changes(where):
    return {(m.line, m.becomes) for m in mutants("x", SOURCE) if m.where == where}


def test_figures_outside_functions():
    assert changes("module") == {
        ("LIMIT = (0.0, 1e5)", "LIMIT = (0.02, 1e5)"),
        ("LIMIT = (0.0, 1e5)", "LIMIT = ((-0.02), 1e5)"),
        ("LIMIT = (0.0, 1e5)", "LIMIT = (0.0, 102000.0)"),
        ("LIMIT = (0.0, 1e5)", "LIMIT = (0.0, 98000.0)"),
    }


def test_ranges_and_defaults():
    found = {after for _, after in changes("signature")}
    assert '@kernel(unit="1", source=s.X, valid={"a": (2.0, 8)})' in found
    assert '@kernel(unit="1", source=s.X, valid={"a": (-2.04, 8)})' in found
    assert '@kernel(unit="1", source=s.X, valid={"a": (-2.0, 8.16)})' in found
    assert "def f(a: float, b: float = 3.06) -> float:" in found
    assert len(found) == 7


def test_bodies():
    found = changes("body")
    condition = "if a <= b and not b == 4:"
    assert {after for before, after in found if before == condition} == {
        "if a < b and not b == 4:",
        "if a >= b and not b == 4:",
        "if a <= b or not b == 4:",
        "if a <= b and  b == 4:",
        "if a <= b and not b != 4:",
        "if a <= b and not b == 5:",
        "if a <= b and not b == 3:",
    }
    power = "return min(a, b) ** 2 - table[0]"
    assert {after for before, after in found if before == power} == {
        "return max(a, b) ** 2 - table[0]",
        "return min(a, b) * 2 - table[0]",
        "return min(a, b) ** 2.04 - table[0]",
        "return min(a, b) ** 1.96 - table[0]",
        "return min(a, b) ** 2 + table[0]",
        "return min(a, b) ** 2 - table[1]",
        "return min(a, b) ** 2 - table[(-1)]",
    }
    assert {after for before, after in found if before == "* -b)"} == {"/ -b)", "* b)"}


def test_every_change_is_a_program():
    for mutant in mutants("x", SOURCE):
        changed = mutant.apply(SOURCE)
        compile(changed, "x", "exec")
        assert changed != SOURCE
