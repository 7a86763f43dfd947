"""Symbols of the water side in the manner of ISO 1219-1 and ISO 14617, drawn for this project.

Each is centred on its pipe, the water running downwards; a stroke of the pipe enters at the top and leaves
at the bottom. ``HALF`` says how far each reaches up and down.
"""

from __future__ import annotations

from procgen.figures.canvas import Canvas
from procgen.figures.style import paint

#: symbol -> (half height, strokes as (role, path))
SYMBOLS: dict[str, tuple[float, tuple[tuple[str, str], ...]]] = {
    # the main: an open end with the way in
    "mains": (9, (("line", "M-11 -8H11"), ("ink", "M0 7L-5 -3H5Z"))),
    # valve body: two triangles tip to tip
    "valve": (10, (("body", "M-8 -10H8L-8 10H8Z"), ("line", "M0 0H12M12 -5V5"))),
    # check valve: ball on its seat, opens with the flow
    "check": (9, (("line", "M-8 -9L0 -1L8 -9"), ("body", "M0 9A5 5 0 1 0 0 -1A5 5 0 1 0 0 9Z"))),
    "check2": (
        14,
        (
            ("line", "M-7 -14L0 -7L7 -14M-7 0L0 7L7 0"),
            ("body", "M0 1A4 4 0 1 0 0 -7A4 4 0 1 0 0 1ZM0 14A4 4 0 1 0 0 6A4 4 0 1 0 0 14Z"),
        ),
    ),
    # reduced-pressure zone: two checks with a vent between them
    "rpz": (
        14,
        (
            ("body", "M-10 -14H10V14H-10Z"),
            ("line", "M-6 -11L0 -5L6 -11M-6 5L0 11L6 5M-10 0H-3M0 0A3 3 0 1 0 -.1 0"),
        ),
    ),
    # filter: square on its corner, dashed through the middle
    "filter": (12, (("body", "M0 -12L12 0L0 12L-12 0Z"), ("dash", "M-11 0H11"))),
    # treatment: the filter in a cartridge
    "treatment": (
        15,
        (("body", "M-11 -15H11V15H-11Z"), ("line", "M0 -10L9 0L0 10L-9 0Z"), ("dash", "M-8 0H8")),
    ),
    # reducer: square with its arrow, the outlet's pilot line dashed, a spring
    "reducer": (
        12,
        (
            ("body", "M-10 -12H10V12H-10Z"),
            ("line", "M4 -12V12"),
            ("ink", "M4 8L0 0H8Z"),
            ("line", "M-10 -4L-14 -2L-10 0L-14 2L-10 4"),
        ),
    ),
    "arrestor": (10, (("line", "M0 -10V10M0 0H6"), ("body", "M6 -6H12A6 6 0 0 1 12 6H6Z"))),
    # pump: circle with the triangle in the direction of flow
    "pump": (13, (("body", "M0 -13A13 13 0 1 0 0 13A13 13 0 1 0 0 -13Z"), ("ink", "M0 13L-7 1H7Z"))),
    # flexible hose: a bow between two points
    "hose": (
        14,
        (
            ("line", "M0 -14C12 -8 -12 8 0 14"),
            (
                "ink",
                "M0 -16A2.5 2.5 0 1 0 0 -11A2.5 2.5 0 1 0 0 -16ZM0 11A2.5 2.5 0 1 0 0 16A2.5 2.5 0 1 0 0 11Z",
            ),
        ),
    ),
    # connection of the machine
    "port": (
        7,
        (("body", "M0 -7A7 7 0 1 0 0 7A7 7 0 1 0 0 -7Z"), ("ink", "M0 -3A3 3 0 1 0 0 3A3 3 0 1 0 0 -3Z")),
    ),
    # gauge beside the pipe
    "gauge": (
        11,
        (
            ("line", "M0 -11V11M0 0H4"),
            ("body", "M4 0A6 6 0 1 1 4 .1Z"),
            ("line", "M10 0L13 -4"),
        ),
    ),
    # restriction: two bows towards each other
    "restrictor": (10, (("line", "M0 -10V10M-8 -8C-1 -4 -1 4 -8 8M8 -8C1 -4 1 4 8 8"),)),
    "adjustable": (
        11,
        (
            ("line", "M0 -11V11M-8 -8C-1 -4 -1 4 -8 8M8 -8C1 -4 1 4 8 8M-11 9L11 -9"),
            ("ink", "M12 -10L9 -4L5 -8Z"),
        ),
    ),
    # thermostatic mixing valve: three ways and a bulb
    "mixer": (
        11,
        (("body", "M-8 -11H8L-8 11H8ZM0 0L11 -7V7Z"),),
    ),
    "timed": (
        11,
        (
            ("body", "M-8 -11H8L-8 11H8Z"),
            ("line", "M0 0H6"),
            ("body", "M6 -5H15V5H6Z"),
            ("line", "M6 5L15 -5"),
        ),
    ),
    # vessel with a heating element
    "boiler": (
        17,
        (
            ("body", "M-11 -9A11 8 0 0 1 11 -9V9A11 8 0 0 1 -11 9Z"),
            ("hot", "M-7 7L-4.5 1L-1.5 7L1.5 1L4.5 7L7 1"),
        ),
    ),
    # a group: head and spout
    "group": (11, (("body", "M-11 -11H11V-3H6L4 5H-4L-6 -3H-11Z"), ("cold", "M-2 8V11M2 8V11"))),
    # coil through another vessel
    "coil": (
        11,
        (("line", "M0 -11V-8H-7A3 3 0 0 1 -7 -3H7M7 -3A3 3 0 0 1 7 3H-7A3 3 0 0 0 -7 8H0V11"),),
    ),
    # safety valve: angle body under a spring
    "relief": (
        12,
        (
            ("body", "M-7 -11H7L0 0Z"),
            ("body", "M0 0L11 -6V6Z"),
            ("line", "M0 0V3L-5 5L5 7L-5 9L0 11"),
        ),
    ),
    "breaker": (
        9,
        (
            ("body", "M-7 -9H7V3H-7Z"),
            ("line", "M-11 6H11M-4 0L0 -6L4 0"),
        ),
    ),
    "tap": (8, (("line", "M-8 -8H0V8M-8 -3V-12M-4 8H4"),)),
    "wand": (10, (("line", "M0 -10C0 -2 8 -2 8 10M4 10H12"),)),
    "level": (
        10,
        (
            ("body", "M-5 -10H5V10H-5Z"),
            ("cold", "M-4 2H4"),
        ),
    ),
    # the way goes on elsewhere
    "from": (8, (("body", "M-12 -7H4L11 0L4 7H-12Z"),)),
    "to": (8, (("body", "M-12 -7H4L11 0L4 7H-12Z"),)),
    # tundish: open funnel over a gap
    "tundish": (13, (("line", "M0 -13V-7M-11 -3L-3 7V13M11 -3L3 7V13"),)),
    "trap": (10, (("line", "M0 -10V3A5 5 0 0 0 10 3V0H14"),)),
    "drain": (10, (("line", "M0 -10V2M-11 6H11M-7 10H7"), ("ink", "M0 5L-4 -3H4Z"))),
    "missing": (10, (("dash", "M-10 -10H10V10H-10Z"), ("line", "M-5 -5L5 5M5 -5L-5 5"))),
}


def half(name: str) -> float:
    """How far a symbol reaches above and below its centre."""
    return SYMBOLS[name][0]


def draw(canvas: Canvas, name: str) -> None:
    """A symbol centred at the origin of the group that is open."""
    canvas.use(name, "".join(f'<path d="{d}"{paint(role, canvas.theme)}/>' for role, d in SYMBOLS[name][1]))
