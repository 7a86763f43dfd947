from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from procgen.publish.adapter import build, load_settings
from procgen.publish.guide_pages import guide_site
from tests.publish import fakes


@pytest.fixture(scope="session")
def guide(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A built guide of a site."""
    folder = tmp_path_factory.mktemp("guide") / "ellunby-bakery"
    build(guide_site(fakes.job(), fakes.messages(), fakes.draw).spec, folder, load_settings(None))
    return folder


@pytest.fixture
def workspace(tmp_path: Path) -> Iterator[Path]:
    """A workspace with this project's site configuration and handbook."""
    shutil.copy(fakes.ROOT / "mkdocs.yml", tmp_path)
    (tmp_path / "docs_src").mkdir()
    shutil.copy(fakes.ROOT / "docs_src" / "index.md", tmp_path / "docs_src")
    shutil.copytree(fakes.ROOT / "docs_src" / "handbook", tmp_path / "docs_src" / "handbook")
    yield tmp_path
