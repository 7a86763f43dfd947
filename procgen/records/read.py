"""A record's file read and validated; every fault with its place in the file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from procgen.messages.diagnostic import Diagnostic, InputFaultsError
from procgen.records.schema import NAME, VERSION, Record

#: a record with photos may be large; a file beyond this is something else
MOST_BYTES = 200_000_000


def read_record(path: Path) -> Record:
    """The record in a file that a phone exported.

    Raises:
        InputFaultsError: it cannot be read, is no record, is of a newer version, or an entry is faulty.
    """
    data = _json(path)
    if not isinstance(data, dict) or data.get("schema") != NAME:
        found = data.get("schema") if isinstance(data, dict) else type(data).__name__
        raise _fault("record_other_file", path, found=str(found), expected=NAME)
    version = data.get("version")
    if isinstance(version, int) and version > VERSION:
        raise _fault("record_newer", path, found=str(version), expected=str(VERSION))
    try:
        return Record.model_validate(data)
    except ValidationError as error:
        raise InputFaultsError([_diagnostic(one, path) for one in error.errors(include_url=False)]) from error


def _json(path: Path) -> Any:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _fault("record_too_large", path, found=str(path.stat().st_size), expected=str(MOST_BYTES))
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise _fault("record_not_text", path, found=f"byte {error.start}") from error
    except OSError as error:
        raise _fault("record_unreadable", path, found=error.strerror or str(error)) from error
    try:
        return json.loads(text, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        fault = Diagnostic("record_not_json", path, error.lineno, error.colno, {"found": error.msg})
        raise InputFaultsError([fault]) from error
    except (ValueError, RecursionError) as error:
        raise _fault("record_not_json", path, found=str(error)) from error


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _fault(code: str, path: Path, **params: str) -> InputFaultsError:
    return InputFaultsError([Diagnostic(code, path, params=params)])


def _diagnostic(error: Any, path: Path) -> Diagnostic:
    place = _place(error["loc"])
    found = _shown(error.get("input"))
    if error["type"] == "missing":
        return Diagnostic("record_missing", path, params={"field": place})
    if error["type"] == "extra_forbidden":
        return Diagnostic("record_extra", path, params={"field": place, "found": found})
    return Diagnostic("record_field", path, params={"field": place, "found": found, "expected": error["msg"]})


def _place(loc: tuple[Any, ...]) -> str:
    """``entries[3].si``; the name of the kind that pydantic puts between stays out."""
    text, after_index = "", False
    for part in loc:
        if isinstance(part, int):
            text += f"[{part}]"
            after_index = True
            continue
        if after_index and text.startswith("entries[") and text.endswith("]") and text.count(".") == 0:
            after_index = False
            continue
        after_index = False
        text += f".{part}" if text else str(part)
    return text


def _shown(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "…"
