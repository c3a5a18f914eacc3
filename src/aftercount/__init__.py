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


class _Callable(ModuleType):
    """A module that has the name of its chief function: calling it calls that function."""

    def __call__(self, *args: Any, **options: Any) -> Any:
        name = self.__name__.rpartition(".")[2]
        return getattr(import_module(_HOMES[name]), name)(*args, **options)


class _Package(ModuleType):
    """Importing a submodule hides the function of the same name; so such a submodule is made callable."""

    def __setattr__(self, name: str, value: Any) -> None:
        if name in _HOMES and isinstance(value, ModuleType):
            value.__class__ = _Callable
        super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
