"""The commands. Each is thin: it reads its words, calls one stage after another, and prints what came out.

Exit codes: 0 fine (`make` too, whatever it found), 1 findings of severity problem (`check`) or a failed run,
2 wrong usage.
"""

from __future__ import annotations

import atexit
import gc
import json
import os
import shlex
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from journal import __version__

if TYPE_CHECKING:
    from journal.build import Told
    from journal.ground.finding import Finding

atexit.register(gc.freeze)  # what a command has made goes all at once: nobody has to look through it for rings first

BUILD = click.argument("build", type=click.Path(exists=True, file_okay=False, path_type=Path))
COLOURS = {"problem": "red", "warning": "yellow", "remark": "cyan"}


class Day(click.ParamType[date]):
    """A date written year-month-day."""

    name = "date"

    def convert(self, value: str | date, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f'"{value}" is no date such as 2026-05-02', param, ctx)


AS_OF = click.option("--as-of", type=Day(), help="Tell everything as it stood at the end of this day.")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96})
@click.version_option(__version__, prog_name="journal")
def main() -> None:
    """Keep the record of what you take apart.

    Put photos and short notes into dated folders; journal tells what is not recorded yet, finds any measurement
    again, and makes a site to read in the shop or to show to followers.
    """


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--title", help="What the build is called.")
def start(folder: Path, title: str | None) -> None:
    """Begin a build: a folder with settings and a first day to fill in."""
    from journal.start import StartFault, start_build

    try:
        made = start_build(folder, title or folder.resolve().name, date.today())
    except StartFault as fault:
        _fail(str(fault), f"run: journal check {_quoted(folder)}" if fault.is_build else "")
    for path in made:
        click.echo(f"wrote {path}")
    click.echo(f"\nNext: put today's photos beside the note, then run: journal check {_quoted(folder)}")


@main.command()
@click.argument("photos", nargs=-1, required=True, type=click.Path(exists=True, path_type=Path))
@click.option("--into", required=True, type=click.Path(exists=True, file_okay=False, path_type=Path), help="The build.")
@click.option("--dry-run", is_flag=True, help="Only tell what would be copied.")
def gather(photos: tuple[Path, ...], into: Path, dry_run: bool) -> None:
    """Copy photos off a phone, card or folder into dated folders; nothing is moved, deleted or overwritten."""
    from journal.gather import gather as copy
    from journal.gather import told as lines_of
    from journal.ground.files import WriteFault
    from journal.progress import progress_bar

    try:
        with progress_bar() as progress:
            report = copy(photos, into, dry_run, progress)
    except WriteFault as fault:
        _fail(fault.message, fault.help)
    for line in lines_of(report, dry_run):
        click.echo(line)
    sys.exit(1 if report.faults else 0)


@main.command()
@BUILD
@click.option("--json", "as_json", is_flag=True, help="Print every finding as JSON.")
@click.option("--remarks", is_flag=True, help="Show remarks too; they are counted without it.")
@AS_OF
def check(build: Path, as_json: bool, remarks: bool, as_of: date | None) -> None:
    """Tell what is missing or wrong, with file and line."""
    told = _told(build, as_of)
    findings = told.judgement.findings
    if as_json:
        click.echo(json.dumps({"findings": [f.as_json() for f in findings]}, ensure_ascii=False, indent=1))
    else:
        _print(told, [f for f in findings if remarks or f.severity != "remark"])
        _print_changes(told)
        _print_tally(findings, remarks)
    sys.exit(1 if any(f.severity == "problem" for f in findings) else 0)


@main.command()
@BUILD
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Where the site goes (BUILD/site or site-shop).")
@click.option(
    "--edition",
    type=click.Choice(["public", "shop"]),
    default="public",
    show_default=True,
    help="public leaves out what is private; shop has everything.",
)
@click.option("--pocket", is_flag=True, help="Also write the shop edition as one file to send to a phone.")
@AS_OF
def make(build: Path, out: Path | None, edition: str, pocket: bool, as_of: date | None) -> None:
    """Make the site: whole and new, or not at all."""
    from journal.ground.files import WriteFault
    from journal.make import make_site, pocket_path
    from journal.progress import progress_bar

    out = out or build / ("site" if edition == "public" else "site-shop")
    file = pocket_path(out) if pocket else None
    try:
        with progress_bar() as progress:
            made = make_site(build, out, edition, as_of, progress, file)
    except WriteFault as fault:
        _fail(str(fault), fault.help)
    if made.told is not None:
        _print_tally(made.told.judgement.findings, remarks=True)
    click.echo(made.summary)
    if file:
        click.echo(f"pocket file {_quoted(file)}, {made.pocket} (shop edition: it holds private things)")
    click.echo(f"open {_quoted(out / 'index.html')}")


@main.command()
@BUILD
@click.option("--open", "in_browser", is_flag=True, help="Open it in the browser.")
@click.option("--port", type=click.IntRange(0, 65535), help="Where to serve it (8417, or any free one).")
@click.option(
    "--edition",
    type=click.Choice(["shop", "public"]),
    default="shop",
    show_default=True,
    help="shop shows findings beside what they are about; public is what followers see.",
)
@AS_OF
def preview(build: Path, in_browser: bool, port: int | None, edition: str, as_of: date | None) -> None:
    """Show the site on this machine only, and make it again whenever a note is saved."""
    import webbrowser

    from journal.preview import Preview, PreviewFault, run

    try:
        run(Preview(build, edition, as_of), port, click.echo, webbrowser.open if in_browser else None)
    except PreviewFault as fault:
        _fail(str(fault), "name another one, or leave --port out")


@main.command()
@BUILD
@click.argument("words", nargs=-1, required=True)
@click.option("--most", default=20, show_default=True, help="How many hits to show.")
@AS_OF
def find(build: Path, words: tuple[str, ...], most: int, as_of: date | None) -> None:
    """Find parts, measurements and days: words, values such as "16 mm", ranges such as "20 to 25 mm"."""
    from journal.find import find as search
    from journal.find import told as lines_of
    from journal.ground.console import printable
    from journal.pages.findable import rows
    from journal.pages.search import arrange
    from journal.pages.viewer import Viewer

    told = _told(build, as_of)
    result = search(arrange(rows(Viewer(told.book, told.judgement, "shop"))), " ".join(words))
    for line in lines_of(result, most):
        click.echo(printable(line))


@main.command()
@BUILD
@click.argument("part", nargs=-1, required=True)
@AS_OF
def where(build: Path, part: tuple[str, ...], as_of: date | None) -> None:
    """Tell where a part sits: how well it is recorded, every reading, what is still free."""
    from journal.where import UnknownPart, where_lines

    told = _told(build, as_of)
    try:
        lines = where_lines(told.book, told.judgement, " ".join(part))
    except UnknownPart as fault:
        _fail(str(fault), fault.help)
    for line in lines:
        click.echo(line)


@main.command()
@click.argument("word", required=False)
def explain(word: str | None) -> None:
    """Explain a finding by the word it ends with; without one, list all words."""
    from journal.explain import explain_lines, list_lines
    from journal.ground.explanations import WORDS

    if word is None:
        lines = list_lines()
    elif word.strip("[]") in WORDS:
        lines = explain_lines(word.strip("[]"))
    else:
        from difflib import get_close_matches

        near = get_close_matches(word, WORDS, 1)
        _fail(
            f'"{word}" is no finding',
            f"the nearest is {near[0]}" if near else "journal explain lists all",
            code=2,
        )
    for line in lines:
        click.echo(line)


def _told(build: Path, as_of: date | None) -> Told:
    """The build read and judged, pictures by their headers only."""
    from journal.ground.atomic import WriteFault
    from journal.make import tell_build

    try:
        return tell_build(build, as_of)
    except WriteFault as fault:
        _fail(fault.message, fault.help)


def _print_changes(told: Told) -> None:
    """What became of each part of a host that is going or has changed."""
    from journal.ground.console import printable
    from journal.judge.changes import changed_hosts, changed_lines

    lines = [*changed_lines(told.book, changed_hosts(told.book, told.judgement.records))]
    for line in lines:
        click.echo(printable(line))
    if lines:
        click.echo()


def _print(told: Told, findings: list[Finding]) -> None:
    from journal.ground.console import render

    for finding in findings:
        head, *rest = render(finding, told.sources)
        place, _, message = head.partition(f": {finding.severity}: ")
        click.echo(f"{place}: {click.style(finding.severity, fg=COLOURS[finding.severity], bold=True)}: {message}")
        for line in rest:
            click.echo(line)
        click.echo()


def _print_tally(findings: tuple[Finding, ...], remarks: bool) -> None:
    from journal.ground.console import tally

    hidden = sum(f.severity == "remark" for f in findings)
    click.echo(tally(findings) + ("" if remarks or not hidden else " (--remarks shows them)"))


def _fail(message: str, help: str = "", code: int = 1) -> NoReturn:
    click.echo(f"journal: {message}", err=True)
    if help:
        click.echo(f"    help: {help}", err=True)
    sys.exit(code)


def _quoted(path: Path) -> str:
    """A path as the shell of this system takes it."""
    if os.name == "posix":
        return shlex.quote(str(path))
    from subprocess import list2cmdline  # late: it takes longer to load than all else here

    return list2cmdline([str(path)])
