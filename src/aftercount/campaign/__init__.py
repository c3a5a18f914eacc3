"""Many counts: reviewed side by side, compared over a season, and the next one held against them.

    many.py      many count folders -> many review folders
    gather.py    review folders -> one history table, step ids joined across plans (join.py)
    stats.py, control.py, shape.py   the statistics, each with its published check
    trend.py     history -> trend, signals (signals.py), groups, counts
    suggest.py   planned times that never hold -> a plan to consider
    gate.py      one review against a baseline that trend wrote
    folder.py    the trend folder: tables, page, charts
"""
