"""Branches of the templates that none of the rendered guides has taken: text that nobody has ever seen."""

from __future__ import annotations

from pathlib import Path

from procgen.messages.diagnostic import Diagnostic
from procgen.procedure.branches import BranchLog


def check_coverage(log: BranchLog, templates_dir: Path) -> list[Diagnostic]:
    """One fault for each branch that no guide took."""
    return [
        Diagnostic(
            "check_branch_untested",
            templates_dir / branch.template,
            branch.line,
            params={"branch": branch.label},
            level="check",
        )
        for branch in log.untaken
    ]
