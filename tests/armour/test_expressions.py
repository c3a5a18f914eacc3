"""No regular expression of the package may need more than about linear time: a log must not be able to stop the tool.

Every expression is found by itself, so that a new one cannot be left out: those that a module holds (alone or in a container), and
those written inside a call of `re`. For each repeat in one, a text is made that brings the engine there and then repeats what it
repeats, and ends so that nothing matches. A text that a linear engine is done with in a millisecond gets several hundred of CPU time.
"""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

import aftercount

# Characters, as many as the longest entry that is read. Quadratic time on it is two hundred million steps, more than CPU_S allows; linear time a millisecond.
LONG = 20_000
CPU_S = 0.5
# Expressions put together when they are needed, from parts of fixed length; the file and why it is harmless.
PUT_TOGETHER = {
    "logs/walltime.py": "a constant of the module, which `held` does not see: names of months, no repeat without a bound",
    "rehearse/phrasing.py": "words of a scenario that we wrote; the simulator reads no log",
    "rehearse/typed.py": "words of a scenario that we wrote; the simulator reads no log",
}
METHODS = ("match", "fullmatch", "search", "sub", "subn", "split", "findall", "finditer")
ENDS = ("\x00", " !", "\n:")
PARSER: Any = importlib.import_module("re._parser")


def modules() -> list[Any]:
    found = [m.name for m in pkgutil.walk_packages(aftercount.__path__, "aftercount.")]
    return [importlib.import_module(name) for name in found if not name.endswith("__main__")]


def held(value: Any, depth: int = 0) -> Iterator[re.Pattern[Any]]:
    """Every compiled expression in a value of a module."""
    if isinstance(value, re.Pattern):
        yield value
    elif isinstance(value, dict) and depth < 3:
        yield from (p for item in (*value, *value.values()) for p in held(item, depth + 1))
    elif isinstance(value, (list, tuple, set, frozenset)) and depth < 3:
        yield from (p for item in value for p in held(item, depth + 1))


def written() -> Iterator[tuple[str, str, str | bytes | None]]:
    """(place, method, expression) of every call of `re` in the source; None where it is not written out in the call."""
    root = Path(aftercount.__path__[0])
    for file in sorted(root.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name)
                    and node.func.value.id == "re" and node.func.attr not in ("escape", "compile") and node.args):
                first = node.args[0]
                text = first.value if isinstance(first, ast.Constant) and isinstance(first.value, (str, bytes)) else None
                yield f"{file.relative_to(root)}:{node.lineno}", node.func.attr, text


def used() -> dict[tuple[str, str], set[str]]:
    """By module and name of an expression, the methods that are called on it there or where it is imported."""
    found: dict[tuple[str, str], set[str]] = {}
    for module in modules():
        tree = ast.parse(Path(module.__file__).read_text(encoding="utf-8"))
        home = {alias.asname or alias.name: str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) for alias in node.names}
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.attr in METHODS:
                found.setdefault((home.get(node.value.id, module.__name__), node.value.id), set()).add(node.attr)
    return found


def expressions() -> dict[str, tuple[re.Pattern[Any], frozenset[str]]]:
    """By place, every expression of the package and how it is used; in any way, where that is not plain."""
    out: dict[tuple[Any, int], tuple[str, re.Pattern[Any], frozenset[str]]] = {}
    methods = used()
    for module in modules():
        for name, value in vars(module).items():
            for number, pattern in enumerate(held(value)):
                ways = methods.get((module.__name__, name), set())
                out.setdefault((pattern.pattern, pattern.flags), (f"{module.__name__}.{name}[{number}]", pattern, frozenset(ways or METHODS)))
    for place, method, text in written():
        if text is not None:
            pattern = re.compile(text)
            out.setdefault((pattern.pattern, pattern.flags), (place, pattern, frozenset([method])))
    return {place: (pattern, ways) for place, pattern, ways in out.values()}


def least(items: Any, groups: dict[int, str]) -> str:
    """A short text that a parsed expression matches, as far as that can be told without trying."""
    return "".join(_least(op, value, groups) for op, value in items)


def _least(op: Any, value: Any, groups: dict[int, str]) -> str:
    name = str(op)
    if name == "LITERAL":
        return chr(value)
    if name == "NOT_LITERAL":
        return "a" if value != ord("a") else "b"
    if name == "ANY":
        return "a"
    if name == "IN":
        return _member(value)
    if name == "CATEGORY":
        return _category(value)
    if name == "BRANCH":
        return least(value[1][0], groups)
    if name in ("MAX_REPEAT", "MIN_REPEAT", "POSSESSIVE_REPEAT"):
        return least(value[2], groups) * value[0]
    if name == "SUBPATTERN":
        groups[value[0]] = text = least(value[3], groups)
        return text
    if name == "ATOMIC_GROUP":
        return least(value, groups)
    if name == "GROUPREF":
        return groups.get(value, "")
    return ""


def _category(value: Any) -> str:
    return {"CATEGORY_DIGIT": "1", "CATEGORY_SPACE": " ", "CATEGORY_WORD": "a", "CATEGORY_NOT_DIGIT": "a", "CATEGORY_NOT_SPACE": "a",
            "CATEGORY_NOT_WORD": "-"}[str(value)]


def _member(items: Any) -> str:
    negated = any(str(op) == "NEGATE" for op, _ in items)
    for op, value in items:
        if str(op) == "LITERAL" and not negated:
            return chr(value)
        if str(op) == "RANGE" and not negated:
            return chr(value[0])
        if str(op) == "CATEGORY" and not negated:
            return _category(value)
    barred = {v for op, v in items if str(op) == "LITERAL"} | {c for op, v in items if str(op) == "RANGE" for c in range(v[0], v[1] + 1)}
    return next(c for c in "a1 -~\u00e9" if ord(c) not in barred)


def attacks(items: Any, before: str = "") -> Iterator[tuple[str, str]]:
    """(what leads to a repeat, what it repeats) for each repeat that may go on for long."""
    groups: dict[int, str] = {}
    for op, value in items:
        name = str(op)
        if name in ("MAX_REPEAT", "MIN_REPEAT", "POSSESSIVE_REPEAT"):
            unit = least(value[2], groups)
            if value[1] > 50 and unit:
                yield before, unit
            yield from attacks(value[2], before)
        elif name == "SUBPATTERN":
            yield from attacks(value[3], before)
        elif name == "ATOMIC_GROUP":
            yield from attacks(value, before)
        elif name == "BRANCH":
            for branch in value[1]:
                yield from attacks(branch, before)
        before += _least(op, value, groups)


@contextmanager
def limit(what: str) -> Iterator[None]:
    def stop(*_: object) -> None:
        raise AssertionError(f"more than {CPU_S} s of CPU: {what}")

    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, CPU_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def test_expressions_are_written_where_they_can_be_found() -> None:
    places = {place.rsplit(":", 1)[0] for place, _, text in written() if text is None}
    assert places == set(PUT_TOGETHER), "compile it in the module, or say here why it is harmless"


def attack(name: str, pattern: re.Pattern[Any], ways: frozenset[str]) -> None:
    """Every attack, by the method that tries most of those by which the expression is used."""
    tree = PARSER.parse(pattern.pattern, pattern.flags & ~re.DEBUG)
    tries = [pattern.search if ways - {"match", "fullmatch"} else pattern.match] if ways != {"fullmatch"} else []
    tries += [pattern.fullmatch] if "fullmatch" in ways else []
    for before, unit in sorted(set(attacks(tree)))[:60]:
        for end in ENDS:
            text = (before + unit * (LONG // len(unit)))[:LONG] + end
            with limit(f"{name} {pattern.pattern[:80]!r} on {before[:20]!r} + {unit!r} * n + {end!r}"):
                for attempt in tries:
                    attempt(text)


@pytest.mark.parametrize("bad", [r"(a+)+b", r"(?:a|aa)*b", r"\s*x", r"(\d+)*x"])
def test_the_attack_is_one(bad: str) -> None:
    """The same on expressions known to be bad stops them."""
    with pytest.raises(AssertionError, match="more than"):
        attack("bad", re.compile(bad), frozenset(["search"]))


def test_every_expression_is_linear() -> None:
    found = expressions()
    assert len(found) > 100
    slow = []
    for name, (pattern, ways) in found.items():
        try:
            attack(name, pattern if isinstance(pattern.pattern, str) else re.compile(pattern.pattern.decode("latin-1")), ways)
        except AssertionError as fault:
            slow.append(str(fault))
    assert slow == []
