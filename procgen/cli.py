"""The commands: arguments in, text out, exit 0 clean, 1 a check fails, 2 input or usage is wrong."""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import wraps
from importlib.metadata import version
from pathlib import Path
from typing import Any

import click

OK, CHECK_FAILS, INPUT_WRONG = 0, 1, 2
#: what ``print`` can print (``publish.printing.documents.DOCUMENTS``; not imported, to start quickly)
DOCUMENTS = ("install", "jobcard", "survey", "training", "answers")


def _example(text: str) -> str:
    return f"\b\nExample:\n  {text}"


_workspace = click.option(
    "--workspace",
    "-C",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path(),
    help="Folder with mkdocs.yml, machine_profiles and docs_src (default: the current one).",
)


def _root(workspace: Path) -> Path:
    root = workspace.resolve()
    if not (root / "machine_profiles").is_dir():
        raise click.UsageError(f"no workspace: {root} has no folder 'machine_profiles' (use --workspace)")
    return root


def _messages(root: Path) -> Any:
    from procgen.messages.catalog import load

    return load(root)


def _told(command: Callable[..., Any]) -> Callable[..., Any]:
    """Turn what a command raises into messages on standard error and an exit code; never a traceback."""

    @wraps(command)
    def run(*args: Any, **kwargs: Any) -> None:
        from procgen.messages.diagnostic import InputFaultsError

        try:
            code = command(*args, **kwargs)
        except InputFaultsError as error:
            _print_faults(error.faults, kwargs.get("workspace", Path()))
            code = INPUT_WRONG
        except Exception as error:
            code = _known_failure(error, kwargs.get("workspace", Path()))
        sys.exit(code or OK)

    return run


def _known_failure(error: Exception, workspace: Path) -> int:
    from procgen import commands
    from procgen.publish.adapter import SiteFault
    from procgen.publish.printing.engine import PrintEngineMissingError, PrintFaultError
    from procgen.publish.switch import BusyError

    if isinstance(error, commands.UnknownGuideError):
        click.echo(f"procgen: no guide '{error.found}'; did you mean {error.nearest}?", err=True)
        return INPUT_WRONG
    if isinstance(error, commands.ChecksFailedError):
        _print_faults(error.faults, workspace)
        click.echo("procgen: nothing was published.", err=True)
        return CHECK_FAILS
    if isinstance(error, SiteFault):
        for line in error.messages:
            click.echo(f"procgen: {line}", err=True)
        return INPUT_WRONG
    if isinstance(error, PrintEngineMissingError):
        click.echo(
            f"procgen: {_messages(workspace.resolve()).text('site.print.engine_missing', why=error)}",
            err=True,
        )
        return INPUT_WRONG
    if isinstance(error, PrintFaultError):
        click.echo(
            f"procgen: {_unprinted(_messages(workspace.resolve()), error.guide, error.warnings)}", err=True
        )
        click.echo("procgen: nothing was published.", err=True)
        return INPUT_WRONG
    if isinstance(error, BusyError | OSError):
        click.echo(f"procgen: {error}", err=True)
        return INPUT_WRONG
    raise error


def _print_faults(faults: Sequence[Any], workspace: Path) -> None:
    from procgen.messages.catalog import load
    from procgen.messages.diagnostic import InputFaultsError

    root = workspace.resolve()
    try:
        words = load(root)
    except InputFaultsError:
        # The workspace's own words are what is at fault: then the packaged ones tell it.
        words = load()
    for fault in faults:
        click.echo(words.diagnostic(fault, root), err=True)
    click.echo(f"procgen: {words.counted('fault', len(faults))}", err=True)


def _unprinted(words: Any, guide: str, faults: Sequence[str]) -> str:
    return str(words.text("site.print.unprinted", guide=guide, why="; ".join(faults)))


@contextmanager
def _progress(label: str) -> Iterator[Callable[[str, int, int], None]]:
    """A bar on standard error while the work is long and somebody looks."""
    if not sys.stderr.isatty():
        yield lambda _name, _done, _count: None
        return
    with click.progressbar(
        length=1, label=label, file=sys.stderr, item_show_func=lambda name: name or ""
    ) as bar:

        def told(name: str, done: int, count: int) -> None:
            bar.length = count
            bar.current_item = name
            bar.update(done - bar.pos)

        yield told


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(version("procgen"), prog_name="procgen", message="%(prog)s %(version)s")
def main() -> None:
    """Site-specific installation guides, every figure computed and explained."""


@main.command(epilog=_example("procgen build ellunby-bakery"))
@click.argument("guides", nargs=-1, metavar="[GUIDE]...")
@click.option("--print", "prints", is_flag=True, help="Print each guide too, as a PDF beside its pages.")
@_workspace
@_told
def build(guides: tuple[str, ...], prints: bool, workspace: Path) -> int:
    """Build all guides (or the ones named) and the catalogue into site/.

    The other guides are carried over as they are. Nothing is published unless everything checks out. Says
    which steps and figures are not what they were, and in which guides.
    """
    from procgen import commands

    root = _root(workspace)
    words, before = _messages(root), commands.published(root)
    with _progress("Building") as told:
        entries = commands.build(root, words, guides, told, prints=prints)
    for line in commands.changes(before, commands.published(root), words):
        click.echo(line)
    click.echo(f"{len(guides) or len(entries)} built. Open {root / 'site' / 'index.html'}")
    return OK


@main.command(name="print", epilog=_example("procgen print ellunby-bakery --output prints"))
@click.argument("guides", nargs=-1, metavar="[GUIDE]...")
@click.option(
    "--document", type=click.Choice(DOCUMENTS), default="install", show_default=True, help="What to print."
)
@click.option(
    "--paper",
    type=click.Choice(["A4", "Letter"], case_sensitive=False),
    help="Paper (default: A4 for metric guides, Letter for US ones).",
)
@click.option(
    "--output",
    "-o",
    type=click.Path(path_type=Path),
    help="A file (*.pdf) for one guide, or a folder (default: build/print in the workspace).",
)
@click.option(
    "--seed",
    type=click.IntRange(1),
    metavar="N",
    help="Set of exercises of training and answers (default: follows from guide and edition).",
)
@_workspace
@_told
def print_(
    guides: tuple[str, ...],
    document: str,
    paper: str | None,
    output: Path | None,
    seed: int | None,
    workspace: Path,
) -> int:
    """Print a document of all guides (or the ones named) as PDF.

    The files' names go to standard output. A guide that cannot be printed is named; the others are kept.
    """
    from procgen import commands
    from procgen.publish.printing.documents import file_name

    root = _root(workspace)
    words = _messages(root)
    folder = output or root / "build" / "print"
    single = folder.suffix.lower() == ".pdf"
    if single and len(set(guides)) != 1:
        raise click.UsageError("--output names one file: name one guide, or give a folder")

    def path_for(guide: str) -> Path:
        return folder if single else folder / file_name(guide, document)

    with _progress("Printing") as told:
        prints = commands.print_guides(root, words, guides, document, paper, path_for, told, seed=seed)
    for one in sorted(prints.done, key=lambda one: one.guide):
        click.echo(str(one.path))
    for one in sorted(prints.failed, key=lambda one: one.guide):
        click.echo(f"procgen: {_unprinted(words, one.guide, one.faults)}", err=True)
    if prints.faults:
        _print_faults(prints.faults, root)
    return INPUT_WRONG if prints.failed or prints.faults else OK


@main.command(epilog=_example("procgen serve ellunby-bakery --port 8000"))
@click.argument("guide")
@click.option("--port", default=8000, show_default=True, help="Port on this machine.")
@_workspace
@_told
def serve(guide: str, port: int, workspace: Path) -> int:
    """Show one guide in a browser, rebuilt as profiles, surveys, templates, messages or styles change."""
    from procgen import commands
    from procgen.messages.diagnostic import InputFaultsError

    root = _root(workspace)

    def report(error: Exception) -> None:
        if isinstance(error, InputFaultsError):
            _print_faults(error.faults, root)
        else:
            click.echo(f"procgen: {error}", err=True)

    click.echo(f"http://127.0.0.1:{port}/ (stop with Ctrl-C)")
    commands.serve(root, guide, _messages(root), report, port)
    return OK


@main.command(epilog=_example("procgen check --readiness"))
@click.option("--readiness", is_flag=True, help="Exit 1 when a site is not ready, and say why.")
@_workspace
@_told
def check(readiness: bool, workspace: Path) -> int:
    """Check profiles, surveys, templates, links, units and figures, in a temporary folder.

    Says what a build would change in the guides published now.
    """
    from procgen import commands

    root = _root(workspace)
    words = _messages(root)
    with _progress("Checking") as told:
        found = commands.check(root, words, told)
    for line in commands.changes(commands.published(root), found.editions, words):
        click.echo(line)
    if found.faults:
        _print_faults(sorted(found.faults, key=lambda fault: fault.sort_key), root)
        return CHECK_FAILS
    if not readiness:
        click.echo("All checks pass.")
        return OK
    report = commands.readiness(root, words)
    for line in report.lines:
        if line.verdict == "stop":
            click.echo(f"{line.guide}: {line.reason} {line.remedy} ({words.word(line.who)})")
    click.echo(f"{len(report.not_ready)} of {len(report.guides)} sites are not ready.")
    return CHECK_FAILS if report.not_ready else OK


@main.command(epilog=_example("procgen values ellunby-bakery --format json"))
@click.argument("guide")
@click.option(
    "--format", "form", type=click.Choice(["table", "json", "csv"]), default="table", show_default=True
)
@_workspace
@_told
def values(guide: str, form: str, workspace: Path) -> int:
    """Print the values and findings of a guide. Numbers in JSON and CSV are unrounded, in the unit stated."""
    from procgen import commands
    from procgen.values import export

    root = _root(workspace)
    sheet, edition = commands.values(root, guide, _messages(root))
    if form == "json":
        click.echo(
            json.dumps(export.worksheet_data(sheet, edition), indent=2, ensure_ascii=False, allow_nan=False)
        )
    elif form == "csv":
        click.echo(_csv(export.COLUMNS, export.rows(sheet)), nl=False)
    else:
        _print_sheet(sheet)
    return OK


def _csv(columns: Sequence[str], rows: Any) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()


def _print_sheet(sheet: Any) -> None:
    from procgen.values.shown import shown_span

    for value in sheet.values.values():
        if not value.ok:
            shown = f"unavailable: {value.why}"
        elif value.series is not None:
            shown = f"{len(value.series.rows)} rows (see --format json)"
        else:
            shown = shown_span(value, sheet.prefer).text
        click.echo(f"{value.id:44} {shown}")
    click.echo()
    for finding in sheet.findings:
        click.echo(f"{finding.verdict:10} {finding.title}: {finding.reason} {finding.remedy}".rstrip())


@main.command(name="list", epilog=_example("procgen list --format json"))
@click.option("--format", "form", type=click.Choice(["table", "json"]), default="table", show_default=True)
@_workspace
@_told
def list_(form: str, workspace: Path) -> int:
    """List the guides with model, site, readiness, revision and the edition last built."""
    from procgen.publish.listing import listing

    entries = listing(_root(workspace))
    if form == "json":
        data = [
            {
                "guide": e.guide,
                "model": e.model,
                "site": e.guide if e.site is not None else None,
                "readiness": e.readiness,
                "revision": e.revision,
                "edition": e.edition,
            }
            for e in entries
        ]
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
        return OK
    for e in entries:
        state = e.readiness.replace("_", " ")
        click.echo(f"{e.guide:24} {e.model:20} {state:12} {e.revision:34} {e.edition or 'not built'}")
    return OK


@main.command(epilog=_example("procgen schema machine > machine.schema.json"))
@click.argument("name", type=click.Choice(["machine", "site", "values", "record"]), required=False)
@_workspace
@_told
def schema(name: str | None, workspace: Path) -> int:
    """Print a JSON Schema; without a name, write those of profiles and surveys where editors look."""
    from procgen import commands

    if name is not None:
        click.echo(json.dumps(commands.schemas(name), indent=2, ensure_ascii=False))
        return OK
    folder = _root(workspace) / "machine_profiles" / "schema"
    folder.mkdir(exist_ok=True)
    for kind in ("machine", "site"):
        path = folder / f"{kind}.schema.json"
        path.write_text(
            json.dumps(commands.schemas(kind), indent=2, ensure_ascii=False) + "\n", encoding="utf-8"
        )
        click.echo(str(path))
    return OK
