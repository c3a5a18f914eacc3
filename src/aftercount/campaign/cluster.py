"""Counts sent to a Dask scheduler: the same work as on this machine, in the cluster's workers.

Inputs and outputs go by the same paths, so each worker must be able to reach them (a shared disk, or an object store), and
have the same version of aftercount. A count whose worker is lost is given to another by the scheduler; its review is put in
place whole by whoever finishes it, so nothing is left of the first attempt. Needs the extra `[cluster]`.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from aftercount.campaign import places
from aftercount.campaign.work import CountResult, Work, failed, review_one
from aftercount.errors import AftercountError, UsageError

# Long enough for a scheduler that is just starting, short enough for a person who mistyped the address, seconds.
CONNECT_S = 10
# Charts are drawn with process-wide state: a worker with several threads takes one count at a time.
_ONE_AT_A_TIME = threading.Lock()


def reviewed(work: dict[int, Work], address: str) -> Iterator[tuple[int, CountResult]]:
    """The results as they come. Raises UsageError without the extra, AftercountError when the scheduler cannot be reached."""
    if not work:
        return
    try:
        from distributed import Client, as_completed
    except ImportError as lacking:
        raise UsageError(f"--scheduler needs the extra [cluster]: pip install 'aftercount[cluster]' ({lacking.name} is not installed)") from lacking
    with _connected(Client, address) as client:
        futures = {client.submit(_on_worker, _anywhere(one), pure=False): number for number, one in work.items()}
        for future in as_completed(futures, loop=client.loop):
            yield futures[future], _result(future, work[futures[future]])


def _connected(client: Any, address: str) -> Any:
    try:
        return client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as fault:
        raise AftercountError(f"no Dask scheduler answers at {address}: {places.first_line(fault)}") from fault


def _anywhere(one: Work) -> Work:
    """The work with paths that do not depend on the folder that this process runs in."""
    folder, out = (path if places.is_remote(path) else str(places.local(path).absolute()) for path in (one.folder, one.out))
    return replace(one, folder=folder, out=out)


def _on_worker(one: Work) -> CountResult:
    with _ONE_AT_A_TIME:
        return review_one(one)


def _result(future: Any, one: Work) -> CountResult:
    """The result under the paths that were given, or what became of it instead."""
    try:
        made = future.result()
    except Exception as fault:  # whatever went wrong on the way: a worker lost too often, or without this package
        return failed(one.folder, "worker-failed", f"no worker of the cluster could review it: {type(fault).__name__}: {places.first_line(fault)}")
    return replace(made, folder=one.folder, out=None if made.out is None else one.out)
