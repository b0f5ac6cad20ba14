"""One thread within, and as many as before afterwards: nested, after an error, and with several at once."""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator

import cloudpickle
import pytest

from linestudy.running.threads import one_thread
from linestudy.running.workers import run_all


@pytest.fixture(scope="module", autouse=True)
def of_this_module() -> Iterator[None]:
    # pytest loads this file under a name that no worker could import it by.
    here = sys.modules[__name__]
    cloudpickle.register_pickle_by_value(here)
    yield
    cloudpickle.unregister_pickle_by_value(here)


def blas_threads() -> set[int]:
    from threadpoolctl import threadpool_info

    return {each["num_threads"] for each in threadpool_info() if each["user_api"] == "blas"}


def test_numerical_libraries_use_one_thread_within_and_as_many_as_before_after() -> None:
    import scipy.linalg  # noqa: F401
    from threadpoolctl import threadpool_limits

    with threadpool_limits(2, "blas"):
        before = blas_threads()
        with one_thread():
            with one_thread():
                assert blas_threads() == {1}
            assert blas_threads() == {1}
        assert blas_threads() == before
        with pytest.raises(ValueError, match="within"), one_thread():
            raise ValueError("within")
        assert blas_threads() == before
        assert one_thread()(blas_threads)() == {1}
        assert run_all([blas_threads] * 3) == [{1}] * 3


def test_the_first_of_several_to_leave_takes_nothing_from_who_is_still_within() -> None:
    """The setting is that of the process."""
    import scipy.linalg  # noqa: F401
    from threadpoolctl import threadpool_limits

    within, leave = threading.Event(), threading.Event()

    def work() -> None:
        with one_thread():
            within.set()
            leave.wait(10)

    with threadpool_limits(2, "blas"):
        other = threading.Thread(target=work)
        with one_thread():
            other.start()
            assert within.wait(10)
        assert blas_threads() == {1}
        leave.set()
        other.join()
