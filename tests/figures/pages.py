"""Built pages as the tests of the drawings read them: what the text says, and what the pictures say."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from bs4 import BeautifulSoup, Tag

from procgen.figures import draw_for
from procgen.procedure.assemble import Assembled
from procgen.publish.adapter import build, load_settings
from procgen.publish.guide_pages import guide_site
from tests.figures.kit import messages


def publish(guide: Assembled, into: Path) -> Built:
    """A guide's site with its drawings in a folder."""
    build(guide_site(guide, messages(), draw_for(guide, messages())).spec, into, load_settings(None))
    return Built(into)


def flat(text: str) -> str:
    """Text with single spaces."""
    return " ".join(text.replace("\u00a0", " ").split())


def word_in(mark: str, text: str) -> bool:
    """True where a text names a mark as a word of its own."""
    return re.search(rf"(?<![\w.\-]){re.escape(mark)}(?![\w\-])", text) is not None


@dataclass
class Built:
    """A guide's folder, read once: pictures taken out of the pages, and the pages without them."""

    folder: Path

    @cached_property
    def _read(self) -> tuple[list[Tag], list[Tag]]:
        drawings, bodies = [], []
        for path in sorted(self.folder.glob("*.html")):
            main = BeautifulSoup(path.read_text(encoding="utf-8"), "lxml").select_one("main")
            assert main is not None
            drawings += [drawing.extract() for drawing in main.select("figure.drawing")]
            bodies.append(main)
        return drawings, bodies

    @property
    def drawings(self) -> dict[str, Tag]:
        """Every figure by its name."""
        return {str(drawing["data-figure"]): drawing for drawing in self._read[0]}

    @property
    def bodies(self) -> list[Tag]:
        """Main part of each page, without drawings."""
        return self._read[1]

    @cached_property
    def words(self) -> str:
        """What the guide says outside its drawings."""
        return flat(" ".join(body.get_text(" ") for body in self.bodies))

    def picture(self, name: str, form: str = "wide") -> Tag:
        """One form of a figure."""
        found = self.drawings[name].select_one(f"svg[data-form={form}]")
        assert found is not None
        return found


def mark_faults(built: Built) -> list[str]:
    """Marks, terminals and conductors in a picture that the guide's text does not name."""
    faults = []
    for name, attribute in (
        ("water-schematic", "data-mark"),
        ("supply-diagram", "data-terminals"),
        ("supply-diagram", "data-conductor"),
    ):
        found = [str(tag[attribute]) for tag in built.picture(name).select(f"[{attribute}]")]
        if not found:
            faults.append(f"{name} has no {attribute}")
        narrow = flat(built.picture(name, "narrow").get_text(" "))
        for mark in found:
            # The text writes the protective conductor in words, a drawing terminals with a dash.
            known = word_in(mark, built.words) or (mark == "PE" and "rotective conductor" in built.words)
            faults += [] if known else [f"{name}: {mark}"]
            faults += [] if word_in(mark.replace("-", "–"), narrow.replace("-", "–")) else [f"narrow: {mark}"]
    return faults


def figure_faults(built: Built) -> list[str]:
    """Figures of a picture that the text prints from the same origin, shown the same way, in other words."""
    said: dict[tuple[str, str], set[str]] = {}
    for body in built.bodies:
        for tag in body.select(".q"):
            if key := _key(tag):
                said.setdefault(key, set()).add(flat(tag.get_text()))
    faults, compared = [], 0
    for name, drawing in built.drawings.items():
        for tag in drawing.select("svg .q"):
            key = _key(tag)
            if key in said:
                compared += 1
                if flat(tag.get_text()) not in said[key]:
                    faults.append(f"{name}: {key} {flat(tag.get_text())} is not {sorted(said[key])}")
    if compared < 20:
        faults.append(f"only {compared} figures could be compared")
    return faults


def _key(tag: Tag) -> tuple[str, str] | None:
    origin = tag.get("data-value") or tag.get("data-leaf")
    return (str(origin), str(tag.get("data-show") or "pair")) if origin else None


def flow_faults(built: Built) -> list[str]:
    """Where a picture's hoses and pumps run another way than the text's: both read from the page."""
    faults = []
    picture = built.picture("water-schematic")
    groups = {str(tag["data-mark"]): tag for tag in picture.select("[data-mark]")}
    tips = {
        (float(x), float(y))
        for path in picture.select("path")
        for x, y in re.findall(r"M([-\d.]+) ([-\d.]+)l-4-8h8z", str(path.get("d")))
    }
    narrow = flat(built.picture("water-schematic", "narrow").get_text())
    hoses = re.findall(r"(?<=\s)([^\s:]+): from (.+?) to (.+?); \d", built.words)
    if not hoses:
        faults.append("the text lists no hose")
    for mark, start, end in hoses:
        if mark not in groups:
            faults.append(f"hose {mark} is not drawn")
            continue
        if f"{start} to {end}" not in flat(groups[mark].get_text()):
            faults.append(f"hose {mark} does not run from {start} to {end}")
        if f"{start} to {end}" not in narrow:
            faults.append(f"hose {mark} runs another way in the narrow form")
        here = _place(groups[mark])
        for other, group in groups.items():
            if other != mark and word_in(other, end) and _place(group)[1] <= here[1]:
                faults.append(f"{other} stands before hose {mark}, which ends there")
            if other != mark and word_in(other, start) and _place(group)[1] >= here[1]:
                faults.append(f"{other} stands behind hose {mark}, which starts there")
        # The arrow's point lies just before the hose and looks down, the way that the text follows.
        if not any(abs(x - here[0]) < 0.1 and 4 < here[1] - y < 20 for x, y in tips):
            faults.append(f"no arrow leads into hose {mark}")
    for mark, inlet, outlet in re.findall(
        r"(?<=\s)(\S+) feeds [^.]+\. Inlet (\S+), outlet (\S+);", built.words
    ):
        if mark in groups and f"in at {inlet}, out at {outlet}" not in flat(groups[mark].get_text()):
            faults.append(f"pump {mark} is not fed at {inlet}")
    return faults


def _place(tag: Tag) -> tuple[float, float]:
    match = re.fullmatch(r"translate\(([-\d.]+) ([-\d.]+)\)", str(tag.get("transform")))
    assert match
    return float(match.group(1)), float(match.group(2))
