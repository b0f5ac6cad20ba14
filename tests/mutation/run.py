"""Run the tests against each mutant of a sample; second and third step of a mutation run.

    python tests/mutation/run.py map COPY map.json [tests/verdict …]
    python tests/mutation/run.py test COPY map.json gauges.json gauges.found.jsonl

COPY is a clone of the project that may be spoilt (never the working tree). ``map`` runs the
tests of the rooms, or those named, once under coverage (package ``coverage``, not among the project's pins)
and notes which test runs which line; ``test`` runs, for each mutant, the tests that reach
its line, the quickest first, until one fails. A mutant that no test reaches lives, and so
does one that the tests of the first SECONDS let live: the share killed is on the low side.
"""

from __future__ import annotations

import ast
import importlib
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

SECONDS = 40.0
ROOMS = ("gauges", "stability", "shape", "capability")
TESTS = tuple(
    f"tests/{name}" for name in ("unchanged", *ROOMS, "plan", "published", "verdict", "properties")
)
#: Nothing is kept between runs, and nothing runs in other processes, which coverage would miss.
OPTIONS = ["-q", "--no-header", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:benchmark"]


class Watch:
    """Notes the outcome and time of each test; switches coverage's context where asked."""

    def __init__(self, coverage=None):
        self.coverage = coverage
        self.seconds = {}
        self.failed = None

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_setup(self, item):
        # What a shared fixture runs belongs to every test of the file.
        if self.coverage is not None:
            self.coverage.switch_context(item.nodeid.split("::")[0])
        return (yield)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item):
        if self.coverage is not None:
            self.coverage.switch_context(item.nodeid)
        begin = time.perf_counter()
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.perf_counter() - begin

    def pytest_runtest_logreport(self, report):
        if report.failed and self.failed is None:
            self.failed = report.nodeid

    def pytest_collectreport(self, report):
        if report.failed and self.failed is None:
            self.failed = report.nodeid


def settle(copy: Path) -> None:
    """Let this process take the package from the copy, and nothing from an earlier mutant."""
    os.chdir(copy)
    sys.path.insert(0, str(copy / "lib"))
    sys.dont_write_bytecode = True


def make_map(copy: Path, out: Path, tests: tuple[str, ...] = TESTS) -> None:
    import coverage

    settle(copy)
    measured = coverage.Coverage(data_file=None, source=[str(copy / "lib")])
    watch = Watch(measured)
    measured.start()
    status = pytest.main([*OPTIONS, *tests], plugins=[watch])
    measured.stop()
    if status:
        raise SystemExit(f"the tests do not pass as they are: {watch.failed}")
    lines = {}
    data = measured.get_data()
    for name in data.measured_files():
        place = Path(name).relative_to(copy).as_posix()
        found = data.contexts_by_lineno(name)
        lines[place] = {str(k): sorted(c for c in v if c) for k, v in found.items()}
    out.write_text(json.dumps({"lines": lines, "seconds": watch.seconds}), encoding="utf-8")


def statement(text: str, line: int) -> tuple[range, bool]:
    """Lines of the smallest statement about a line, and whether it runs at import."""
    best, inside = range(line, line + 1), False
    size = None
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.stmt) or not node.lineno <= line <= node.end_lineno:
            continue
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            inside = inside or line >= node.body[0].lineno
        body = getattr(node, "body", None)
        end = body[0].lineno - 1 if isinstance(body, list) and body else node.end_lineno
        if line <= max(end, node.lineno) and (size is None or end - node.lineno < size):
            size, best = end - node.lineno, range(node.lineno, max(end, node.lineno) + 1)
    return best, not inside


def chosen(mapped: dict, file: str, text: str, line: int, room: str) -> list[str]:
    """Tests that reach a line, the quickest first, within the time allowed."""
    around, at_import = statement(text, line)
    reached = mapped["lines"].get(file, {})
    contexts = {c for at in around for c in reached.get(str(at), [])}
    tests = {c for c in contexts if "::" in c}
    files = contexts - tests
    if at_import and not contexts:
        files = {f for f in (t.split("::")[0] for t in mapped["seconds"]) if f"/{room}/" in f}
    tests |= {t for t in mapped["seconds"] if t.split("::")[0] in files}
    picked, spent = [], 0.0
    for test in sorted(tests, key=lambda t: mapped["seconds"].get(t, 0.0)):
        spent += mapped["seconds"].get(test, 0.0)
        if spent > SECONDS:
            break
        picked.append(test)
    return picked


def one(copy: Path, tests: list[str], expected: float) -> tuple[str, str | None]:
    """Outcome of some tests in a process of their own, forked so that nothing is loaded twice.

    Four times the seconds they take unchanged, and twenty for starting, are an endless loop.
    """
    answer, write = os.pipe()
    child = os.fork()
    if child == 0:
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        os.setsid()
        settle(copy)
        watch = Watch()
        status = pytest.main([*OPTIONS, "-x", *tests], plugins=[watch])
        os.write(write, json.dumps([int(status), watch.failed]).encode())
        os._exit(0)
    os.close(write)
    limit = time.monotonic() + 20 + 4 * expected
    while time.monotonic() < limit:
        if os.waitpid(child, os.WNOHANG)[0]:
            text = os.read(answer, 100_000).decode()
            os.close(answer)
            if not text:
                return "killed", "the process ended"
            status, failed = json.loads(text)
            return ("lives", None) if status == 0 else ("killed", failed)
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(answer)
    return "killed", "no end"


def test_all(copy: Path, mapped: dict, sample: dict, out: Path) -> None:
    for name in ("hypothesis", "pandas", "pingouin", "scipy.stats", "statsmodels.api"):
        importlib.import_module(name)  # once, before the forks
    before = out.read_text(encoding="utf-8").splitlines() if out.exists() else []
    known = {tuple(json.loads(row)["key"]) for row in before}
    for mutant in sample["mutants"]:
        path = copy / mutant["file"]
        text = path.read_text(encoding="utf-8")
        key = (mutant["file"], mutant["line"], mutant["operator"])
        if key in known:
            continue
        tests = chosen(mapped, mutant["file"], text, mutant["line"], sample["room"])
        begin = time.perf_counter()
        if tests:
            path.write_text(mutant["code"], encoding="utf-8")
            try:
                outcome, by = one(copy, tests, sum(mapped["seconds"][t] for t in tests))
            finally:
                path.write_text(text, encoding="utf-8")
        else:
            outcome, by = "not reached", None
        old, new = text.splitlines(), mutant["code"].splitlines()
        changed = [
            f"{a.strip()}  ->  {b.strip()}" for a, b in zip(old, new, strict=False) if a != b
        ]
        row = {
            "key": key,
            "outcome": outcome,
            "by": by,
            "tests": len(tests),
            "seconds": round(time.perf_counter() - begin, 1),
            "change": changed[0] if changed else "",
        }
        with out.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")


def main() -> None:
    os.environ.update(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1", MPLBACKEND="agg")
    action, copy = sys.argv[1], Path(sys.argv[2]).resolve()
    here = Path(__file__).resolve().parents[2]
    if copy == here or not (copy / ".git").exists():
        raise SystemExit("give a clone of the project that may be spoilt")
    subprocess.run(["git", "-C", str(copy), "checkout", "-q", "."], check=True)
    if action == "map":
        make_map(copy, Path(sys.argv[3]).resolve(), tuple(sys.argv[4:]) or TESTS)
    else:
        mapped, sample = (json.loads(Path(p).read_text(encoding="utf-8")) for p in sys.argv[3:5])
        test_all(copy, mapped, sample, Path(sys.argv[5]).resolve())


if __name__ == "__main__":
    main()
