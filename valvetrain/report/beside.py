"""Work done beside this process, where the system can copy a process as it stands."""

import multiprocessing
import os
import pickle
import signal
import threading
import warnings
from collections.abc import Callable, Mapping
from multiprocessing.connection import Connection
from typing import Any

__all__ = ["beside"]

Job = Callable[[], Any]


def beside(jobs: Mapping[str, Job], workers: int) -> dict[str, Job]:
    """Start jobs in `workers` copies of this process; each function returned waits for its own result.

    A job that fails raises its error where the result is asked for. Where processes cannot be copied, or
    with no workers, each job is run when it is asked for.
    """
    if workers < 1 or "fork" not in multiprocessing.get_all_start_methods():
        return dict(jobs)
    context = multiprocessing.get_context("fork")
    names = list(jobs)
    answers: dict[str, Job] = {}
    for first in range(workers):
        own = names[first::workers]
        if not own:
            continue
        here, there = context.Pipe(duplex=False)
        process = context.Process(target=_work, args=(there, {name: jobs[name] for name in own}), daemon=True)
        with warnings.catch_warnings():
            # Newer Pythons warn of any thread; those of the linear algebra stand still and are made for it.
            warnings.filterwarnings("ignore", message=".*fork.*", category=DeprecationWarning)
            process.start()
        there.close()
        answers |= _answers(here, process, jobs, own)
    return {name: answers[name] for name in names}


def _work(there: Connection, jobs: Mapping[str, Job]) -> None:
    """Run jobs one after another, and send what each gives."""
    # Who stops the run from the keyboard stops the first process, which ends this one; so does a kill of it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    for name, job in jobs.items():
        try:
            answer: tuple[bool, Any] = (True, job())
        except Exception as error:
            answer = (False, error)
        try:
            there.send((name, *answer))
        except (pickle.PicklingError, TypeError):
            there.send((name, False, RuntimeError(str(answer[1]))))
    there.close()


def _end_with_parent() -> None:
    """Wait for the end of the process that this one is a copy of, and end with it."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _answers(here: Connection, process: Any, jobs: Mapping[str, Job], own: list[str]) -> dict[str, Job]:
    """Return, for every job of one worker, what waits for its result."""
    kept: dict[str, tuple[bool, Any]] = {}

    def wait(name: str) -> Any:
        while name not in kept:
            try:
                found, right, answer = here.recv()
            except EOFError:
                # The copy was ended from outside: the work is done here instead.
                kept[name] = (True, jobs[name]())
                break
            kept[found] = (right, answer)
        if len(kept) == len(own):
            process.join()
        right, answer = kept[name]
        if not right:
            raise answer
        return answer

    def waiter(name: str) -> Job:
        return lambda: wait(name)

    return {name: waiter(name) for name in own}
