"""Which points of a cluster are past their time limit, and what ends the worker that has them?"""

from __future__ import annotations

import queue
import threading
import time
import uuid
from contextlib import suppress
from typing import Any, Final

from enginesim.study.jobs import BEYOND

_RESTART: Final = 60.0  # for a nanny to end its worker and start another [s]


class Lateness:
    """
    Watches the time of points on workers that may not see themselves that it is over.

    A worker says when it begins a point, through the scheduler, once all is loaded: until then the
    time limit does not count.

    Parameters
    ----------
    client : distributed.Client
        Of the cluster.

    Attributes
    ----------
    topic : str
        Under which workers say it.
    """

    def __init__(self, client: Any) -> None:
        self.topic = f"enginesim-{uuid.uuid4().hex}"
        self._client = client
        self._begun: queue.SimpleQueue[tuple[float, dict[str, Any]]] = queue.SimpleQueue()
        self._ends: dict[str, tuple[float, str]] = {}  # by key: monotonic clock [s] and worker
        client.subscribe_topic(self.topic, self._begun.put)

    def late(self) -> list[str]:
        """
        Points whose time is over by more than they need to see it themselves.

        Returns
        -------
        list of str
            Their keys, each once; points that have ended are told by :meth:`ended` before.
        """
        with suppress(queue.Empty):
            while True:
                _, said = self._begun.get_nowait()
                end = time.monotonic() + said["time_limit"] + BEYOND
                self._ends[said["key"]] = end, said["worker"]
        return [key for key, (end, _) in self._ends.items() if time.monotonic() > end]

    def ended(self, key: str) -> None:
        """
        Forget a point.

        Parameters
        ----------
        key : str
            Of the point.
        """
        self._ends.pop(key, None)

    def restart(self, key: str) -> None:
        """
        Have the worker of a point ended and started anew by its nanny; without one it goes on.

        Parameters
        ----------
        key : str
            Of the point, which is forgotten.
        """
        _, worker = self._ends.pop(key)

        def ask() -> None:
            # A worker without nanny is refused; and the cluster may be gone meanwhile.
            with suppress(Exception):
                self._client.restart_workers([worker], timeout=_RESTART, raise_for_error=False)

        threading.Thread(target=ask, daemon=True).start()


def tell_begun(topic: str, time_limit: float) -> None:
    """
    Say, on a worker, that the point it has now begins to run.

    Parameters
    ----------
    topic : str
        Of the study that waits for it.
    time_limit : float
        Of the point. [s]
    """
    from distributed import get_worker

    worker: Any = get_worker()
    key = worker.get_current_task()
    worker.log_event(topic, {"key": key, "worker": worker.address, "time_limit": time_limit})
