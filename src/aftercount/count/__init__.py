"""The count folder: what this count was, which plan, which logs, and what a reviewer has settled by hand.

    model.py      the checked result: CountFolder, LogSpec
    document.py   count.toml with the line of every key, and suggestions for misspelt ones
    settings.py   [count]: id, times, zone, tolerances, plan
    logfiles.py   [[log]] entries, or every known file of the folder
    names.py      [stations], [glossary], [authority]
    folder.py     all of it together: load()
    decisions.py  decisions.csv: load_decisions()
"""

from aftercount.count.decisions import load_decisions
from aftercount.count.folder import load
from aftercount.count.model import CountFolder, LogSpec

__all__ = ["CountFolder", "LogSpec", "load", "load_decisions"]
