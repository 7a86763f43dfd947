"""How roles look: classes that follow the theme on screen, literal colours on paper."""

from __future__ import annotations

#: role -> attributes in print; the same roles are classes ``fg-<role>`` on screen
_PAPER = {
    "text": {"fill": "#111"},
    "soft": {"fill": "#333"},
    "cold-text": {"fill": "#00456e"},
    "hot-text": {"fill": "#8a2f00"},
    "stop-text": {"fill": "#9b0f19", "font-weight": "700"},
    "b": {"font-weight": "700"},
    "line": {"fill": "none", "stroke": "#111", "stroke-width": "1.5"},
    "thin": {"fill": "none", "stroke": "#555", "stroke-width": "1"},
    "grid": {"fill": "none", "stroke": "#ccc", "stroke-width": "1"},
    "dash": {"fill": "none", "stroke": "#111", "stroke-width": "1.5", "stroke-dasharray": "5 4"},
    "dots": {"fill": "none", "stroke": "#444", "stroke-width": "1.2", "stroke-dasharray": "1.5 3"},
    "zone": {"fill": "none", "stroke": "#555", "stroke-width": "1.2", "stroke-dasharray": "8 4 2 4"},
    "cold": {"fill": "none", "stroke": "#0060a0", "stroke-width": "2.2"},
    "cold-fill": {"fill": "#0060a0"},
    "hot": {"fill": "none", "stroke": "#b04000", "stroke-width": "2.2"},
    "hot-fill": {"fill": "#b04000"},
    "hot-dash": {"fill": "none", "stroke": "#b04000", "stroke-width": "2", "stroke-dasharray": "7 4"},
    "waste": {"fill": "none", "stroke": "#555", "stroke-width": "2", "stroke-dasharray": "3 3"},
    "body": {"fill": "#fff", "stroke": "#111", "stroke-width": "1.5"},
    "ink": {"fill": "#111"},
    "work": {"fill": "#555"},
    "paper": {"fill": "#fff"},
    "band-cold": {"fill": "#cfe3f2"},
    "band-hot": {"fill": "#f6d9c6"},
    "band-go": {"fill": "#d5ead9"},
    "band-no": {"fill": "#e4e4e4"},
    "earth": {"fill": "none", "stroke": "#176b35", "stroke-width": "2.6", "stroke-dasharray": "9 3"},
    "neutral": {"fill": "none", "stroke": "#0060a0", "stroke-width": "2", "stroke-dasharray": "5 3"},
    "stop": {"fill": "#b3121d"},
    "attention": {"fill": "#f0a81e", "stroke": "#111", "stroke-width": "1"},
    "pass": {"fill": "#176b35"},
    "stop-line": {"fill": "none", "stroke": "#b3121d", "stroke-width": "2.6"},
    "on": {"fill": "#fff"},
    "mark": {"fill": "#000"},
    "tick": {"fill": "none", "stroke": "#fff", "stroke-width": "2.2"},
    "c1": {"fill": "none", "stroke": "#0060a0", "stroke-width": "2.2"},
    "c2": {"fill": "none", "stroke": "#b04000", "stroke-width": "2.2", "stroke-dasharray": "8 4"},
    "c3": {"fill": "none", "stroke": "#00664f", "stroke-width": "2.2", "stroke-dasharray": "2.5 3"},
    "c4": {"fill": "none", "stroke": "#7a3b69", "stroke-width": "2.2", "stroke-dasharray": "10 3 2 3"},
    "c5": {"fill": "none", "stroke": "#111", "stroke-width": "2.2", "stroke-dasharray": "14 4"},
    "c6": {"fill": "none", "stroke": "#6b5d00", "stroke-width": "2.2", "stroke-dasharray": "4 2 1 2"},
}

_SCREEN = {
    "#111": "var(--fg-ink)",
    "#333": "var(--fg-ink-2)",
    "#444": "var(--fg-ink-2)",
    "#555": "var(--fg-ink-2)",
    "#ccc": "var(--fg-grid)",
    "#fff": "var(--fg-sheet)",
    "#0060a0": "var(--fg-cold)",
    "#00456e": "var(--fg-cold)",
    "#b04000": "var(--fg-hot)",
    "#8a2f00": "var(--fg-hot)",
    "#cfe3f2": "var(--fg-band-cold)",
    "#f6d9c6": "var(--fg-band-hot)",
    "#d5ead9": "var(--fg-band-go)",
    "#e4e4e4": "var(--fg-band-no)",
    "#176b35": "var(--fg-go)",
    "#b3121d": "var(--fg-stop)",
    "#9b0f19": "var(--fg-stop)",
    "#f0a81e": "var(--fg-settle)",
    "#00664f": "var(--fg-third)",
    "#7a3b69": "var(--fg-fourth)",
    "#6b5d00": "var(--fg-sixth)",
}

_LIGHT = """
  --fg-ink: var(--ink, #111); --fg-ink-2: var(--ink-2, #444); --fg-sheet: var(--sheet, #fff);
  --fg-grid: #d5d3ca; --fg-cold: #0060a0; --fg-hot: #b04000; --fg-go: #176b35; --fg-stop: #b3121d;
  --fg-settle: #f0a81e; --fg-third: #00664f; --fg-fourth: #7a3b69; --fg-sixth: #6b5d00;
  --fg-band-cold: #cfe3f2; --fg-band-hot: #f6d9c6; --fg-band-go: #d5ead9; --fg-band-no: #e4e4e0;
"""
_DARK = """
  --fg-ink: var(--ink, #eee); --fg-ink-2: var(--ink-2, #bbb); --fg-sheet: var(--sheet, #1a2221);
  --fg-grid: #3b4744; --fg-cold: #7cc4f5; --fg-hot: #ff9d5c; --fg-go: #84d39c; --fg-stop: #ff9a91;
  --fg-settle: #f5bf57; --fg-third: #6fd6b8; --fg-fourth: #e0a3d0; --fg-sixth: #d9c74a;
  --fg-band-cold: #1f5478; --fg-band-hot: #713d1b; --fg-band-go: #275c39; --fg-band-no: #3d4a47;
"""
_OUTDOOR = """
  --fg-ink: #000; --fg-ink-2: #000; --fg-sheet: #fff; --fg-grid: #767676;
  --fg-cold: #003a66; --fg-hot: #6e2600;
  --fg-go: #0a4520; --fg-stop: #85000e; --fg-settle: #f0a81e; --fg-third: #004536;
  --fg-fourth: #5a1f4c; --fg-sixth: #4a4000;
  --fg-band-cold: #cfe3f2; --fg-band-hot: #f6d9c6; --fg-band-go: #d5ead9; --fg-band-no: #e4e4e0;
"""


def paint(role: str, theme: str) -> str:
    """Attributes of a role: a class on screen, literal colours in print."""
    if theme == "screen":
        return f' class="fg-{role}"'
    return "".join(f' {name}="{value}"' for name, value in _PAPER[role].items())


def stylesheet() -> str:
    """The rules that drawings on screen need; colours follow the page's theme."""
    rules = [
        ".fg { container-type: inline-size; background: var(--fg-sheet); color: var(--fg-ink);"
        + _LIGHT
        + "}",
        "@media screen and (prefers-color-scheme: dark) { :root:not([data-theme=light]) .fg {"
        + _DARK
        + "} }",
        "@media screen { :root[data-theme=dark] .fg {" + _DARK + "} }",
        "@media screen { :root[data-theme=outdoor] .fg {" + _OUTDOOR + "} }",
        ".fg svg.fg-wide, .fg svg.fg-narrow { display: block; width: 100%; height: auto;"
        " max-width: 100%; margin-inline: auto; overflow: visible; }",
        ":where(.fg) text { fill: var(--fg-ink); }",
        ".fg svg.fg-narrow { max-width: 34rem; }",
        ".fg svg.fg-defs { position: absolute; width: 0; height: 0; }",
        ".fg svg.fg-wide { display: none; }",
        "@container (min-width: 40rem) { .fg svg.fg-wide { display: block; } .fg svg.fg-narrow"
        " { display: none; } }",
        "@media print { .fg svg.fg-wide { display: block; } .fg svg.fg-narrow { display: none; } .fg {"
        + _LIGHT.replace("var(--sheet, #fff)", "#fff").replace("var(--ink, #111)", "#111")
        + "} }",
        ".fg-table table { border-collapse: collapse; width: 100%; }",
        ".fg-table th, .fg-table td { text-align: start; vertical-align: top; padding: .25rem .5rem; }",
    ]
    for role, attributes in _PAPER.items():
        body = "; ".join(f"{name}: {_SCREEN.get(value, value)}" for name, value in attributes.items())
        # One class and no ancestor: shapes that are used are styled where they are written.
        rules.append(f".fg-{role} {{ {body}; }}")
    return "\n".join(" ".join(rule.split()) for rule in rules) + "\n"
