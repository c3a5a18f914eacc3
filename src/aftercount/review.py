"""The whole job for one count: the only module that knows the order of the stages.

    count folder -> records -> utterances -> clock and time base -> matches -> steps and findings -> summary

Each stage is a function from tables to tables; this one calls them in turn and numbers the events. Instants are POSIX
microseconds UTC between stages. It decides nothing about a count itself.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

import pandas as pd

from aftercount import count as counts
from aftercount import findings, logs, match, plan, speech, tables, timeline
from aftercount.beside import ALONE, Beside
from aftercount.count import CountFolder
from aftercount.errors import InputError, Problem
from aftercount.plan import Plan
from aftercount.summary import summarise

Progress = Callable[[str], None]

ROUNDS = 2  # of setting the clocks by the steps and finding the steps once more: a third has not been seen to move anything
DUE_ANEW_S = 5.0  # by less than this a due time that moves changes no match
MOST_SHARED = 300_000  # sentences: what two processes share is held in memory twice
WHOLE_FILE = 0  # the line of a reject that is of the file as a whole
_DUE = ["step", "pass", "reached"]  # what the match rests on

# Columns that name an utterance, by table: renumbered together once the events are in time order.
_EVENT_COLUMNS = {
    "holds": ("event", "resume_event"),
    "steps": ("event", "response_event"),
    "matches": ("event",),
    "marks": ("event",),
    "polls": ("event",),
    "findings": ("event",),
}


@dataclass(frozen=True)
class Review:
    """One reviewed count: the tables of a review folder as DataFrames, and the summary."""

    count: CountFolder
    plan: Plan
    tables: Mapping[str, pd.DataFrame]
    summary: Mapping[str, Any]
    problems: tuple[Problem, ...] = ()

    def __getattr__(self, name: str) -> pd.DataFrame:
        try:
            return self.__dict__["tables"][name]
        except KeyError:
            raise AttributeError(name) from None

    def __repr__(self) -> str:
        steps = self.summary["steps"]
        return (f"<Review {self.count.id}: {self.summary['outcome']}, {steps['done']} of {steps['total']} steps done, "
                f"{len(self.summary['findings'])} findings>")

    def _repr_html_(self) -> str:
        from aftercount.report.summary_text import summary_text

        return f"<pre>{escape(summary_text(self.summary, self.tables))}</pre>"


def review(folder: str | Path, *, progress: Progress | None = None, beside: Beside = ALONE) -> Review:
    """Review the count in `folder`.

    Raises InputError, with every problem found, when the folder, its plan or its logs cannot be used. Lines that cannot
    be used are rows of `rejects`, not errors. beside: who does what can be done beside the rest.
    """
    tell = progress or (lambda _: None)
    count, procedure, decisions, problems = _load(Path(folder))
    tell("reading the logs")
    records, rejects, sources = logs.read(count, held=not procedure.holds.empty)
    if records.empty:
        raise InputError([*problems, *_nothing_read(count, rejects)])
    tell("making out who said what")
    parts = speech.split(records, count, procedure)
    beside = beside if len(parts.sentences) <= MOST_SHARED else ALONE
    stems = beside.begin(match.stems, [sentence.text for sentence in parts.sentences], procedure, count)
    spoken, known = speech.understood(parts), stems()
    tell("rebuilding the count clock")
    clock = beside.begin(timeline.rebuild, spoken, sources, count, procedure)
    words = match.worded(spoken.utterances, procedure, count, known)
    clocked = clock()
    tell("finding the steps")
    clocked, due, timed, matched = _matched(spoken, words, clocked, count, procedure, decisions)
    tell("judging the differences")
    judged = findings.judge(due, matched, timed, clocked, spoken.poll_answers, procedure, count, decisions)
    made = _number_events({
        "events": timed, "clock": clocked.clock, "holds": clocked.holds, "steps": judged.steps,
        "matches": matched.matches, "sources": clocked.sources, "rejects": rejects, "marks": clocked.marks,
        "polls": judged.polls, "findings": judged.findings,
    })
    ending = {"outcome": clocked.outcome, "outcome_us": clocked.outcome_us, "utc_known": clocked.utc_known, "slips": clocked.slips}
    return Review(count, procedure, made, summarise(made, count, ending), (*problems, *matched.problems))


def _matched(spoken: speech.Speech, words: match.Worded, clocked: timeline.Timeline, count: CountFolder, procedure: Plan,
             decisions: pd.DataFrame) -> tuple[timeline.Timeline, pd.DataFrame, pd.DataFrame, match.Matched]:
    """The timeline, the steps due, the utterances on one time, and the match: each rests on the others, so they are settled in rounds.

    Steps heard on several logs set the logs' clocks again; where that moves an entry further than it was sure of, the steps are found once more.
    """
    def due_by(clocked: timeline.Timeline) -> pd.DataFrame:
        return plan.due_steps(procedure, count, clocked.laid, clocked.holds, lifted=clocked.outcome == "liftoff")

    def found(clocked: timeline.Timeline) -> tuple[pd.DataFrame, pd.DataFrame, match.Matched]:
        due, timed = due_by(clocked), _timed(spoken.utterances, clocked)
        return due, timed, match.match(due, timed, procedure, count, decisions, words)

    due, timed, matched = found(clocked)
    for _ in range(ROUNDS):
        finer = timeline.refine(clocked, timeline.Found(matched.matches, due), spoken, count, procedure)
        again = due_by(finer)
        if not _due_anew(due, again) and not timeline.moved(clocked, finer):
            return finer, again, _timed(spoken.utterances, finer), matched
        clocked = finer
        due, timed, matched = found(clocked)
    return clocked, due, timed, matched


def _due_anew(before: pd.DataFrame, after: pd.DataFrame) -> bool:
    """Whether other steps are due, or any at another time than it was."""
    if not after[_DUE].equals(before[_DUE]) or not after["due_utc"].isna().equals(before["due_utc"].isna()):
        return True
    return bool(((after["due_utc"] - before["due_utc"]).dt.total_seconds().abs() > DUE_ANEW_S).any())


def check(folder: str | Path) -> list[Problem]:
    """Every problem of a count folder at once: configuration, plan, decisions, and lines that cannot be read."""
    count, problems = counts.load(Path(folder))
    if count is None:
        return problems
    procedure, more = plan.load(count)
    problems += more
    if procedure is not None:
        problems += counts.load_decisions(count, procedure)[1]
    records, rejects, sources = logs.read(count, held=procedure is None or not procedure.holds.empty)
    if records.empty:
        problems += _nothing_read(count, rejects)
        rejects = rejects[rejects["line"] > WHOLE_FILE]
    for source, note in zip(sources["source"].tolist(), sources["note"].fillna("").tolist(), strict=True):
        problems += [problem for told in note.split("; ") if (problem := _of_a_log(source, told)) is not None]
    problems += [Problem(source, int(line), "line-not-usable", reason, severity="warning")
                 for source, line, reason in zip(rejects["source"], rejects["line"], rejects["reason"], strict=True)]
    return problems


def _nothing_read(count: CountFolder, rejects: pd.DataFrame) -> list[Problem]:
    """Why there is nothing to review: what is wrong with each log as a whole, else that none has a usable line."""
    whole = rejects[rejects["line"] == WHOLE_FILE]
    if count.logs and {spec.path for spec in count.logs} <= set(whole["source"]):
        return [Problem(source, 0, "log-not-usable", reason) for source, reason in zip(whole["source"], whole["reason"], strict=True)]
    files = ", ".join(spec.path for spec in count.logs) or "no log file"
    return [Problem(str(count.folder), 0, "no-usable-line", f"expected a log with at least one usable line; found none in {files}")]


def _of_a_log(source: str, told: str) -> Problem | None:
    """What a reader noted of a whole file, if its owner should know."""
    if told.startswith("empty"):
        return Problem(source, 0, "log-empty", told, severity="warning")
    return Problem(source, 0, "log-no-column", told, severity="warning") if told.startswith("no column") else None


def explain(out: str | Path, step: str) -> list[str]:
    """Why a step was judged as it was, in words, from a review folder: the clock there, the candidates, their scores.

    Raises InputError when `out` is no review folder or has no such step.
    """
    from aftercount.match.explain import explain_step
    from aftercount.report.load import load_folder

    made, _ = load_folder(Path(out))
    known = made["steps"]["step"].unique().tolist()
    if step not in known:
        from difflib import get_close_matches

        near = get_close_matches(step, known, n=3, cutoff=0.4)
        raise InputError([Problem(str(out), 0, "unknown-step", f"expected a step of this review, seen {step!r}",
                                  f"did you mean {', '.join(near)}?" if near else "")])
    return explain_step(made, step)


def _load(folder: Path) -> tuple[CountFolder, Plan, pd.DataFrame, list[Problem]]:
    """Count folder, plan and decisions; raises InputError with all that is wrong with any of them."""
    count, problems = counts.load(folder)
    if count is None:
        raise InputError(problems)
    procedure, more = plan.load(count)
    problems += more
    if procedure is None:
        raise InputError([p for p in problems if p.severity == "error"] or problems)
    decisions, more = counts.load_decisions(count, procedure)
    problems += more
    errors = [p for p in problems if p.severity == "error"]
    if errors:
        raise InputError(errors)
    return count, procedure, decisions, problems


def _timed(utterances: pd.DataFrame, clocked: timeline.Timeline) -> pd.DataFrame:
    """The utterances on one time: columns utc_us, utc_sigma_s, sigma_s (against the count clock), t_s, state, pass,
    clock_sigma_s added."""
    t_s, state, passes, sigma = timeline.clock.at(clocked.laid, clocked.utc_us)
    return utterances.assign(utc_us=clocked.utc_us, utc_sigma_s=clocked.utc_sigma_s,
                             sigma_s=timeline.against_clock(utterances, clocked.laid_sigma_s, clocked.sources),
                             t_s=t_s, state=state, **{"pass": passes}, clock_sigma_s=sigma)


def _number_events(made: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Events in time order (those with no time last), numbered from 0, and every table that names one renumbered."""
    ordered = made["events"].sort_values(["utc_us", "source", "line", "utterance"], kind="stable", na_position="last")
    number = dict(zip(ordered["utterance"].tolist(), range(len(ordered)), strict=True))
    events = ordered.assign(event=range(len(ordered)), utc=pd.to_datetime(ordered["utc_us"], unit="us", utc=True))
    out = {**made, "events": events}
    for name, columns in _EVENT_COLUMNS.items():
        out[name] = made[name].assign(**{c: made[name][c].map(number).astype("Int64") for c in columns})
    return {table.name: table.conform(out[table.name]) for table in tables.REVIEW_TABLES}
