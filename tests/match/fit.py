"""Fits the constants of aftercount.match.weights by logistic regression on simulated counts, and prints that module's tables.

    python tests/match/fit.py [--counts N] [--cache DIR] [--write]

Fitted on the fitting scenarios alone, seeds 0..N-1. Each table on the outcome of the ones before: a pair's own signs (OWN), what other
utterances add (ALL), bare answers (BARE), which of several doings was first (FIRST), how sure a step's verdict is (DONE, VERDICT, UNSEEN), and
which talk is a step that no words show (EXCHANGE). L2-penalised, so that a rare sign keeps a small weight.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).parents[1]))

from aftercount.findings import judging
from aftercount.findings.heard import Heard
from aftercount.match import doubt, engine, exchanges, firsts, verdicts, weights
from aftercount.match.moments import Thread, begun
from aftercount.rehearse.scenario import FITTING
from match.corpus import Case, cases, spread

PENALTY = 1.0  # L2, in units of one example: small against tens of thousands
CLOCK_GOOD_S = 10.0  # seconds: error of the rebuilt due times up to which a count is fitted on
REACH_SLACK = 0.03  # share of the steps reached that the clock may have wrong by a step at a pass's end
CLOCK_SHARE = 0.9  # of the due times, those that must be so good
# What simulated counts can't teach, since they hardly have it: steps named by their ids, lines without any time, a plain 'complete', and lines that say the
# opposite of a step with no step of the plan that they fit instead: these must never pass (of the lines that do carry a step 5 in 1000 seem to contradict it, half of
# them slips of the tongue). Near misses are few, and taking one for the step is the worse error. Of a short word that garbled talk may have
# for another the fit makes nothing; that it may be meant is worth a little. Bounds (least, most) in nats.
STATED = {"id_same": (9.0, 9.0), "id_other": (-4.0, -4.0), "no_time": (-2.5, -2.5), "says_done": (3.0, 3.0), "conflict": (-14.0, -11.0),
          "not_done": (-14.0, -11.0), "not_now": (-18.0, -16.0), "about": (-12.0, -3.0), "misheard": (-0.5, -0.5)}
# Simulated people keep time to the second where nothing is amiss, real ones do not: that a line was said within seconds of due, rather than within a minute,
# may be worth no more than this.
# Talk about a thing is no better than plain words for having been its first doing.
STATED_OF = {"OWN": {"close": (-0.1, 0.0), "distance": (-1.2, 0.0)}, "FIRST": {"talk": (-8.0, 0.0)}}
WIDTH = 120  # characters of a line of weights.py
AMBIGUOUS = -1  # label of a pair that is neither right nor wrong: another sentence of the line that carries the step


def clock_error_s(case: Case) -> float:
    """Error of the due times (quantile CLOCK_SHARE), but for an offset common to all, which one log alone can't show. Infinite where
    the steps reached are not the true ones. The match is fitted on counts whose clock was found, so that time keeps its worth."""
    true = {(s["step"], int(s["pass"])): s["due_utc"] for s in case.truth["steps"] if s.get("due_utc")}
    rows = case.due[case.due["reached"]]
    mine = dict(zip(zip(rows["step"].tolist(), rows["pass"].tolist(), strict=True), rows["due_utc"].tolist(), strict=True))
    if len(set(mine) ^ set(true)) > REACH_SLACK * len(true):
        return float("inf")
    errors = np.array([(mine[key] - pd.Timestamp(true[key])).total_seconds() for key in sorted(set(mine) & set(true))])
    return float(np.quantile(np.abs(errors - np.median(errors)), CLOCK_SHARE))


def labels(case: Case, scored: engine.Scored) -> np.ndarray:
    """1: the utterance's line carries the step and no other sentence of it fits better; 0: it doesn't; AMBIGUOUS."""
    source, line = case.timed["source"].tolist(), case.timed["line"].tolist()
    steps = list(zip(case.due["step"].tolist(), case.due["pass"].tolist(), strict=True))
    out = np.zeros(len(scored.u), dtype=np.int64)
    best: dict[tuple[str, int, int], int] = {}
    for i in np.lexsort((np.arange(len(scored.u)), -scored.own_logit)).tolist():
        place = (source[scored.u[i]], int(line[scored.u[i]]))
        step = steps[scored.d[i]]
        if any((s, p) == step for s, p, _ in case.carried.get(place, ())):
            first = best.setdefault((*place, int(scored.d[i])), i) == i
            out[i] = 1 if first else AMBIGUOUS
    return out


def logistic(x: np.ndarray, y: np.ndarray, names: tuple[str, ...], stated: dict[str, tuple[float, float]]) -> dict[str, float]:
    """Weights of the penalised logistic regression of y on x, within what is stated; the bias is not penalised."""
    free = np.array([name != "bias" for name in names], dtype=float)

    def loss(w: np.ndarray) -> tuple[float, np.ndarray]:
        z = x @ w
        p = 1.0 / (1.0 + np.exp(-z))
        value = np.sum(np.logaddexp(0, z) - y * z) + 0.5 * PENALTY * np.sum(free * w * w)
        return float(value), x.T @ (p - y) + PENALTY * free * w

    bounds = [stated.get(name, (None, None)) for name in names]
    start = np.array([stated.get(name, (0.0, 0.0))[1] for name in names])
    found = minimize(loss, start, jac=True, method="L-BFGS-B", bounds=bounds, options={"maxiter": 2000})
    return {name: round(float(v), 3) for name, v in zip(names, found.x, strict=True)}


Examples = tuple[np.ndarray, np.ndarray]  # rows of signs, and which are right
Take = Callable[[Case, engine.Scored], Examples]
Worded = tuple[Case, engine.Worded]  # what is said and planned, compared word by word once for all stages


OWNED = 300  # counts whose people have words of their own, with as many faults, from which it is learnt, beside the others, what talk alone shows
FAULTY, MORE = 3.0, 200  # a step is seldom done twice: which doing was first is learnt from so many more counts, with so many times the usual faults


def gather(made: list[Worded], takes: Sequence[Take]) -> list[Examples]:
    """The examples of every count, by each of `takes`, from one scoring of it."""
    taken: list[list[Examples]] = [[] for _ in takes]
    for case, words in made:
        scored = engine.score(case.due, case.timed, case.plan, case.count, case.decisions, words)
        for kept, take in zip(taken, takes, strict=True):
            kept.append(take(case, scored))
    return [(np.concatenate([x for x, _ in kept]), np.concatenate([y for _, y in kept])) for kept in taken]


def own_examples(case: Case, scored: engine.Scored) -> Examples:
    y = labels(case, scored)
    use = (y >= 0) & ~scored.bare
    return scored.own[use], y[use]


def context_examples(case: Case, scored: engine.Scored) -> Examples:
    y = labels(case, scored)
    use = (y >= 0) & ~scored.bare
    return scored.context[use], y[use]


def bare_examples(case: Case, scored: engine.Scored) -> Examples:
    """Answers and whether their line carries the step as a response or report."""
    source, line = case.timed["source"].tolist(), case.timed["line"].tolist()
    steps = list(zip(case.due["step"].tolist(), case.due["pass"].tolist(), strict=True))
    y = [any((s, p) == steps[d] for s, p, _ in case.carried.get((source[u], int(line[u])), ()))
         for u, d in zip(scored.answers.u.tolist(), scored.answers.d.tolist(), strict=True)]
    return scored.answers.features, np.array(y, dtype=np.int64)


def first_examples(case: Case, scored: engine.Scored) -> Examples:
    """Of a step with several threads, by how much the figures of its first doing are more than those of each other one."""
    carried: dict[tuple[str, int, str, int], set[int]] = {}
    for line in case.truth["lines"]:
        if line["step"] is not None and not line["near_miss"]:
            for number in range(line["line"], (line["line_end"] or line["line"]) + 1):
                carried.setdefault((line["source"], number, line["step"], line["pass"]), set()).add(line["seen"])
    source, at_line, when = case.timed["source"].tolist(), case.timed["line"].tolist(), scored.said.utc_s
    xs = [np.zeros((0, len(firsts.FEATURES)))]
    for _, key, found in _steps(case, scored):
        first = [t for t in found if any(1 in carried.get((source[u], int(at_line[u]), *key), ()) for u in scored.u[list(t.members)].tolist())]
        if first and len(found) > 1:
            true = found.index(min(first, key=lambda t: when[scored.u[begun(t)]]))
            rows = firsts.figures(found, scored)
            xs.append(rows[true] - np.delete(rows, true, axis=0))
    x = np.concatenate(xs)
    return x, np.ones(len(x), dtype=np.int64)


def _steps(case: Case, scored: engine.Scored) -> Iterator[tuple[int, tuple[str, int], list[Thread]]]:
    """(row of DUE, its step and pass, what is taken for it) of the steps reached."""
    found = verdicts.found_threads(scored, engine.choose(scored), scored.logit)
    keys = zip(case.due["step"].tolist(), case.due["pass"].tolist(), strict=True)
    return ((d, key, found[d]) for d, key in enumerate(keys) if scored.planned.reached[d])


def _done(case: Case) -> set[tuple[str, int]]:
    return {(s["step"], int(s["pass"])) for s in case.truth["steps"] if s["status"] == "done"}


def done_examples(case: Case, scored: engine.Scored) -> Examples:
    """A step for which something was taken: was it done at all."""
    start, done = np.searchsorted(scored.d, np.arange(len(case.due) + 1)), _done(case)
    xs, ys, steps = [np.zeros((0, len(doubt.SEEN)))], [], list(_steps(case, scored))
    logs = doubt.Logs.of(scored, [found for _, _, found in steps])
    for d, key, found in steps:
        if found:
            xs.append(doubt.of_seen(scored, found, np.arange(start[d], start[d + 1]), np.array([begun(found[0])]), logs))
            ys.append(key in done)
    return np.concatenate(xs), np.array(ys, dtype=np.int64)


def begun_examples(case: Case, scored: engine.Scored) -> Examples:
    """A step that is believed done: did the line that the findings say began it do so."""
    matched = engine.Matched(*verdicts.tables(case.due, case.timed, scored, engine.choose(scored)))
    heard = Heard(case.timed)
    facts, times = judging.begun(case.due, matched, heard, case.timeline, case.plan, case.count, case.decisions)
    start, row_of = np.searchsorted(scored.d, np.arange(len(case.due) + 1)), {e: i for i, e in enumerate(case.timed["utterance"].tolist())}
    xs, ys, steps = [np.zeros((0, len(doubt.SEEN)))], [], list(_steps(case, scored))
    logs = doubt.Logs.of(scored, [found for _, _, found in steps])
    for d, key, found in steps:
        what = times[d].begun
        own = np.arange(start[d], start[d + 1])
        if facts[d].seen and what is not None and found and (scored.u[own] == row_of[what.event]).any():  # talk that shows a step is no pair of it
            found = verdicts.likeliest(scored, found, own, logs)
            xs.append(doubt.of_seen(scored, found, own, own[scored.u[own] == row_of[what.event]][:1], logs))
            ys.append(any((s, p) == key for s, p, _ in case.carried.get((what.source, what.line), ())))
    return np.concatenate(xs), np.array(ys, dtype=np.int64)


def unseen_examples(case: Case, scored: engine.Scored) -> Examples:
    """A step for which nothing was taken, and whether it was done after all."""
    start, done, steps = np.searchsorted(scored.d, np.arange(len(case.due) + 1)), _done(case), list(_steps(case, scored))
    seen = np.zeros(len(case.due), dtype=bool)
    seen[[d for d, _, found in steps if found]] = True
    used = doubt.used(scored, [found for _, _, found in steps])
    absent = [(d, key) for d, key, found in steps if not found]
    xs = [doubt.of_unseen(scored, d, np.arange(start[d], start[d + 1]), seen, used) for d, _ in absent]
    return np.array(xs).reshape(-1, len(doubt.UNSEEN)), np.array([key in done for _, key in absent], dtype=np.int64)


def exchange_examples(case: Case, scored: engine.Scored) -> Examples:
    """A step that no words show and a talk that is no other step's: is it what was said of the step."""
    source, line = case.timed["source"].tolist(), case.timed["line"].tolist()
    keys = list(zip(case.due["step"].tolist(), case.due["pass"].tolist(), strict=True))
    judged = verdicts.by_words(scored, verdicts.found_threads(scored, engine.choose(scored), scored.logit))
    known = exchanges.find(scored, judged.found, judged.confidence)
    y = [any((s, p) == keys[d] for u in known.talks[k].members for s, p, _ in case.carried.get((source[u], int(line[u])), ()))
         for d, k in zip(known.d.tolist(), known.talk.tolist(), strict=True)]
    return known.figures, np.array(y, dtype=np.int64)


FIRSTS = (("FIRST", weights.FIRST, first_examples),)
EXCHANGES = (("EXCHANGE", weights.EXCHANGE, exchange_examples),)
# Tables fitted side by side on one scoring; each stage on the outcome of the ones before.
STAGES: tuple[tuple[tuple[str, dict[str, float], Take], ...], ...] = (
    (("OWN", weights.OWN, own_examples),), (("ALL", weights.ALL, context_examples),), (("BARE", weights.BARE, bare_examples),),
    FIRSTS, (("DONE", weights.DONE, done_examples), ("UNSEEN", weights.UNSEEN, unseen_examples)), (("VERDICT", weights.VERDICT, begun_examples),),
    EXCHANGES,
)


def as_text(name: str, table: dict[str, float]) -> str:
    lines, line = [], "   "
    for feature, value in table.items():
        item = f' "{feature}": {value:g},'
        if len(line) + len(item) > WIDTH:
            lines.append(line)
            line = "   "
        line += item
    return f"{name}: dict[str, float] = {{\n" + "\n".join([*lines, line]) + "\n}\n"


def write(tables: dict[str, dict[str, float]]) -> None:
    """Put the tables into weights.py, below its header."""
    file = Path(weights.__file__)
    header = file.read_text().split("OWN: dict", 1)[0]
    file.write_text(header + "".join(as_text(name, table) for name, table in tables.items()))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--counts", type=int, default=500)
    parser.add_argument("--cache", type=Path)
    parser.add_argument("--write", action="store_true", help="put the tables into weights.py instead of printing them")
    given = parser.parse_args()
    seeds = range(given.counts), range(given.counts, given.counts + MORE), range(given.counts + MORE, given.counts + MORE + OWNED)
    specs = spread(tuple(FITTING), seeds[0]), spread(tuple(FITTING), seeds[1], FAULTY), spread(tuple(FITTING), seeds[2], FAULTY, own=True)
    made, faulty, owned = ([(c, engine.worded(c.timed, c.plan, c.count)) for c in cases(some, given.cache) if clock_error_s(c) <= CLOCK_GOOD_S] for some in specs)
    tables: dict[str, dict[str, float]] = {}
    for stage in STAGES:
        learnt = made + faulty if stage is FIRSTS else owned + faulty + made if stage is EXCHANGES else made
        for (name, table, _), (x, y) in zip(stage, gather(learnt, [take for _, _, take in stage]), strict=True):
            table.update(logistic(x, y, tuple(table), STATED | STATED_OF.get(name, {})))
            print(f"# {name}: {len(y)} examples of {len(learnt)} counts, {int(y.sum())} of them right", flush=True)
            tables[name] = table
    if given.write:
        write(tables)
    else:
        print("".join(as_text(name, table) for name, table in tables.items()))


if __name__ == "__main__":
    main()
