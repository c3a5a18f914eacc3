"""Which steps really were out of order, by a slow and obvious method of its own.

Two steps conflict when they were begun the other way round than planned and their planned times are further apart than their
tolerances allow. The displaced steps are those outside a largest conflict-free set; where several such sets exist, or where the
reading of 'within tolerance' matters, the step is `ambiguous`. It does not look at `after` pairs.
"""

from __future__ import annotations

from dataclasses import dataclass

MARGIN_S = 3.0        # begun closer together than this: who was first is anybody's guess
BRUTE_FORCE_SIZE = 12  # conflict groups up to this are searched whole


@dataclass(frozen=True)
class Placed:
    key: int
    planned_s: float
    actual_s: float
    early_s: float
    late_s: float


def displaced(steps: list[Placed]) -> dict[int, tuple[bool, bool]]:
    """key -> (out of order, ambiguous)."""
    views = [_view(_conflicts(steps, loose, margin)) for loose in (False, True) for margin in (0.0, MARGIN_S)]
    out = {}
    for s in steps:
        said = {view.get(s.key, "in") for view in views}
        out[s.key] = ("out" in said and said <= {"out"}, len(said) > 1 or "either" in said)
    return out


def _conflicts(steps: list[Placed], loose: bool, margin: float) -> dict[int, set[int]]:
    edges: dict[int, set[int]] = {}
    ranked = sorted(steps, key=lambda s: (s.planned_s, s.key))
    for i, a in enumerate(ranked):
        for b in ranked[i + 1:]:
            allowed = a.late_s + b.early_s if loose else min(a.late_s, b.early_s)
            if b.planned_s - a.planned_s > allowed and a.actual_s > b.actual_s + margin:
                edges.setdefault(a.key, set()).add(b.key)
                edges.setdefault(b.key, set()).add(a.key)
    return edges


def _view(edges: dict[int, set[int]]) -> dict[int, str]:
    out: dict[int, str] = {}
    waiting = set(edges)
    while waiting:
        group = _group(min(waiting), edges)
        waiting -= group
        out.update(_group_view(sorted(group), edges))
    return out


def _group(first: int, edges: dict[int, set[int]]) -> set[int]:
    found, fresh = {first}, [first]
    while fresh:
        for other in edges[fresh.pop()]:
            if other not in found:
                found.add(other)
                fresh.append(other)
    return found


def _group_view(keys: list[int], edges: dict[int, set[int]]) -> dict[int, str]:
    if len(keys) > BRUTE_FORCE_SIZE:
        return _greedy_view(keys, edges)
    against = [sum(1 << j for j, other in enumerate(keys) if other in edges[key]) for key in keys]
    best, common, ever = -1, 0, 0
    for mask in range(1 << len(keys)):
        size = mask.bit_count()
        if size < best or any(mask >> i & 1 and mask & against[i] for i in range(len(keys))):
            continue
        if size > best:
            best, common, ever = size, mask, mask
        common, ever = common & mask, ever | mask
    return {k: "in" if common >> i & 1 else "either" if ever >> i & 1 else "out" for i, k in enumerate(keys)}


def _greedy_view(keys: list[int], edges: dict[int, set[int]]) -> dict[int, str]:
    """Large groups come from one step that passed many: take the most conflicting out until nothing conflicts."""
    left = {k: set(edges[k]) for k in keys}
    out = dict.fromkeys(keys, "in")
    while any(left.values()):
        worst = max(left, key=lambda k: (len(left[k]), k))
        ties = [k for k in left if len(left[k]) == len(left[worst])]
        out[worst] = "out" if len(ties) == 1 and len(left[worst]) > 1 else "either"
        for other in left.pop(worst):
            left[other].discard(worst)
            if out[worst] == "either":
                out[other] = "either"
    return out
