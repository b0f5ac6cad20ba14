"""Work in a fresh process gives what work here gives, errors and stages included."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from linestudy.core import InputError
from linestudy.dossier import apart as module
from linestudy.dossier import evaluate, recompute, write
from linestudy.dossier.apart import apart
from linestudy.dossier.audit.numbers import compare
from linestudy.study import start_study


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """As if in a notebook; the list grows with every piece of work sent out."""
    begun: list[int] = []
    true_asked = module._asked

    def counted(*words: object) -> object:
        begun.append(1)
        return true_asked(*words)

    monkeypatch.setattr(module, "_pays", lambda: True)
    monkeypatch.setattr(module, "_asked", counted)
    module.end()
    yield begun
    module.end()


def talks(number: int, tell: Callable[[str], None]) -> tuple[int, int]:
    tell("one")
    print("this must not get between the pickles", flush=True)
    tell("two")
    return 2 * number, os.getpid()


def refuses(tell: Callable[[str], None]) -> None:
    raise InputError("a file", "is not there", "look for it")


def breaks_off(here: int, tell: Callable[[str], None]) -> str:
    if os.getpid() != here:
        os._exit(3)
    return "done here"


def cannot_be_sent(tell: Callable[[str], None]) -> object:
    return lambda: None


@pytest.fixture(autouse=True)
def importable(monkeypatch: pytest.MonkeyPatch) -> None:
    # The fresh process imports the work by its name.
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parent))
    monkeypatch.setitem(sys.modules, "test_apart", sys.modules[__name__])
    for work in (talks, refuses, breaks_off, cannot_be_sent, where, impatient):
        monkeypatch.setattr(work, "__module__", "test_apart")


def test_stages_and_answer_come_back(fresh: list[int]) -> None:
    told: list[str] = []
    answer, process = apart(talks, 21, tell=told.append)
    assert answer == 42
    assert process != os.getpid()
    assert told == ["one", "two"]


def where(tell: Callable[[str], None]) -> str:
    return os.getcwd()


def test_the_process_stays_for_the_next_piece_of_work(
    fresh: list[int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = apart(talks, 1, tell=lambda stage: None)[1]
    assert apart(talks, 2, tell=lambda stage: None)[1] == first
    with pytest.raises(InputError):
        apart(refuses, tell=lambda stage: None)
    assert apart(talks, 3, tell=lambda stage: None)[1] == first
    # It follows into another folder, as a path in the next cell means that one.
    monkeypatch.chdir(tmp_path)
    assert apart(where, tell=lambda stage: None) == str(tmp_path)
    # One that has broken off is not asked again.
    assert apart(breaks_off, os.getpid(), tell=lambda stage: None) == "done here"
    other = apart(talks, 4, tell=lambda stage: None)[1]
    assert other not in (first, os.getpid())
    module.end()
    with pytest.raises(ProcessLookupError):
        os.kill(other, 0)


def impatient(tell: Callable[[str], None]) -> int:
    module._PATIENCE = 0.05
    return os.getpid()


def test_it_ends_when_there_is_nothing_to_do(fresh: list[int]) -> None:
    first = apart(impatient, tell=lambda stage: None)
    for _ in range(100):
        if module._BESIDE[0].poll() is not None:
            break
        time.sleep(0.05)
    # The next piece of work is given to another.
    assert apart(talks, 1, tell=lambda stage: None)[1] not in (first, os.getpid())


def test_it_ends_with_the_notebook() -> None:
    code = (
        "from linestudy.dossier import apart as module\n"
        "module._pays = lambda: True\n"
        "module.apart(module._example, 2, tell=print)\n"
        "print(module._BESIDE[0].pid)\n"
        "import os; os._exit(0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    word, process = done.stdout.split()
    assert word == "doubling"
    for _ in range(100):
        if (
            not Path(f"/proc/{process}").exists()
            or "Z" in Path(f"/proc/{process}/stat").read_text()
        ):
            return
        time.sleep(0.05)
    pytest.fail("the process is still there")


def test_an_error_is_raised_as_it_was(fresh: list[int]) -> None:
    with pytest.raises(InputError, match="a file: is not there; look for it"):
        apart(refuses, tell=lambda stage: None)


def test_work_is_done_here_where_no_answer_comes(
    fresh: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert apart(breaks_off, os.getpid(), tell=lambda stage: None) == "done here"
    assert callable(apart(cannot_be_sent, tell=lambda stage: None))
    # What cannot be sent, and no interpreter to send it to.
    assert apart(lambda tell: 5, tell=lambda stage: None) == 5
    monkeypatch.setattr(sys, "executable", "/no/such/python")
    assert apart(talks, 1, tell=lambda stage: None)[1] == os.getpid()


def test_outside_a_notebook_no_process_is_begun() -> None:
    assert not module._pays()


def test_the_main_job_is_the_same_apart(fresh: list[int], tmp_path: Path) -> None:
    folder = start_study(tmp_path / "study")
    one = evaluate(folder)
    assert len(fresh) == 1
    here = evaluate(folder, progress=lambda stage: None)
    assert len(fresh) == 1
    # Another number of threads adds up in another order: the last digit of a sum may differ.
    found = compare(one.results(), here.results())
    assert (found.differences, found.words) == ([], [])
    written = write(one, tmp_path / "out")
    assert recompute(written, pictures=True).agrees
    # Inside the process that recomputes there is no notebook any more.
    assert len(fresh) == 3
    again = write(one, tmp_path / "again", progress=lambda stage: None)
    for name in ("results.json", "dossier.pdf", "index.html"):
        assert (again / "data" / name).read_bytes() == (written / "data" / name).read_bytes()
    with pytest.raises(InputError, match="no such folder"):
        evaluate(tmp_path / "nothing")
