"""Safety symbols in the manner of ISO 7010, drawn for this project, and the shapes that carry a verdict.

Each is an inline picture with its name for a screen reader, or hidden where the words stand beside it.
"""

from __future__ import annotations

from markupsafe import Markup, escape

_TRIANGLE = (
    '<path d="M50 6 96 88H4Z" fill="#111" stroke="#111" stroke-width="8" stroke-linejoin="round"/>'
    '<path d="M50 16 87 82H13Z" fill="#ffcf00"/>'
)
_DISC = '<circle cx="50" cy="50" r="46" fill="#005387"/>'

#: what stands inside the triangle or on the disc
_WARNING = {
    # general warning
    "w001": '<path d="M45 36h10l-2 26h-6z"/><circle cx="50" cy="71" r="5"/>',
    # slippery surface: a figure that loses its footing on a line
    "w011": (
        '<circle cx="38" cy="37" r="5"/>'
        '<path d="m41 43 14 9-3 11 13 8 M52 52l-13 6-7-3 M46 47l12-6 6 4 M51 63l-15 9" fill="none"'
        ' stroke="#111" stroke-width="4.6" stroke-linecap="round" stroke-linejoin="round"/>'
        '<path d="M26 77h47" stroke="#111" stroke-width="4"/>'
    ),
    # electricity
    "w012": '<path d="M53 31 41 56h9l-7 16 3 1-2 7 9-8-4-1 12-21h-9l8-18z"/>',
    # hot surface: three waves over a plate
    "w017": (
        '<path d="M29 73h42" stroke="#111" stroke-width="5.5" stroke-linecap="round"/>'
        '<path d="M38 66c-5-5 5-9 0-15 M50 66c-5-6 6-11 0-19 -4-5 1-8 1-11 M62 66c-5-5 5-9 0-15" fill="none"'
        ' stroke="#111" stroke-width="4.6" stroke-linecap="round"/>'
    ),
    # automatic start-up: a turning arrow over a baseline with a starting mark
    "w018": (
        '<path d="M34 66a17 17 0 1 1 26 7" fill="none" stroke="#111" stroke-width="5"'
        ' stroke-linecap="round"/><path d="m65 64-3 14-11-7z"/><path d="M46 50v15l12-7.5z"/>'
    ),
    # crushing: a load comes down on a hand
    "w024": (
        '<path d="M36 38h28v9H36z"/>'
        '<path d="M50 46v7 M44 51l6 7 6-7" fill="none" stroke="#111" stroke-width="4"/>'
        '<path d="M26 68c8-6 14-5 20-5h20c4 0 4 5 0 5H54c9 0 9 6 2 6H34l-8 2z"/><path d="M24 78h52v3H24z"/>'
    ),
    # heavy load: two hands under a weight
    "load": (
        '<path d="M40 44h20l5 20H35z"/>'
        '<path d="M45 44a5 5 0 1 1 10 0" fill="none" stroke="#111" stroke-width="4"/>'
        '<path d="M29 68c3 5 7 7 11 7h20c4 0 8-2 11-7" fill="none" stroke="#111" stroke-width="5"'
        ' stroke-linecap="round"/>'
    ),
    # pressure: a gauge with its needle in the upper field
    "pressure": (
        '<circle cx="50" cy="57" r="15.5" fill="none" stroke="#111" stroke-width="5"/>'
        '<path d="m50 57 8-8" stroke="#111" stroke-width="4.6" stroke-linecap="round"/>'
        '<circle cx="50" cy="57" r="3.5"/><path d="M46 72h8v6h-8z"/>'
    ),
}
_MANDATORY = {
    # general mandatory action
    "m001": '<path d="M43 22h14l-3 36h-8z" fill="#fff"/><circle cx="50" cy="72" r="7.5" fill="#fff"/>',
}

#: which symbol speaks of which hazard
HAZARD_SYMBOL = {
    "electricity": "w012",
    "scald": "w017",
    "hot_surface": "w017",
    "pressure": "pressure",
    "automatic_start": "w018",
    "lifting": "load",
    "slipping": "w011",
    "crushing": "w024",
    "contamination": "m001",
    "damage": "m001",
}

#: verdicts differ in shape first, colour second; these colours stand where no style sheet reaches: on paper
_VERDICT_COLOURS = {
    "stop": ("#b3121d", "#fff"),
    "attention": ("#f2b632", "#18211f"),
    "pass": ("#176b35", "#fff"),
}
_VERDICT = {
    "stop": (
        '<path d="M30 4h40l26 26v40L70 96H30L4 70V30z"/><path class="on" fill="{on}" d="M28 44h44v12H28z"/>'
    ),
    "attention": (
        '<path d="M50 4 98 92H2z"/><path class="on" fill="{on}" d="M44 36h12l-3 30h-6z M44 73h12v11H44z"/>'
    ),
    "pass": (
        '<circle cx="50" cy="50" r="47"/><path class="on" fill="{on}" d="m24 51 9-9 12 12 23-24 9 9-32 33z"/>'
    ),
}

#: shape and mark of the alert symbol on each signal word's panel (ANSI Z535.4), for paper
_ALERT_COLOURS = {
    "danger": ("#fff", "#c8102e"),
    "warning": ("#000", "#ff8200"),
    "caution": ("#000", "#ffd100"),
}
_ALERT = (
    '<path class="alert-shape" fill="{shape}" d="M50 6 97 90H3Z"/>'
    '<path class="alert-mark" fill="{mark}" d="M44 34h12l-3 30h-6z M43 70h14v12H43z"/>'
)


def _picture(body: str, css: str, title: str, fill: str = "") -> Markup:
    name = f"<title>{escape(title)}</title>" if title else ""
    spoken = 'role="img"' if title else 'aria-hidden="true"'
    ground = f' fill="{fill}"' if fill else ""
    return Markup(
        f'<svg class="{css}" viewBox="0 0 100 100"{ground} {spoken} focusable="false">{name}{body}</svg>'
    )


def hazard(name: str, title: str = "") -> Markup:
    """The symbol of a hazard; the general one where the hazard has none of its own."""
    code = HAZARD_SYMBOL.get(name, "w001")
    if code in _MANDATORY:
        return _picture(_DISC + _MANDATORY[code], "sign", title)
    return _picture(_TRIANGLE + _WARNING[code], "sign", title)


def verdict(name: str, title: str = "") -> Markup:
    """Octagon for a stop, triangle for a point to settle, disc for a pass."""
    fill, on = _VERDICT_COLOURS[name]
    return _picture(_VERDICT[name].format(on=on), f"verdict verdict--{name}", title, fill)


def alert(signal: str) -> Markup:
    """The safety alert symbol that stands before the signal word where a person may be hurt."""
    shape, mark = _ALERT_COLOURS[signal]
    return _picture(_ALERT.format(shape=shape, mark=mark), "alert", "")
