"""Which projected T-0s (Z) and hold times (T) are worth trying for the path?

Every Z that a mark, a resume call or the first word of a planned hold implies, every T at which the count was said, called or planned to hold.
Candidates closer than a fraction of a sigma are one. Seconds after the scheduled T-0.
"""

from __future__ import annotations

import numpy as np

from aftercount.timeline.model import (
    ANY,
    HOLD_CALL,
    HOLDING,
    MARK,
    NEAR_S,
    RESUME_CALL,
    STEP,
    TARGET,
    Field,
    Floats,
    Nodes,
)

GRID_SIGMAS = 0.5  # candidates closer than this many sigmas of the evidence cost next to nothing to confuse
NEAR_MARKS = 12  # a hold call is placed by the Zs of so many marks either side of it
NEAR_NAMED = 3  # and by so many if it names the count itself
OF_A_RUN = 4  # of hold calls in a row so many from either end may be the one that stopped the clock
LATEST_HOLDS = 4  # a resume call may end one of so many holds last spoken of
SHARED_BY, SHARED_SIGMAS = 3, 2.0  # a Z that so many marks (itself one) share, to so many sigmas, is one of counting
WORTH = 2.5  # nats: what costs no more to reject never pays for a hold of its own, since an unseen one is as cheap (Costs.silent)
STEPS_AGREE, AMONG_STEPS = 2, 4  # so many steps among so many in a row that agree on a Z show one that nobody read
AGREE_SIGMAS = 1.5
WHILE_S = 30.0  # who announces a hold does so in one breath
SOON_S = 30.0  # and a hold called so soon after a resume may come before anybody has read the count
REPEAT_S = 4.0  # the same reading again after this long, when it should have moved on, is a hold


def candidates(nodes: Nodes, builtin_t: Floats, builtin_s: Floats, recycles: Floats, resumes: Floats) -> Field:
    """The candidates of these nodes and this plan. recycles, resumes: wall times of such calls."""
    marks = np.flatnonzero(nodes.kind == MARK)
    counting = marks[~(nodes.strict[marks] & (nodes.says[marks] == HOLDING))]
    z = nodes.start[counting] - nodes.t[counting]
    z_sigma = nodes.sigma[counting]
    held, held_sigma, held_at = _held(nodes, marks)
    lone = _lone(nodes, marks)
    near, near_sigma = _called_holds(nodes, counting, z)
    begins = _told_begins(nodes, builtin_t)
    ends = _called_ends(nodes, np.concatenate([held, builtin_t]), np.concatenate([held_at, np.full(len(builtin_t), -np.inf)]))
    targets = _targets(nodes, builtin_t, builtin_s)
    planned = np.array([-builtin_s[builtin_t >= t].sum() for t in np.append(builtin_t, 0.0)])
    read = np.concatenate([z, ends, targets, planned, begins])
    kept, kept_sigma = _by_steps(nodes, read)
    all_z = np.concatenate([read, kept])
    all_z_sigma = np.concatenate([z_sigma, np.ones(len(ends) + len(targets) + len(planned) + len(begins)), kept_sigma])
    again = _held_again(nodes, np.concatenate([held, builtin_t]))
    all_t = np.concatenate([held, nodes.t[lone], near, again, builtin_t])
    all_t_sigma = np.concatenate([held_sigma, nodes.read[lone], near_sigma, np.ones(len(again)), np.full(len(builtin_t), 0.0)])
    return Field(_thin(all_z, all_z_sigma), _thin(all_t, all_t_sigma), builtin_t, builtin_s, np.sort(recycles), np.sort(resumes))


def _by_steps(nodes: Nodes, read: Floats) -> tuple[Floats, Floats]:
    """Zs by which several steps in a row were begun when due, where no other Z is near: the count as the crew went by it, and its sigma.

    Steps come late rather than early, hence the earlier ones of those that agree.
    """
    steps = np.flatnonzero(nodes.kind == STEP)
    z, sigma = nodes.start[steps] - nodes.t[steps], nodes.sigma[steps]
    out, out_sigma = [], []
    for k in range(len(steps)):
        near = np.arange(max(0, k - AMONG_STEPS + 1), min(len(steps), k + AMONG_STEPS))
        mine = near[np.abs(z[near] - z[k]) <= AGREE_SIGMAS * np.hypot(sigma[near], sigma[k])]
        if np.ptp(mine) < AMONG_STEPS and len(mine) >= STEPS_AGREE:
            value = float(np.quantile(z[mine], 0.25))
            if not len(read) or np.abs(read - value).min() > sigma[k]:
                out.append(value)
                out_sigma.append(float(sigma[k]))
    return np.array(out, dtype=float), np.array(out_sigma, dtype=float)


def _held(nodes: Nodes, marks: np.ndarray) -> tuple[Floats, Floats, Floats]:
    """Count times said or stamped in a hold, or given with a hold call, and when."""
    said = marks[nodes.says[marks] == HOLDING]
    called = np.flatnonzero((nodes.kind == HOLD_CALL) & np.isfinite(nodes.t))
    by_t = marks[np.argsort(nodes.t[marks], kind="stable")]
    same = (np.diff(nodes.t[by_t]) <= 0.5) & (np.abs(np.diff(nodes.start[by_t])) >= REPEAT_S)
    resumed = marks[np.isin(nodes.start[marks], nodes.start[nodes.kind == RESUME_CALL])]  # 'picking up the count at T minus nine': where it stood
    which = np.concatenate([said, called, by_t[:-1][same], resumed])
    return nodes.t[which], np.where(nodes.kind[which] == HOLD_CALL, 1.0, nodes.read[which]), nodes.start[which]


def _lone(nodes: Nodes, marks: np.ndarray) -> np.ndarray:
    """Marks that say neither state and whose Z hardly any other shares: they may have been read in a hold."""
    z = nodes.start[marks] - nodes.t[marks]
    order = np.sort(z)
    reach = SHARED_SIGMAS * nodes.sigma[marks]
    fellows = np.searchsorted(order, z + reach, side="right") - np.searchsorted(order, z - reach, side="left")
    worth = nodes.weight[marks] > WORTH
    return marks[(fellows < SHARED_BY) & (nodes.says[marks] == ANY) & ~nodes.strict[marks] & worth]


def _called_holds(nodes: Nodes, marks: np.ndarray, z: Floats) -> tuple[Floats, Floats]:
    """Where the count stood at each hold call, by the marks near it, of which a few good ones are enough."""
    out = []
    good = nodes.weight[marks] > WORTH
    if good.sum() >= NEAR_MARKS:
        marks, z = marks[good], z[good]
    for i in _telling(nodes):
        at = int(np.searchsorted(marks, i))
        near = NEAR_NAMED if np.isfinite(nodes.t[i]) else NEAR_MARKS
        out.append(nodes.start[i] - z[max(0, at - near):at + near])
    t = np.concatenate(out) if out else np.zeros(0)
    return t, np.full(len(t), 1.0)


def _telling(nodes: Nodes) -> np.ndarray:
    """The hold calls that may tell of a hold of their own, not of one already called.

    Not those that name the count of the call before (a count that a call names is its own, or that of the reading beside it), and of
    many with no reading of a running count and no resume between only the first and the last few: a log that repeats its state tells one hold.
    """
    calls = np.flatnonzero((nodes.kind == HOLD_CALL) & (nodes.weight > WORTH))
    held = np.flatnonzero((nodes.kind == MARK) & (nodes.says == HOLDING))
    beside = held[np.minimum(np.searchsorted(nodes.start[held], nodes.start[calls]), len(held) - 1)] if len(held) else calls
    named = np.where(np.isfinite(nodes.t[calls]) | (nodes.start[beside] != nodes.start[calls]), nodes.t[calls], nodes.t[beside])
    calls = calls[~(np.abs(np.diff(named, prepend=np.nan)) <= NEAR_S)]
    runs = np.cumsum((nodes.kind == RESUME_CALL) | ((nodes.kind == MARK) & (nodes.says != HOLDING)))[calls]
    first = np.arange(len(runs)) - np.searchsorted(runs, runs, side="left")
    last = np.searchsorted(runs, runs, side="right") - 1 - np.arange(len(runs))
    return calls[(first < OF_A_RUN) | (last < OF_A_RUN)]


def _held_again(nodes: Nodes, held: Floats) -> Floats:
    """Where the count stood at a hold call that came so soon after a resume call that nobody read it between: so many seconds past the hold before."""
    out = []
    resumes = nodes.start[nodes.kind == RESUME_CALL]
    for u in nodes.start[(nodes.kind == HOLD_CALL) & (nodes.weight > WORTH)].tolist():
        ran = u - resumes[(resumes < u) & (resumes >= u - SOON_S)]
        out.append((np.unique(held)[:, None] + ran[None, :]).ravel())
    return np.concatenate(out) if out else np.zeros(0)


def _called_ends(nodes: Nodes, held: Floats, held_at: Floats) -> Floats:
    """Z when the count resumes at a resume call from a hold last spoken of before it, or a planned one."""
    out = []
    for i in np.flatnonzero(nodes.kind == RESUME_CALL):
        before = np.flatnonzero(np.isfinite(held_at) & (held_at <= nodes.start[i]))
        latest = before[np.argsort(held_at[before], kind="stable")][-LATEST_HOLDS:]
        out.append(nodes.start[i] - np.concatenate([held[latest], held[~np.isfinite(held_at)]]))
    return np.concatenate(out) if out else np.zeros(0)


def _told_begins(nodes: Nodes, builtin_t: Floats) -> Floats:
    """Z if a planned hold began as it was first spoken of for a while."""
    out = []
    told = (nodes.kind == HOLD_CALL) | ((nodes.kind == MARK) & (nodes.says == HOLDING))
    told &= nodes.weight > WORTH
    for t in builtin_t:
        named = nodes.start[told & (~np.isfinite(nodes.t) | (np.abs(nodes.t - t) <= NEAR_S))]
        out.append(named[np.diff(named, prepend=-np.inf) >= WHILE_S] - t)
    return np.concatenate(out) if out else np.zeros(0)


def _targets(nodes: Nodes, builtin_t: Floats, builtin_s: Floats) -> Floats:
    """Z under each announced T-0, with the planned holds from there on still to come."""
    told = nodes.t[nodes.kind == TARGET]
    left = np.array([builtin_s[builtin_t >= t].sum() for t in builtin_t] + [0.0])
    return np.unique((told[:, None] - left[None, :]).ravel())


def _thin(values: Floats, sigma: Floats) -> Floats:
    """Sorted, without those within GRID_SIGMAS of one already taken; exact ones (sigma 0) are taken first."""
    order = np.lexsort((values, sigma > 0))
    exact = values[order][: int((sigma == 0).sum())]
    rest = np.argsort(values, kind="stable")
    out: list[float] = []
    for v, s in zip(values[rest].tolist(), sigma[rest].tolist(), strict=True):
        if s and len(exact) and np.abs(exact - v).min() < max(GRID_SIGMAS * s, 2 * NEAR_S):
            continue
        if (s == 0 or not out or v - out[-1] >= GRID_SIGMAS * s) and (not out or v > out[-1]):
            out.append(v)
    return np.array(out)
