"""The planned procedure, and which of its steps are due in which pass.

    model.py     the checked result: Plan
    cells.py     plan.csv or plan.xlsx -> header and rows of texts, with lines
    rows.py      one row -> one step, every fault with its line
    checks.py    what only the whole plan shows: duplicate ids, unknown or circular `after`, holds
    reading.py   all of it together: load()
    schedule.py  count time -> planned wall time, built-in holds included
    due.py       the steps due in each pass, by the clock as it ran
"""

from aftercount.plan.due import due_steps
from aftercount.plan.model import Plan
from aftercount.plan.reading import load
from aftercount.plan.schedule import Scheduled, schedule_utc

__all__ = ["Plan", "Scheduled", "due_steps", "load", "schedule_utc"]
