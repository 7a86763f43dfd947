"""Branches of the templates that none of the rendered guides has taken: text that nobody has ever seen."""

from __future__ import annotations

from pathlib import Path

from procgen.messages.diagnostic import Diagnostic
from procgen.procedure.branches import BranchLog


def check_coverage(log: BranchLog, templates_dir: Path, empty_loops: bool = False) -> list[Diagnostic]:
    """One fault for each branch that no guide took; ``empty_loops`` asks for loops over nothing as well.

    Most lists of a profile cannot be empty, so a loop without words of its own for that is left out.
    """
    return [
        Diagnostic(
            "check_branch_untested",
            templates_dir / branch.template,
            branch.line,
            params={"branch": branch.label},
            level="check",
        )
        for branch in log.untaken
        if empty_loops or not branch.implied
    ]
