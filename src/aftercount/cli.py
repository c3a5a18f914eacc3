"""The command line: a thin twin of the library, and the one place where errors become messages and exit statuses.

Exit status: 0 done; 1 the input cannot be used; 2 wrong usage; 3 a gate failed. Results go to stdout, what is wrong to
stderr, one line a problem. No command decides anything: each calls one library function and prints what it returns.
The library is imported inside the commands, so that --help stays quick.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from aftercount import __version__, terminal
from aftercount.errors import AftercountError, InputError, UsageError

if TYPE_CHECKING:
    from aftercount.beside import Beside

# What a shell expects of a program stopped by Ctrl-C: 128 + SIGINT.
INTERRUPTED = 130
GATE_FAILED = 3
# Signals shown on the terminal, the latest; all are in the folder.
_LATEST = 10
_FOLDER = click.Path(path_type=Path)
_BESIDE = ("aftercount.review", "aftercount.report.charts.deviation", "aftercount.report.charts.profile")  # what a second process works with

json_option = click.option("--json", "as_json", is_flag=True, help="Print machine-readable results to stdout.")
out_option = click.option("--out", required=True, type=_FOLDER, metavar="OUT", help="Folder to write.")


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="%(version)s")
def cli() -> None:
    """After-action review of a launch count: the planned procedure and the logs in, the review out.

    Exit status: 0 done, 1 the input cannot be used, 2 wrong usage, 3 a gate failed.
    """


@cli.command()
@click.argument("folders", nargs=-1, required=True, metavar="COUNT_FOLDER...")
@click.option("--out", required=True, metavar="OUT", help="Folder to write.")
@click.option("--csv", is_flag=True, help="Also write every table as .csv.")
@click.option("--xlsx", is_flag=True, help="Also write the tables as one workbook.")
@click.option("--md", is_flag=True, help="Also write the summary as Markdown.")
@click.option("--pdf", is_flag=True, help="Also write the page as PDF.")
@click.option("--notes", type=_FOLDER, help="A notes.toml saved from an earlier page, to show in the new one.")
@click.option("--baseline", type=_FOLDER, help="An earlier review folder to compare with.")
@click.option("--jobs", type=click.IntRange(min=1), help="Processes to use, each for another count; default one a processor.")
@click.option("--scheduler", metavar="ADDRESS", help="Send the counts to this Dask scheduler, e.g. tcp://host:8786, instead.")
@json_option
def review(folders: tuple[str, ...], out: str, as_json: bool, **wanted: Any) -> int:
    """Review one count folder into OUT, or several (or a folder of them) into OUT/<count id> each.

    Folders are paths, or URIs of an object store (s3://bucket/prefix). Of several counts, those that were reviewed before
    and are unchanged are passed over, and one that fails does not stop the rest.
    """
    from aftercount.beside import second

    one = len(folders) == 1 and ("://" in folders[0] or Path(folders[0], "count.toml").is_file())
    with second(wanted["jobs"] if one else 1, _BESIDE) as beside:  # begun before the rest is imported, so that it is ready in time
        return _review(folders, out, as_json, wanted, beside)


def _review(folders: tuple[str, ...], out: str, as_json: bool, wanted: dict[str, Any], beside: Beside) -> int:
    from aftercount.campaign.many import Where, expand
    from aftercount.campaign.places import shown
    from aftercount.campaign.work import review_to
    from aftercount.report.folder import WriteOptions

    where = Where(wanted.pop("jobs"), wanted.pop("scheduler"))
    options, counts = WriteOptions(**wanted), expand(folders)
    if counts != list(folders) or len(counts) > 1:
        return _review_many(counts, out, options, where, as_json)
    if where.scheduler:
        raise UsageError("--scheduler is for several counts, or a folder of them")
    made = review_to(counts[0], out, options, progress=terminal.progress(), beside=beside)
    terminal.end_progress()
    terminal.warn(made.problems)
    if as_json:
        terminal.print_json(made.summary)
    else:
        from aftercount.report.summary_text import summary_text

        click.echo(summary_text(made.summary, made.tables).rstrip("\n"))
        click.echo(f"\nwritten to {shown(out)}")
    return 0


def _review_many(folders: list[str], out: str, options: Any, where: Any, as_json: bool) -> int:
    from aftercount.campaign.many import review_many

    results = review_many(folders, out, options, where, progress=terminal.progress())
    terminal.end_progress()
    if as_json:
        terminal.print_json([r.as_dict() for r in results])
    else:
        for result in results:
            click.echo(terminal.one_line(result.line()))
        click.echo(_tally(results))
    failed = [r for r in results if r.problems]
    for result in failed:
        terminal.complain(result.problems)
    return 1 if failed else 0


def _tally(results: Sequence[Any]) -> str:
    unchanged, failed = sum(r.unchanged for r in results), sum(bool(r.problems) for r in results)
    return f"{terminal.number(len(results), 'count')}: {len(results) - unchanged - failed} reviewed, {unchanged} unchanged, {failed} failed"


def _list_codes(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        from aftercount.messages import MEANINGS

        width = max(map(len, MEANINGS))
        click.echo("\n".join(f"{code:{width}s}  {MEANINGS[code]}" for code in sorted(MEANINGS)))
        context.exit()


@cli.command()
@click.argument("folder", type=_FOLDER, metavar="COUNT_FOLDER")
@click.option("--codes", is_flag=True, is_eager=True, expose_value=False, callback=_list_codes, help="Explain every message that has a code, and stop.")
@json_option
def check(folder: Path, as_json: bool) -> int:
    """List every problem of a count folder, with file, line and what was expected."""
    from aftercount.review import check as check_folder

    problems = check_folder(folder)
    errors = [p for p in problems if p.severity == "error"]
    if as_json:
        terminal.print_json([terminal.problem_dict(p) for p in problems])
    else:
        for problem in problems:
            click.echo(f"{problem.severity}: {terminal.one_line(str(problem))}")
        if not errors:
            click.echo(f"{folder}: usable, {terminal.number(len(problems), 'warning')}")
    if errors:
        click.echo(f"aftercount: {folder}: {terminal.number(len(errors), 'error')}; this count cannot be reviewed", err=True)
    return 1 if errors else 0


@cli.command()
@click.argument("out", type=_FOLDER, metavar="OUT")
@click.argument("step")
@json_option
def explain(out: Path, step: str, as_json: bool) -> int:
    """Tell why STEP was judged as it was, from the review folder OUT."""
    from aftercount.review import explain as explain_step

    lines = explain_step(out, step)
    if as_json:
        terminal.print_json({"step": step, "lines": lines})
    else:
        click.echo("\n".join(lines))
    return 0


@cli.command()
@click.argument("out", type=_FOLDER, metavar="OUT")
@click.option("--seed", type=int, default=1, show_default=True, help="The same seed writes the same files.")
@click.option("--scenario", default="heron", show_default=True, help="Which procedure and vehicle.")
@click.option("--story", default="random", show_default=True, help="random, clean, hold, recycle, scrub or cutoff.")
@click.option("--steps", type=int, default=60, show_default=True, help="Steps in the plan.")
@click.option("--log", "logs", multiple=True, metavar="KIND[.FORMAT]", help="A log to write; may be given often.")
@click.option("--nets", type=int, default=1, show_default=True, help="Voice nets, one transcript each.")
@click.option("--word-error", type=float, default=0.0, show_default=True, help="Share of words a transcript gets wrong.")
@click.option("--false-marks", type=float, default=0.1, show_default=True, help="Share of spoken count readings that mislead.")
@click.option("--season", type=int, metavar="N", help="Write N count folders into OUT: a season with a learning curve, a change of plan and a regression.")
@json_option
def rehearse(out: Path, seed: int, logs: tuple[str, ...], season: int | None, as_json: bool, **wanted: Any) -> int:
    """Write a simulated count folder OUT, and the truth about it beside it."""
    from aftercount.rehearse.options import RehearsalOptions
    from aftercount.rehearse.write import rehearse as write_rehearsal

    if logs:
        wanted["logs"] = logs
    options = RehearsalOptions(**wanted)
    if season is not None:
        return _rehearse_season(out, season, (seed, options), as_json)
    truth = write_rehearsal(out, seed=seed, options=options)
    if as_json:
        terminal.print_json({"folder": str(truth.folder), "truth": str(truth.file), "outcome": truth.outcome})
    else:
        click.echo(f"{truth.folder}: {truth.outcome}, {terminal.number(len(truth.steps), 'step')}; the truth is in {truth.file}")
    return 0


def _rehearse_season(out: Path, counts: int, drawn_from: tuple[int, Any], as_json: bool) -> int:
    from aftercount.rehearse.season import rehearse_season

    seed, options = drawn_from
    made = rehearse_season(out, counts, seed, options)
    if as_json:
        terminal.print_json({"folders": [str(f) for f in made.folders], "truth": str(made.file)})
    else:
        click.echo(f"{out}: {terminal.number(len(made.folders), 'rehearsal')}; the truth of the season is in {made.file}")
    return 0


@cli.command()
@click.argument("out", type=_FOLDER, metavar="OUT")
@click.argument("truth", type=_FOLDER, metavar="TRUTH")
@json_option
def score(out: Path, truth: Path, as_json: bool) -> int:
    """Measure the review folder OUT against a TRUTH file that `rehearse` wrote."""
    from aftercount.score import score as score_review

    figures = score_review(out, truth)
    if as_json:
        terminal.print_json(figures)
    else:
        for name, value in figures.items():
            click.echo(f"{name:42s} {terminal.figure(value)}")
    return 0


@cli.command()
@click.argument("outs", nargs=-1, required=True, metavar="OUT...")
@click.option("--out", required=True, metavar="DIR", help="Folder to write.")
@json_option
def trend(outs: tuple[str, ...], out: str, as_json: bool) -> int:
    """Compare the review folders OUT... (or a folder of them) over a season, and write what changed to DIR.

    Folders are paths, or URIs of an object store (s3://bucket/prefix).
    """
    from aftercount.beside import second

    with second(None, ("aftercount.campaign.trend", "aftercount.campaign.charts")) as beside:  # begun before the rest is imported, as for a review
        from aftercount.campaign.folder import write_trend
        from aftercount.campaign.page import sentences
        from aftercount.campaign.places import shown
        from aftercount.campaign.trend import trend as compare

        made = compare(outs, beside)
        write_trend(made, out, beside)
    if as_json:
        terminal.print_json(made.summary)
    else:
        click.echo("\n".join([*sentences(made), *(f"  {text}" for text in made.tables["signals"]["text"].tail(_LATEST)), f"written to {shown(out)}"]))
    return 0


@cli.command()
@click.argument("out", metavar="OUT")
@click.option("--baseline", required=True, metavar="DIR", help="A folder that `trend` wrote.")
@click.option("--strict", is_flag=True, help="Fail on what is unusual but within chance, too.")
@json_option
def gate(out: str, baseline: str, strict: bool, as_json: bool) -> int:
    """Exit 3 when the review OUT is worse than its baseline by more than chance explains, naming the steps."""
    from aftercount.campaign.gate import gate as hold_against

    verdict = hold_against(out, baseline)
    if as_json:
        terminal.print_json(verdict.as_dict())
    else:
        for worse in verdict.worse:
            click.echo(terminal.one_line(worse.text))
        for note in verdict.notes:
            click.echo(f"note: {terminal.one_line(note.text)}")
        click.echo(terminal.one_line(verdict.sentence()))
    return 0 if verdict.passed and not (strict and verdict.notes) else GATE_FAILED


def main(argv: Sequence[str] | None = None) -> None:
    """Entry point."""
    from aftercount.beside import seldom

    seldom()
    sys.exit(run(argv))


def run(argv: Sequence[str] | None = None) -> int:
    """Run a command and return its exit status: the boundary past which no exception goes."""
    try:
        status = cli.main(args=None if argv is None else list(argv), prog_name="aftercount", standalone_mode=False)
        sys.stdout.flush()
        return status if isinstance(status, int) else 0
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except click.ClickException as wrong:
        wrong.show()
        return UsageError.exit_status
    except (click.Abort, KeyboardInterrupt):
        click.echo("aftercount: stopped", err=True)
        return INTERRUPTED
    except (BrokenPipeError, SystemExit):
        # The reader of our output has gone ('| head'; click leaves by SystemExit then): nothing more to say, and
        # Python must not try to at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.__stdout__.fileno() if sys.__stdout__ else 1)
        return 0
    except InputError as fault:
        terminal.complain(fault.problems)
        return fault.exit_status
    except AftercountError as fault:
        click.echo(f"aftercount: {terminal.one_line(str(fault))}", err=True)
        return fault.exit_status
    except MemoryError:
        click.echo("aftercount: not enough memory for this input", err=True)
        return AftercountError.exit_status
    except OSError as fault:  # no permission, a full disk, a name that is too long: the machine's answer, not our fault
        click.echo(f"aftercount: {terminal.one_line(str(fault.filename or 'input or output'))}: {fault.strerror or fault}", err=True)
        return AftercountError.exit_status
    except Exception as fault:
        click.echo(f"aftercount: internal fault, please report it: {terminal.place(fault)}", err=True)
        return AftercountError.exit_status


if __name__ == "__main__":
    main()
