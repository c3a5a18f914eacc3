"""How long do the clock and the match take for a large count, against a bare rapidfuzz pass over the same pairs?

    python tests/bench/bench_match.py [--steps 300] [--lines 20000]

A simulated count with so much other talk that its logs have that many entries. Processor time, the least of some runs. The bare
passes compare every entry with every planned action, since each entry is a candidate for each step: `ratio` is the cheapest
comparison rapidfuzz has, `token_set_ratio` the one a script for this job would use.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from pathlib import Path
from typing import Any

os.environ.setdefault("OMP_NUM_THREADS", "1")

from measure import cpu_s, show

from aftercount import count as counts
from aftercount import logs, match, plan, speech, timeline
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.write import rehearse

SEED = 77
SCENARIO = "heron"
TALK_A_STEP = 34.0  # lines of other talk for a step, of the simulator; raised until there are enough entries


def large_count(scratch: Path, steps: int, lines: int) -> tuple[Any, ...]:
    """The stages before the clock, of a count with at least so many entries (cut to that many)."""
    talk = TALK_A_STEP
    while True:
        folder = Path(scratch, f"talk-{talk:.1f}")
        rehearse(folder, seed=SEED, options=RehearsalOptions(scenario=SCENARIO, steps=steps, chatter=talk, word_error=0.14))
        count, _ = counts.load(folder)
        assert count is not None
        procedure, _ = plan.load(count)
        records, _, sources = logs.read(count)
        if len(records) >= lines:
            break
        talk = max(talk * 2.0, talk * 1.05 * lines / len(records))
    spoken = speech.understand(records, count, procedure)
    return count, procedure, sources, spoken


def bare(texts: list[str], actions: list[str], scorer: Any) -> None:
    from rapidfuzz import process

    for start in range(0, len(texts), 1000):
        process.cdist(texts[start:start + 1000], actions, scorer=scorer)


def main() -> None:
    from rapidfuzz import fuzz

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--steps", type=int, default=300)
    parser.add_argument("--lines", type=int, default=20_000)
    parser.add_argument("--repeat", type=int, default=3)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        count, procedure, sources, spoken = large_count(Path(scratch), asked.steps, asked.lines)
        decisions, _ = counts.load_decisions(count, procedure)
    began = time.process_time()
    clocked = timeline.rebuild(spoken, sources, count, procedure)
    first = time.process_time() - began
    due = plan.due_steps(procedure, count, clocked.clock, clocked.holds, lifted=clocked.outcome == "liftoff")
    t_s, state, passes, sigma = timeline.clock.at(clocked.clock, clocked.utc_us)
    timed = spoken.utterances.assign(utc_us=clocked.utc_us, sigma_s=timeline.against_clock(spoken.utterances, clocked.utc_sigma_s, clocked.sources),
                                     t_s=t_s, state=state, **{"pass": passes}, clock_sigma_s=sigma)
    began = time.process_time()
    match.match(due, timed, procedure, count, decisions)
    first += time.process_time() - began
    texts, actions = timed["text"].tolist(), procedure.table["action"].tolist()
    clock = cpu_s(lambda: timeline.rebuild(spoken, sources, count, procedure), asked.repeat)
    found = cpu_s(lambda: match.match(due, timed, procedure, count, decisions), asked.repeat)
    passes_s = {scorer.__name__: cpu_s(lambda scorer=scorer: bare(texts, actions, scorer), asked.repeat)
                for scorer in (fuzz.ratio, fuzz.token_set_ratio)}
    both = clock + found
    rows = [("clock", f"{clock:.2f} s"), ("match", f"{found:.2f} s"), ("together", f"{both:.2f} s"), ("the first time in a process, with imports", f"{first:.2f} s")]
    rows += [(f"bare {name}", f"{seconds:.2f} s: clock and match are {both / seconds:.2f} times that") for name, seconds in passes_s.items()]
    show(f"{len(actions)} steps, {len(texts)} utterances, {len(texts) * len(actions) / 1e6:.1f} million pairs; processor time", rows)


if __name__ == "__main__":
    main()
