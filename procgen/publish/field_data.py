"""What the scripts of the doing side know about a guide: one classic script of data.

Steps and holds with their fingerprints and the hold that stands before each; readings with limits in SI and
linear unit factors; waits, curves and what-if tables with every text already rounded and paired. The edition
is not in it: it stands on the page, so that this file's name changes only when what it says does.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from typing import Any

from procgen.procedure.anchors import anchor, part_page
from procgen.procedure.fragments import plain_text
from procgen.procedure.model import Hold, Procedure, Reading, Step, Timer
from procgen.publish.job import GuideJob
from procgen.publish.words import Words
from procgen.units.kinds import KINDS, Kind, Preference, factors, step_in
from procgen.units.plausible import plausible
from procgen.units.show import pair, pair_range, step_for
from procgen.values.worksheet import Series, Worksheet

GLOBAL = "procgenGuide"
SCHEMA = 1
#: the words of the scripts, in the messages
WORDS = "site.field."
#: cross-sections by gauge number are not linear; nothing measured on site is one
_NOT_LINEAR = frozenset({"AWG"})
#: how a temperature on a curve is rounded, in K
_CURVE_STEP = 1.0

Data = dict[str, Any]


def data_file(script: bytes) -> str:
    """Path of the data script inside a guide, named by its content."""
    return f"assets/guide-data.{hashlib.sha256(script).hexdigest()[:8]}.js"


def data_script(data: Data) -> bytes:
    """The data as a classic script; nothing in it can end the script or its string."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    text = text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    return f"self.{GLOBAL}={text};\n".encode()


def guide_data(
    job: GuideJob, title: str, numbers: dict[str, str], prints: dict[str, str], words: Words
) -> Data:
    """Everything the scripts of one guide need."""
    procedure, worksheet = job.procedure, job.worksheet
    readings = [(step, reading) for step in procedure.steps() for reading in step.readings]
    timers = [(step, timer) for step in procedure.steps() for timer in step.timers]
    kinds = sorted({reading.kind for _, reading in readings})
    return {
        "schema": SCHEMA,
        "guide": job.guide,
        "title": title,
        "prefer": worksheet.prefer,
        "parts": [
            {
                "id": part.id,
                "n": part.number,
                "title": part.title,
                "page": part_page(part.number, part.id),
                "items": [item.id for item in part.items if isinstance(item, Step | Hold)],
            }
            for part in procedure.parts
        ],
        "items": dict(_items(procedure, numbers, prints)),
        "readings": {reading.id: _reading(step, reading, worksheet) for step, reading in readings},
        "kinds": {kind: _kind(KINDS[kind], worksheet.prefer) for kind in kinds},
        "timers": {timer.id: _timer(step, timer, worksheet) for step, timer in timers},
        "tables": dict(_tables([reading for _, reading in readings], worksheet)),
        "roles": {role: words.role(role) for role in _roles(procedure)},
        "ui": field_words(words),
    }


def field_words(words: Words) -> dict[str, str]:
    """The words of the scripts by their short key."""
    keys = sorted(key for key in words.messages.keys() if key.startswith(WORDS))  # noqa: SIM118 - no mapping
    return {key.removeprefix(WORDS): words.messages.raw(key) for key in keys}


def _roles(procedure: Procedure) -> list[str]:
    return sorted({step.role for step in procedure.steps()} | {hold.by for hold in procedure.holds()})


def _items(
    procedure: Procedure, numbers: dict[str, str], prints: dict[str, str]
) -> Iterator[tuple[str, Data]]:
    """Steps and holds in order; ``after`` is the hold that must be confirmed before one of them is done."""
    after = ""
    for part in procedure.parts:
        page = part_page(part.number, part.id)
        for item in part.items:
            if not isinstance(item, Step | Hold):
                continue
            hold = isinstance(item, Hold)
            yield (
                item.id,
                {
                    "kind": "hold" if hold else "step",
                    "n": numbers[item.id],
                    "title": item.title,
                    "page": page,
                    "anchor": anchor("hold" if hold else "step", item.id),
                    "print": prints[item.id],
                    "role": item.by if isinstance(item, Hold) else item.role,
                    "after": after,
                    **({"guards": list(item.guards)} if isinstance(item, Hold) else {}),
                },
            )
            if hold:
                after = item.id


def _reading(step: Step, reading: Reading, worksheet: Worksheet) -> Data:
    what_if = getattr(reading, "what_if", None)
    return {
        "step": step.id,
        "label": reading.label,
        "kind": reading.kind,
        "target": reading.target,
        "low": reading.low,
        "high": reading.high,
        "target_text": plain_text(reading.target_html),
        "limits_text": plain_text(reading.limits_html),
        "remedy": reading.outside.text,
        "value": reading.value_id,
        **_expected(reading, worksheet),
        **({"what_if": what_if} if what_if else {}),
        **({"high_value": reading.high_id} if reading.high_id and reading.low is None else {}),
    }


def _expected(reading: Reading, worksheet: Worksheet) -> Data:
    """The range predicted for a target that was computed, as pages show it."""
    value = worksheet.values.get(reading.value_id)
    if value is None or value.low is None or value.high is None or not value.low < value.high:
        return {}
    shown = pair_range(value.kind, value.low, value.high, value.step, worksheet.prefer, "outward")
    return {"expected": [value.low, value.high], "expected_text": shown.text, "step_si": value.step}


def _kind(kind: Kind, prefer: Preference) -> Data:
    """Units a figure of this kind may be typed in, the reader's own first, and what is plausible at all."""
    own, other = (kind.metric, kind.us) if prefer == "metric" else (kind.us, kind.metric)
    symbols = [symbol for symbol in dict.fromkeys((own, other, *kind.typed)) if symbol not in _NOT_LINEAR]
    units: list[Data] = []
    known: set[tuple[float, float]] = set()
    for symbol in symbols:
        scale, offset = factors(kind, symbol)
        if (scale, offset) in known:
            continue  # another spelling of a unit that is there already
        known.add((scale, offset))
        units.append({"symbol": symbol, "scale": scale, "offset": offset, "digits": _digits(kind, symbol)})
    low, high = plausible(kind.name)
    texts = [_bound(kind, prefer, figure) for figure in (low, high)]
    return {"units": units, "si": kind.si, "floor": kind.floor, "plausible": [low, high], "bounds": texts}


def _digits(kind: Kind, symbol: str) -> int:
    """Decimals that a figure of this unit is usually written with."""
    size = step_in(kind, symbol, 10.0**-kind.decimals * factors(kind, kind.metric)[0])
    digits = 0
    while digits < 4 and 10.0**-digits > size * 1.5:
        digits += 1
    return digits


def _bound(kind: Kind, prefer: Preference, figure: float | None) -> str:
    if figure is None:
        return ""
    step = 60.0 if kind.name == "time" else step_for(figure, kind.name, 3)
    return pair(kind.name, figure, step, prefer).text


def _timer(step: Step, timer: Timer, worksheet: Worksheet) -> Data:
    prefer = worksheet.prefer
    tick = step_for(timer.high, "time", 2)
    return {
        "step": step.id,
        "label": timer.label,
        "value": timer.value_id,
        "low": timer.low,
        "high": timer.high,
        "text": pair_range("time", timer.low, timer.high, tick, prefer, "outward").text,
        "timeout": timer.timeout,
        "timeout_text": (
            pair("time", timer.timeout, step_for(timer.timeout, "time", 3), prefer).text
            if timer.timeout
            else ""
        ),
        "runs": timer.runs_expected,
        "stop": timer.runs_stop,
        "curve": _curve(timer, worksheet),
    }


def _curve(timer: Timer, worksheet: Worksheet) -> list[Data]:
    """What a wait for heat looks like on the way: time, and what each boiler should show by then."""
    value = worksheet.values.get("heat.curve") if timer.value_id.startswith("heat.time") else None
    if value is None or not value.ok or value.series is None:
        return []
    marks = [name for name, kind in value.series.columns if kind == "temperature"]
    places = [at for at, (_, kind) in enumerate(value.series.columns) if kind == "temperature"]
    rows: list[Data] = []
    for row in value.series.rows:
        seconds, temperatures = row[0], [row[at] for at in places]
        if not isinstance(seconds, float):
            continue
        shown = [
            f"{mark} {pair('temperature', figure, _CURVE_STEP, worksheet.prefer).text}"
            for mark, figure in zip(marks, temperatures, strict=True)
            if isinstance(figure, float)
        ]
        rows.append({"at": seconds, "texts": shown})
    return rows


def _tables(readings: list[Reading], worksheet: Worksheet) -> Iterator[tuple[str, Data]]:
    """The what-if tables that readings name."""
    for name in sorted({str(getattr(reading, "what_if", None) or "") for reading in readings} - {""}):
        value = worksheet.values.get(name)
        if value is not None and value.ok and value.series is not None:
            yield name, table_data(name, value.series, worksheet)


def table_data(name: str, series: Series, worksheet: Worksheet) -> Data:
    """A table by its first column: ``x`` in SI, and the figures it moves.

    Columns named ``…_low`` and ``…_high`` are the ends of one figure. Of two rows the worse is the one
    without an answer; where both have one, each figure is taken from the row in which it ends higher.
    """
    columns = _columns(name, series, worksheet)
    rows = sorted(
        (row for row in series.rows if isinstance(row[0], float | int)), key=lambda row: float(row[0] or 0.0)
    )
    titles = {value_id: worksheet.values[value_id].title for value_id in columns}
    return {"titles": titles, "rows": [_row(series, columns, row, worksheet.prefer) for row in rows]}


def _columns(name: str, series: Series, worksheet: Worksheet) -> dict[str, list[int]]:
    """Places of the columns of each worksheet value that the table moves."""
    group = name.partition(".")[0]
    found: dict[str, list[int]] = {}
    for at, (column, kind) in enumerate(series.columns):
        base = column.removesuffix("_low").removesuffix("_high")
        known = [f"{group}.{base}", f"{group}.{base.removeprefix(group + '_')}"]
        value_id = next((one for one in known if one in worksheet.values), None)
        if at and kind != "text" and value_id is not None:
            found.setdefault(value_id, []).append(at)
    return found


def _row(
    series: Series,
    columns: dict[str, list[int]],
    row: tuple[float | str | None, ...],
    prefer: Preference,
) -> Data:
    texts: dict[str, str] = {}
    ends: dict[str, list[float]] = {}
    for value_id, places in columns.items():
        cells = [cell for at in places if isinstance(cell := row[at], float | int)]
        if cells:
            low, high = float(min(cells)), float(max(cells))
            ends[value_id] = [low, high]
            texts[value_id] = _span_text(series.columns[places[0]][1], low, high, prefer)
    why = " ".join(cell for cell in row if isinstance(cell, str))
    return {"x": row[0], "why": why, "ends": ends, "texts": texts}


def _span_text(kind: str, low: float, high: float, prefer: Preference) -> str:
    step = 1.0 if kind == "count" else step_for(high, kind, 2)
    return pair_range(kind, low, high, step, prefer, "outward").text
