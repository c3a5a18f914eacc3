"""aftercount: after-action review of a launch count.

Public names are loaded on first use, so that importing the package stays quick.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import Any

__version__ = "0.1.0"

_HOMES = {
    "review": "aftercount.review",
    "Review": "aftercount.review",
    "check": "aftercount.review",
    "explain": "aftercount.review",
    "rehearse": "aftercount.rehearse.write",
    "score": "aftercount.score",
    "Problem": "aftercount.errors",
    "AftercountError": "aftercount.errors",
    "InputError": "aftercount.errors",
    "UsageError": "aftercount.errors",
}

__all__ = ["__version__", *_HOMES]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'aftercount' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)


class _Package(ModuleType):
    """Keeps the names of functions that share theirs with a submodule: importing the submodule must not hide them."""

    def __setattr__(self, name: str, value: Any) -> None:
        if not (name in _HOMES and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
