"""What stands on a guide's pages."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from bs4 import BeautifulSoup, Tag

from procgen.publish.adapter import build, load_settings
from procgen.publish.guide_pages import guide_site
from procgen.publish.sheet import put_in
from procgen.units.show import pair
from tests.publish import fakes

PAGES = ["01-water.html", "02-electricity.html", "03-fill.html", "figures.html", "index.html", "record.html"]


def soup(guide: Path, page: str) -> BeautifulSoup:
    return BeautifulSoup((guide / page).read_text(encoding="utf-8"), "lxml")


def one(found: Tag | BeautifulSoup, selector: str) -> Tag:
    hits = found.select(selector)
    assert len(hits) == 1, f"{len(hits)} of {selector}"
    return hits[0]


def text(tag: Tag) -> str:
    # A place where a line may break is not a space.
    whole = BeautifulSoup(re.sub("</?wbr/?>", "", str(tag)), "lxml")
    return " ".join(whole.get_text(" ").split())


def test_pages_of_a_guide(guide: Path) -> None:
    assert sorted(path.name for path in guide.glob("*.html")) == PAGES


@pytest.mark.parametrize("page", PAGES)
def test_every_page_names_guide_revisions_and_edition(guide: Path, page: str) -> None:
    edition = guide_site(fakes.job(), fakes.messages(), fakes.draw).edition
    assert text(one(soup(guide, page), ".pg-imprint")) == (
        f"Guide ellunby-bakery Profile 4 of 2025-02-11 Survey 2 of 2025-03-04 Edition {edition}"
    )


@pytest.mark.parametrize("page", PAGES)
def test_demonstration_data_says_so(guide: Path, page: str) -> None:
    assert text(one(soup(guide, page), ".pg-banner")).startswith("Invented demonstration data:")


@pytest.mark.parametrize("page", PAGES)
def test_nothing_comes_from_outside(guide: Path, page: str) -> None:
    found = soup(guide, page)
    addresses = [tag[name] for name in ("src", "href", "action") for tag in found.select(f"[{name}]")]
    assert addresses
    assert [address for address in addresses if re.match(r"[a-z]+:|//", str(address))] == []
    assert [script for script in found.find_all("script") if not script.get("src")] == []
    assert [script for script in found.find_all("script") if script.get("type")] == []


def test_scripts_and_styles_name_no_host(guide: Path) -> None:
    for path in [*guide.rglob("*.js"), *guide.rglob("*.css")]:
        hosts = set(re.findall(r"https?://([\w.-]+)", path.read_text(encoding="utf-8")))
        # the namespace of SVG and the licence of icons that the theme's style carries
        assert hosts <= {"www.w3.org", "fontawesome.com"}, path.name
    assert not list(guide.rglob("*.map"))
    assert not list(guide.rglob("sitemap*"))


def test_links_within_a_guide_lead_somewhere(guide: Path) -> None:
    ids = {page: {str(tag["id"]) for tag in soup(guide, page).select("[id]")} for page in PAGES}
    for page in PAGES:
        for link in soup(guide, page).select("a[href]"):
            target, _, anchor = str(link["href"]).partition("#")
            if target == "../index.html" or link.has_attr("download"):
                continue
            assert (target or page) in ids, link
            assert not anchor or anchor in ids[target or page], link


@pytest.mark.parametrize("page", PAGES)
def test_ids_are_unique(guide: Path, page: str) -> None:
    ids = [tag["id"] for tag in soup(guide, page).select("[id]")]
    assert len(ids) == len(set(ids))


def test_a_step_in_the_order_every_output_keeps(guide: Path) -> None:
    found = soup(guide, "03-fill.html")
    heading = found.find(id="s-fill-steam")
    assert isinstance(heading, Tag)
    assert (heading.name, text(heading)) == ("h2", "3.1 Fill the steam boiler")
    step = one(found, "[data-step='fill.steam']")
    assert (step["data-role"], step["data-minutes"], step["aria-labelledby"]) == (
        "technician",
        "15",
        heading["id"],
    )
    kinds = [child.get("class", [""])[0] for child in step.find_all(recursive=False)]
    before = ["meta", "notice", "notice", "step__body", "drawing", "readings", "timer", "expected"]
    assert kinds == [*before, "field"]


def test_a_step_of_a_group_shows_its_mark(guide: Path) -> None:
    found = soup(guide, "03-fill.html")
    assert found.find(id="s-fill-bleed-g2-")
    assert text(one(found, "[data-step='fill.bleed[G2]'] .meta")) == "Who Technician Planned 3 min At G2"


def test_a_reading_has_target_limits_and_room_to_write(guide: Path) -> None:
    reading = one(soup(guide, "03-fill.html"), "[data-reading='fill.steam.inlet']")
    assert {k: v for k, v in reading.attrs.items() if k.startswith("data-")} == {
        "data-reading": "fill.steam.inlet",
        "data-kind": "pressure_gauge",
        "data-target": "280000.0",
        "data-low": "200000.0",
        "data-high": "500000.0",
    }
    assert text(reading) == (
        "Inlet pressure while filling Target 2.8 bar ( 41 psi ) Allowed 2.0–5.0 bar (30–72 psi) Measured "
        "Outside this Close the valve and call the water expert."
    )
    assert one(reading, ".reading__measured .write-line")


def test_a_timer_says_to_stay(guide: Path) -> None:
    timer = one(soup(guide, "03-fill.html"), "[data-timer='fill.steam.fill']")
    assert text(timer) == (
        "Filling 3 min 50 s – 5 min 20 s Safety time-out 2 min Pump runs expected 3 Stop and check after 5 "
        "Stay with the machine."
    )
    assert (timer["data-low"], timer["data-high"], timer["data-timeout"]) == ("236.0", "314.0", "120.0")


def test_a_hold_names_who_confirms_and_what_it_covers(guide: Path) -> None:
    found = soup(guide, "02-electricity.html")
    heading = found.find(id="h-electricity-dead_done")
    assert isinstance(heading, Tag)
    assert text(heading) == "2.2 Hold point: Dead tests passed"
    hold = one(found, "[data-hold='electricity.dead_done']")
    assert text(one(hold, ".hold__who")) == "Confirmed by Electrician Signature, date and time"
    assert [(link["href"], text(link)) for link in hold.select("a")] == [
        ("02-electricity.html#s-electricity-dead", "2.1")
    ]


def test_a_notice_has_signal_word_symbol_and_hazard(guide: Path) -> None:
    notices = soup(guide, "02-electricity.html").select(".notice")
    assert [notice["aria-label"] for notice in notices] == ["Danger: Electricity", "Notice: Damage"]
    danger, plain = notices
    # The alert symbol belongs to words of injury only.
    assert [len(notice.select(".notice__word .alert")) for notice in notices] == [1, 0]
    assert danger.select(".sign")
    assert plain.select(".sign")


def test_gravest_notice_first() -> None:
    job = fakes.job()
    part = job.procedure.parts[1]
    step = next(part.steps())
    turned = replace(step, notices=tuple(reversed(step.notices)))
    procedure = replace(job.procedure, parts=(replace(part, items=(turned, *part.items[1:])),))
    site = guide_site(replace(job, procedure=procedure), fakes.messages(), fakes.draw)
    html = site.spec.pages[1].markdown()
    assert html.index('data-signal="danger"') < html.index('data-signal="notice"')


def test_the_first_page_says_not_ready_and_why(guide: Path) -> None:
    found = soup(guide, "index.html")
    card = one(found, ".ready")
    assert card["data-readiness"] == "not_ready"
    assert text(one(card, ".ready__head")) == "Not ready 1 stop · 1 point to settle · 1 passed"
    assert [finding["data-finding"] for finding in card.select(".finding")] == [
        "night_pressure",
        "drain_fall",
    ]
    stop = card.select(".finding")[0]
    for words in ("The mains reach 6.8 bar", "Fit a pressure reducer.", "Builder"):
        assert words in text(stop)
    assert [li["data-finding"] for li in found.select(".passes li")] == ["mains_low"]
    assert one(card, ".ready__count a")["href"] == "#passed"
    assert card.select(".verdict--stop")


@pytest.mark.parametrize(
    ("verdicts", "state", "words"),
    [
        (("pass",), "ready", "Ready"),
        (("attention", "pass"), "attention", "Ready, with points to settle"),
        (("stop", "attention"), "not_ready", "Not ready"),
    ],
)
def test_readiness_in_words(verdicts: tuple[str, ...], state: str, words: str) -> None:
    job = fakes.job()
    chosen = tuple(next(f for f in fakes.findings() if f.verdict == verdict) for verdict in verdicts)
    site = guide_site(replace(job, worksheet=replace(job.worksheet, findings=chosen)), fakes.messages())
    found = BeautifulSoup(site.spec.pages[0].markdown(), "lxml")
    assert one(found, ".ready")["data-readiness"] == state
    assert text(one(found, ".ready__word")) == words


def test_ten_figures_with_range_and_calculation(guide: Path) -> None:
    rows = soup(guide, "index.html").select(".ten__row")
    assert len(rows) == 10
    assert text(rows[2]) == "Time to fill the steam boiler 4 min 24 s Range 3 min 56 s – 5 min 14 s"
    assert text(rows[9]) == (
        "Drain fall, least, against required Least fall of the drain: 25 mm/m ( 0.30 in/ft ) "
        "Fall asked for: Not available : The survey declares no drainage code."
    )
    assert one(rows[8], "a.q")["href"] == "figures.html#v-electrical-current_l1"
    assert all(row.select("a[href^='figures.html#v-']") for row in rows)


def test_us_readers_see_their_units_first() -> None:
    site = guide_site(fakes.job(prefer="us"), fakes.messages())
    rows = BeautifulSoup(site.spec.pages[0].markdown(), "lxml").select(".ten__row")
    assert text(rows[5]).startswith("Steam boiler pressure at its set point 19.0 psi ( 1.31 bar )")


def test_a_calculation_shows_formula_numbers_inputs_and_source(guide: Path) -> None:
    calc = one(soup(guide, "figures.html"), "#v-fill-time")
    assert [text(code) for code in calc.select(".calc__formula code")] == ["V / Q", "(11.0 L) / (2.50 L/min)"]
    rows = [[text(cell) for cell in row.select("td")] for row in calc.select("tbody tr")]
    assert rows == [
        [
            "V",
            "machine.steam_boiler.volume",
            "11.0 L ( 2.91 gal )",
            "machine_profiles/models/pippetree-one.yml:61",
        ],
        ["Q", "Fill flow", "2.10–2.80 L/min ( 0.55–0.74 gal/min )", "calculated"],
    ]
    assert text(one(calc, ".calc__source")) == "Source: Arithmetic from the stated formula"
    assert one(calc, "tbody a")["href"] == "#v-fill-flow"


def test_a_figure_that_is_not_available_says_why(guide: Path) -> None:
    calc = one(soup(guide, "figures.html"), "#v-hotwater-mix_temperature")
    assert text(one(calc, ".calc__missing")) == "Not available : This machine has no hot-water mixing."


def test_a_source_from_memory_is_marked(guide: Path) -> None:
    calc = one(soup(guide, "figures.html"), "#v-steam-saturation_pressure")
    assert text(one(calc, ".calc__source")) == (
        "Source: IAPWS-IF97, saturation line, region 4 (standard, cited from memory)"
    )


def test_a_design_default_is_named(guide: Path) -> None:
    calc = one(soup(guide, "figures.html"), "#v-supply-inlet_pressure")
    assert (
        text(calc.select("tbody td")[-1]) == "machine_profiles/models/pippetree-one.yml:208 (design default)"
    )


def test_tables_scroll_in_their_own_box(guide: Path) -> None:
    found = soup(guide, "figures.html")
    for table in found.select("table"):
        box = table.find_parent(class_="scroll")
        assert isinstance(box, Tag)
        assert box["tabindex"] == "0"
    series = one(found, "#v-hotwater-table .calc__series")
    assert [text(cell) for cell in series.select("tbody tr")[3].select("td")] == [
        "3",
        "81.0 °C ( 177.8 °F )",
        "1.30 L/min ( 0.343 gal/min )",
        "usual",
    ]


def test_shown_figures_are_the_registry_s(guide: Path) -> None:
    value = fakes.values()["pump.brew_setting"]
    assert value.value is not None
    link = one(soup(guide, "index.html"), "a[data-value='pump.brew_setting']")
    shown = pair(value.kind, value.value, value.step)
    assert (text(one(link, ".q1")), text(one(link, ".q2"))) == (
        " ".join(shown.primary.split()),
        " ".join(shown.secondary.split()),
    )
    assert float(str(link["data-si"])) == value.value


def test_data_is_never_markup(tmp_path: Path) -> None:
    bad = '</title><script>alert(1)</script>*a* {#x} <b title="y">&amp;</b>'
    job = fakes.job()
    machine = replace(job.machine, data=job.machine.data.model_copy(update={"name": bad}))
    part = job.procedure.parts[2]
    step = replace(next(part.steps()), title=bad, mark=bad)
    procedure = replace(job.procedure, parts=(replace(part, title=bad, items=(step,)),))
    values = {"fill.time": fakes.values()["fill.time"]._replace(title=bad, formula=bad)}
    findings = tuple(replace(f, title=bad, reason_parts=(bad,)) for f in fakes.findings())
    sheet = replace(job.worksheet, values=values, findings=findings)
    hostile = replace(job, machine=machine, procedure=procedure, worksheet=sheet)
    build(guide_site(hostile, fakes.messages()).spec, tmp_path, load_settings(None))
    for path in tmp_path.glob("*.html"):
        found = BeautifulSoup(path.read_text(encoding="utf-8"), "lxml")
        assert [script for script in found.find_all("script") if not script.get("src")] == []
        assert found.select("b[title], em, #x") == []
        assert "*a* {#x}" in text(one(found, "title"))
    [index] = tmp_path.glob("search-data.*.js")
    assert b"</script" not in index.read_bytes()
    heading = one(BeautifulSoup((tmp_path / "03-fill.html").read_text(encoding="utf-8"), "lxml"), "h1")
    assert text(heading) == bad


def test_a_models_guide_says_that_it_has_no_site() -> None:
    site = guide_site(fakes.job("pippetree-one"), fakes.messages())
    found = BeautifulSoup(site.spec.pages[0].markdown(), "lxml")
    assert "made without a site survey" in text(one(found, ".model-note"))
    assert [row[0] for row in site.spec.extra["procgen"]["imprint"]] == ["Guide", "Profile", "Edition"]


@pytest.mark.parametrize(
    ("formula", "filled"),
    [
        ("V / Q", "(11.0 L) / (2.50 L/min)"),
        ("V", "11.0 L"),
        ("f(V) - Q", "f(11.0 L) - (2.50 L/min)"),
        ("max(V, 2 * Q)", "max(11.0 L, 2 * (2.50 L/min))"),
        ("V_other / VQ", "V_other / VQ"),
    ],
)
def test_numbers_put_in(formula: str, filled: str) -> None:
    inputs = fakes.values()["fill.time"].inputs
    assert put_in(formula, inputs, "metric").replace("\u00a0", " ") == filled


def test_numbers_put_in_for_symbols_with_a_marks_hyphen() -> None:
    volume, flow = fakes.values()["fill.time"].inputs
    marked = (volume._replace(symbol="V_C-I"), volume._replace(symbol="V_C-II", value=0.022), flow)
    shown = put_in("V_C-I + V_C-II - Q - V_C", marked, "metric").replace("\u00a0", " ")
    assert shown == "(11.0 L) + (22.0 L) - (2.50 L/min) - V_C"
