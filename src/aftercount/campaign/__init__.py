"""Many counts: reviewed side by side, compared over a season, and the next one held against them.

    many.py      many count folders -> many review folders
    gather.py    review folders -> one history table, step ids joined across plans (join.py)
    stats.py, control.py, shape.py   the statistics, each with its published check
    levels.py, spreads.py, expect.py   what a step's next value is expected to be, from all steps' records
    scores.py, changes.py   each value against the counts before it; changes of level
    trend.py     history -> trend, signals (signals.py), control, groups, counts
    suggest.py   planned times that never hold -> a plan to consider
    gate.py      one review against a baseline that trend wrote (later.py, overall.py, verdict.py)
    folder.py    the trend folder: tables, page, charts
"""
