"""What a template can get wrong, as an exception with a code, and the template line it came from."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from pathlib import Path
from types import FrameType, TracebackType

from jinja2 import TemplateSyntaxError
from jinja2.exceptions import SecurityError, TemplateNotFound

from procgen.messages.diagnostic import Diagnostic


class TemplateFaultError(Exception):
    """A fault of a template; ``code`` and ``params`` choose and fill the words."""

    def __init__(self, code: str, **params: str) -> None:
        self.code = code
        self.params = params
        super().__init__(f"{code}: {params}")


class TagSyntaxError(TemplateSyntaxError):
    """A tag that is written wrongly: a syntax error with words of its own."""

    def __init__(self, fault: TemplateFaultError, line: int, name: str | None, filename: str | None) -> None:
        super().__init__(str(fault), line, name, filename)
        self.fault = fault


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name most like the one found, or a few known names where none is like it."""
    names = sorted(set(known))
    close = difflib.get_close_matches(name, names, 1, cutoff=0.5)
    if close:
        return close[0]
    return ", ".join(names[:6]) + (", …" if len(names) > 6 else "")


def place_of(error: BaseException) -> tuple[str, int] | None:
    """Template name and line of the innermost template frame that an exception passed through."""
    found: tuple[str, int] | None = None
    traceback: TracebackType | None = error.__traceback__
    first = traceback
    while traceback is not None:
        found = _template_line(traceback.tb_frame, traceback.tb_lineno) or found
        traceback = traceback.tb_next
    # Caught inside a tag: the template is the caller of what raised.
    frame = first.tb_frame.f_back if first is not None and found is None else None
    while frame is not None and found is None:
        found = _template_line(frame, frame.f_lineno)
        frame = frame.f_back
    return found


def _template_line(frame: FrameType, line: int) -> tuple[str, int] | None:
    template = frame.f_globals.get("__jinja_template__")
    if template is None:
        return None
    return template.name, template.get_corresponding_lineno(line)


def diagnostic_of(error: BaseException, folder: Path, fallback: str) -> Diagnostic:
    """One fault with its place, from anything a template can raise."""
    if isinstance(error, TemplateSyntaxError):
        path = folder / (error.name or fallback)
        fault = error.fault if isinstance(error, TagSyntaxError) else _syntax_fault(error)
        return Diagnostic(fault.code, path, error.lineno, params=fault.params)
    name, line = place_of(error) or (fallback, 1)
    fault = error if isinstance(error, TemplateFaultError) else _other_fault(error)
    return Diagnostic(fault.code, folder / name, line, params=fault.params)


def _syntax_fault(error: TemplateSyntaxError) -> TemplateFaultError:
    return TemplateFaultError("template_syntax", problem=error.message or "")


def _other_fault(error: BaseException) -> TemplateFaultError:
    if isinstance(error, SecurityError):
        return TemplateFaultError("template_unsafe", problem=str(error))
    if isinstance(error, TemplateNotFound):
        return TemplateFaultError("template_not_found", found=str(error.name or error))
    if isinstance(error, RecursionError):
        return TemplateFaultError("template_endless")
    text = " ".join(str(error).split()) or type(error).__name__
    return TemplateFaultError("template_failed", problem=text)
