"""Sound folders with extreme content: each ends in a dossier or in one line, never in anything else.

Studies are drawn from a numbered stream: every role, with numbers at the ends of what can be written
(1e308, 1e-320, five thousand digits), constants, coarse rounding, one row, empty columns, limits on one
side or none. Number 1,234 is the same folder on every machine.

``python tests/proof/extremes.py 10000`` goes on where the report ends and writes it every hundred
folders, so it may be broken off at any time; ``python tests/proof/extremes.py --show 1234`` writes that
one folder. Every folder is taken through all rooms, the document and the workbook; every fiftieth
through the command itself, pictures and PDF included.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

REPORT = Path(__file__).with_name("faults") / "extremes.json"
SECONDS = 120
WHOLE_EVERY = 50
ROLES = (
    *("run", "machine", "crossed", "nested", "reference", "drift", "paired", "attribute"),
    *("bins", "run", "crossed"),
)
FAMILIES = (
    *("auto", "auto", "auto", "auto", "normal", "lognormal", "weibull", "gamma", "folded normal"),
    *("rayleigh", "normal mixture", "Johnson S_U", "Johnson S_B", "Box-Cox", "nothing of the kind"),
)
WILD = (
    *("1e308", "-1e308", "1e-320", "-1e-320", "1.7976931348623157e308", "5e-324", "1e30", "1e-30"),
    *("-0.0", "0", "1e15", "9007199254740993", "9" * 5000, "0." + "0" * 4999 + "1", "+1"),
    *("", "NA", "9999", "1e20", "-1e20", "1e12", "0.1" + "0" * 400),
)


def values(chance: random.Random, n: int, centre: float, width: float) -> list[str]:
    """A column of readings of one of many kinds."""
    kind = chance.randrange(20)
    normal = [chance.gauss(centre, width / 8) for _ in range(n)]
    if kind < 5:
        return [f"{x:.4g}" if kind == 0 else f"{x:.9g}" for x in normal]
    if kind == 5:
        return [f"{centre:.6g}"] * n
    if kind == 6:
        step = width * chance.choice((0.1, 0.5, 1, 3))
        return [f"{round(x / step) * step:.6g}" for x in normal]
    if kind == 7:
        return [chance.choice(WILD)] * n
    if kind == 8:
        return [chance.choice(WILD) for _ in range(n)]
    if kind == 9:
        return ["1e308" if i % 2 else "-1e308" for i in range(n)]
    if kind == 10:
        return ["1e29" if i % 2 else "-1e29" for i in range(n)]
    if kind == 11:
        return [""] * n
    if kind == 12:
        return [f"{x * chance.choice((1e-28, 1e-12)):.6g}" for x in normal]
    if kind == 13:
        return [f"{x + 1e8 * width:.17g}" for x in normal]
    if kind == 14:
        return [f"{centre + width * chance.choice((-1, 1)) / 4:.6g}" for _ in range(n)]
    if kind == 15:
        return [f"{centre + width * chance.uniform(-1, 1) ** 9 * 50:.6g}" for _ in range(n)]
    if kind == 16:
        return [f"{centre + width * i / max(n, 1):.6g}" for i in range(n)]
    if kind == 17:
        return [f"{abs(x - centre):.6g}" for x in normal]
    if kind == 18:
        return [chance.choice(WILD) if chance.random() < 0.1 else f"{x:.6g}" for x in normal]
    return [f"{centre + width * chance.lognormvariate(0, 3):.6g}" for _ in range(n)]


def rows_of(chance: random.Random) -> int:
    return chance.choice((1, 1, 2, 3, 5, 10, 25, 30, 60, 120))


def number(value: float) -> str:
    return repr(float(value))


def table(columns: dict[str, list[str]]) -> str:
    names = list(columns)
    lines = [",".join(names)]
    lines += [",".join(row) for row in zip(*columns.values(), strict=True)]
    return "\n".join(lines) + "\n"


def labels(chance: random.Random, n: int, kinds: int, prefix: str = "") -> list[str]:
    style = chance.randrange(6)
    if style == 0:
        return [""] * n
    if style == 1:
        return [f"{prefix}1"] * n
    if style == 2:
        return [f"{prefix}{i}" for i in range(n)]
    blank = 0.1 if style == 3 else 0
    return ["" if chance.random() < blank else f"{prefix}{i % kinds + 1}" for i in range(n)]


class Folder:
    """One study being drawn."""

    def __init__(self, index: int) -> None:
        self.chance = random.Random(f"extremes {index}")
        self.centre, self.width = self.chance.choice(
            (
                (2.8, 0.2),
                (0.0, 1.0),
                (100.0, 1e-6),
                (-5.0, 2.0),
                (1e20, 1e19),
                (1e-20, 1e-21),
                (1, 1e6),
            )
        )
        self.files: dict[str, str] = {}
        self.data: list[str] = []
        self.wanted: set[str] = set()
        self.names = ["w"] + (["v"] if self.chance.random() < 0.4 else [])

    def column(self, n: int) -> list[str]:
        return values(self.chance, n, self.centre, self.width)

    def measured(self, n: int) -> dict[str, list[str]]:
        return {name.upper(): self.column(n) for name in self.names}

    def mapping(self) -> str:
        return "{ " + ", ".join(f'{name} = "{name.upper()}"' for name in self.names) + " }"

    def add(self, role: str, columns: dict[str, list[str]], *keys: str) -> None:
        name = f"f{len(self.data)}.csv"
        self.files[name] = table(columns)
        self.data.append("\n".join(["[[data]]", f'role = "{role}"', f'file = "{name}"', *keys]))

    def keys(self, *keys: str) -> tuple[str, ...]:
        return (f"columns = {self.mapping()}", *keys)

    def order(self, columns: dict[str, list[str]], n: int) -> tuple[str, ...]:
        style = self.chance.randrange(6)
        if style == 0:
            return ()
        found = [str(i + 1) for i in range(n)]
        if style == 1:
            found = [self.chance.choice((*WILD, *found)) for _ in range(n)]
        elif style == 2:
            found[self.chance.randrange(n)] = self.chance.choice(("", "1e308", "1e20", "-1e308"))
        elif style == 3:
            found = [f"{i * 1e13:.0f}" for i in range(n)]
        columns["N"] = found
        return ('order = "N"',)

    def run(self) -> None:
        n = rows_of(self.chance)
        columns = self.measured(n)
        keys = [*self.order(columns, n)]
        for tag, kinds in (("coil", 3), ("station", 2), ("stop", 2)):
            if self.chance.random() < 0.3:
                columns[tag] = labels(self.chance, n, kinds)
                keys.append(f'{tag} = "{tag}"')
        if self.chance.random() < 0.3:
            columns["ok"] = [self.chance.choice(("ok", "nok", "")) for _ in range(n)]
            keys += ['verdict = "ok"', 'accept = ["ok"]', 'reject = ["nok"]']
        size, every = self.chance.choice(((1, 1), (2, 2), (5, 5), (3, 10), (1000000, 1000000000)))
        if self.chance.random() < 0.7:
            keys.append(f"subgroup = {{ size = {size}, every = {every} }}")
        self.add("run", columns, *self.keys('gauge = "g"', *keys))

    def machine(self) -> None:
        n = rows_of(self.chance)
        columns = self.measured(n)
        keys = self.order(columns, n)
        self.add("machine", columns, *self.keys(*keys))

    def crossed(self) -> None:
        parts, people, trials = (self.chance.choice((1, 2, 3, 5, 10)) for _ in range(3))
        cells = [(p, a, t) for p in range(parts) for a in range(people) for t in range(trials)][
            :300
        ]
        if self.chance.random() < 0.3:
            cells = [cell for cell in cells if self.chance.random() < 0.8] or cells
        n = len(cells)
        columns = {
            "P": [str(c[0]) for c in cells],
            "A": [str(c[1]) for c in cells],
            "T": [str(c[2]) for c in cells],
        } | self.measured(n)
        if self.chance.random() < 0.1:
            columns["P"] = labels(self.chance, n, 3)
        keys = ['part = "P"', 'appraiser = "A"']
        if self.chance.random() < 0.7:
            keys.append('trial = "T"')
        if self.chance.random() < 0.2:
            columns["F"] = labels(self.chance, n, 2)
            keys.append('factor = "F"')
        self.add("crossed", columns, *self.keys('gauge = "g"', *keys))

    def nested(self) -> None:
        n = rows_of(self.chance)
        columns = {"L": labels(self.chance, n, 4), "M": labels(self.chance, n, 8)} | self.measured(
            n
        )
        levels = self.chance.choice(('["L"]', '["L", "M"]'))
        gauge = self.chance.choice(((), ('gauge = "g"',)))
        self.add("nested", columns, *self.keys(*gauge, f"levels = {levels}"))

    def reference(self) -> None:
        n = rows_of(self.chance)
        columns = self.measured(n)
        if self.chance.random() < 0.3:
            keys = [f"reference = {number(self.centre)}"]
        else:
            columns["R"] = self.chance.choice(
                (self.column(n), [number(self.centre + i % 3 * self.width / 4) for i in range(n)])
            )
            keys = ['reference = "R"']
        if self.chance.random() < 0.3:
            columns["U"] = self.column(n)
            keys.append('reference_uncertainty = "U"')
        self.add("reference", columns, *self.keys('gauge = "g"', *keys))

    def drift(self) -> None:
        n = rows_of(self.chance)
        columns = self.measured(n)
        keys = [*self.order(columns, n)]
        if self.chance.random() < 0.8:
            keys.append(f"reference = {number(self.centre)}")
        self.add("drift", columns, *self.keys('gauge = "g"', *keys))

    def paired(self) -> None:
        n = rows_of(self.chance)
        columns = {"P": labels(self.chance, n, 5)}
        pairs = []
        for name in self.names:
            columns |= {f"{name}1": self.column(n), f"{name}2": self.column(n)}
            pairs.append(f'{name} = ["{name}1", "{name}2"]')
        keys = ("columns = { " + ", ".join(pairs) + " }", 'gauges = ["g", "h"]', 'part = "P"')
        self.add("paired", columns, *keys)

    def attribute(self) -> None:
        n = rows_of(self.chance)
        word = lambda: self.chance.choice(("ok", "ok", "nok"))  # noqa: E731
        columns = {
            "P": labels(self.chance, n, 5),
            "A": labels(self.chance, n, 2),
            "T": labels(self.chance, n, 2),
            "J": [self.chance.choice(("", word())) for _ in range(n)]
            if self.chance.random() < 0.2
            else [word() for _ in range(n)],
        }
        keys = ['part = "P"', 'judgement = "J"', 'characteristic = "w"', 'accept = ["ok"]']
        for tag, name in (("appraiser", "A"), ("trial", "T")):
            if self.chance.random() < 0.7:
                keys.append(f'{tag} = "{name}"')
        if self.chance.random() < 0.5:
            columns["R"] = [word() for _ in range(n)]
            keys.append('reference = "R"')
        if self.chance.random() < 0.4:
            columns["X"] = self.column(n)
            keys.append('measured = "X"')
        self.add("attribute", columns, *keys)

    def bins(self) -> None:
        n = rows_of(self.chance)
        count = lambda: self.chance.choice(("0", "1", "99", "1000000", "", "9007199254740991"))  # noqa: E731
        columns = {key: [count() for _ in range(n)] for key in ("G", "B", "C")}
        columns["D"] = [str(i) for i in range(n)]
        keys = ('period = "D"', 'accepted = "G"', 'rejected = "B"')
        self.add("bins", columns, *keys, *(['purged = "C"'] if self.chance.random() < 0.5 else []))

    def characteristic(self, name: str) -> str:
        chance, lines = (
            self.chance,
            ["[[characteristic]]", f'id = "{name}"', f'name = "{name} width"'],
        )
        low, high = self.centre - self.width / 2, self.centre + self.width / 2
        style = chance.randrange(8)
        if style in (0, 1, 2, 3, 4):
            lines.append(f"lower = {number(low)}")
        if style in (0, 1, 2, 3, 5):
            lines.append(f"upper = {number(high)}")
        if style in (0, 1):
            lines.append(f"nominal = {number(chance.choice((self.centre, low, high)))}")
        if chance.random() < 0.3:
            lines.append('unit = "mm"')
        if chance.random() < 0.3:
            lines.append(
                f"bound = {number(chance.choice((0.0, low - self.width, low, high, 1e29)))}"
            )
        if chance.random() < 0.1:
            lines.append(f"plausible = [{number(low - self.width)}, {number(high)}]")
        lines.append(f'family = "{chance.choice(FAMILIES)}"')
        lines.append(f"special = {chance.choice(('true', 'false'))}")
        return "\n".join(lines)

    def toml(self) -> str:
        chance = self.chance
        head = ["format = 1", "[study]", 'title = "t"', 'part = "p"']
        head.append(f"confidence = {chance.choice(('0.95', '0.95', '0.5', '0.9999', '0.9'))}")
        if chance.random() < 0.3:
            head.append(f"line_rate = {chance.choice(('1e-9', '1200', '1e6'))}")
        if chance.random() < 0.2:
            head += ["[criteria]", 'decide_on = "lower bound"', 'source = "mine"']
        gauges = []
        for name in "gh":
            gauges += ["[[gauge]]", f'id = "{name}"', f'name = "Gauge {name}"']
            if chance.random() < 0.5:
                gauges.append(
                    f"resolution = {number(self.width * chance.choice((1e-8, 0.01, 1, 1e3)))}"
                )
            if chance.random() < 0.2:
                gauges.append(
                    f"expanded_uncertainty = {number(self.width * chance.choice((1e-9, 0.1, 9)))}"
                )
        rest = []
        if chance.random() < 0.3:
            first = chance.choice(("1", "5", "1e30", "-1e30"))
            rest += ["[[set_aside]]", 'reason = "r"', f"first = {first}"]
        if chance.random() < 0.3:
            rest += ["[[event]]", 'name = "e"', f"at = {chance.choice(('1', '7.5', '1e30', '-3'))}"]
        if chance.random() < 0.2:
            size = number(self.width * chance.choice((1e-9, 0.1, 1e9)))
            rest += ["[[budget]]", 'gauge = "g"', 'source = "s"', f"half_width = {size}"]
        items = [self.characteristic(name) for name in self.names]
        return "\n".join([*head, *items, *gauges, *self.data, *rest]) + "\n"

    def write(self, place: Path) -> None:
        chosen = {self.chance.choice(ROLES) for _ in range(self.chance.choice((1, 1, 2, 3, 5)))}
        for role in sorted(chosen):
            getattr(self, role)()
        if not chosen - {"bins", "attribute"} or ("v" in self.names and not chosen - {"bins"}):
            self.machine()
        place.mkdir(parents=True)
        (place / "study.toml").write_text(self.toml(), encoding="utf-8")
        for name, text in self.files.items():
            (place / name).write_text(text, encoding="utf-8")


class TookTooLong(BaseException):
    """A study that does not come to its end."""


def too_long(*_: object) -> None:
    raise TookTooLong


def whole(place: Path) -> int:
    """The command itself."""
    from linestudy.cli import main

    out, told = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(told):
        code = main(["dossier", str(place), "--out", str(place.with_name("out")), "--replace"])
    if code not in (0, 1, 2) or told.getvalue().count("\n") > 1:
        raise AssertionError(f"exit {code}: {told.getvalue()[:500]}")
    if code == 2 and "nobody foresaw" in told.getvalue():
        raise AssertionError(told.getvalue())
    return code


def without_setting(place: Path) -> int:
    """All rooms, the document, the numbers and the workbook, without pictures and PDF."""
    from linestudy.core import InputError
    from linestudy.dossier.contents import build
    from linestudy.dossier.evaluation import evaluate
    from linestudy.dossier.workbook import write_workbook
    from linestudy.dossier.writing import as_json

    try:
        evaluation = evaluate(place, progress=lambda stage: None)
    except InputError as refusal:
        if "\n" in str(refusal):
            raise AssertionError(str(refusal)) from None
        return 2
    as_json(evaluation.results())
    build(evaluation)
    write_workbook(evaluation, place / "book.xlsx")
    for account in evaluation.records.ledger.accounts:
        assert account.rows_read == account.rows_used + sum(account.set_aside.values())
    FAILED.update(
        f"{finding.method}: {finding.reason}"
        for _, finding in evaluation.findings.items()
        if getattr(finding, "reason", "").startswith("It could not be computed")
    )
    return 0


#: Methods that failed numerically, and how often, in this process.
FAILED: Counter[str] = Counter()


def one(index: int, place: Path) -> tuple[str, str]:
    """Outcome of one folder: "written", "refused" or "failed", and where it failed."""
    shutil.rmtree(place, ignore_errors=True)
    study = place / "study"
    Folder(index).write(study)
    run: Callable[[Path], int] = whole if index % WHOLE_EVERY == 0 else without_setting
    before = signal.signal(signal.SIGALRM, too_long)
    signal.alarm(SECONDS)
    try:
        code = run(study)
    except TookTooLong:
        return "failed", f"more than {SECONDS} s"
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        last = traceback.extract_tb(error.__traceback__)[-1]
        ours = [f for f in traceback.extract_tb(error.__traceback__) if "/linestudy/" in f.filename]
        at = ours[-1] if ours else last
        words = " ".join(str(error).split())[:160]
        where = at.filename.split("/linestudy/")[-1]
        return "failed", f"{type(error).__name__} at {where}:{at.name}: {words}"
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
    return ("refused" if code == 2 else "written"), ""


def go_on(last: int, seconds: float = 1e9, report: Path | None = REPORT) -> dict[str, Any]:
    """Take folders up to number `last`, from where the report ends.

    Parameters
    ----------
    last : int
    seconds : float
        Breaks off after this time.
    report : pathlib.Path, optional
        Where to begin from and what to write to; None begins at nought and writes nothing.

    Returns
    -------
    dict
        Keys ``folders``, ``written``, ``refused``, ``failures``, ``could_not_be_computed``.
    """
    from linestudy.core import parallel

    os.environ["LINESTUDY_STRICT"] = "0"
    # Small tables gain nothing from a second process, and an alarm rings in this one only.
    parallel._may_fork = lambda: False
    state: dict[str, Any] = {
        "folders": 0,
        "written": 0,
        "refused": 0,
        "failures": {},
        "could_not_be_computed": {},
    }
    if report is not None and report.is_file():
        state = json.loads(report.read_text(encoding="utf-8"))
    FAILED.clear()
    FAILED.update(state["could_not_be_computed"])
    begin = time.monotonic()
    with tempfile.TemporaryDirectory() as place:
        while state["folders"] < last and time.monotonic() - begin < seconds:
            index = state["folders"]
            outcome, where = one(index, Path(place) / "one")
            state["folders"] += 1
            if outcome == "failed":
                state["failures"][str(index)] = where
                print(f"{index}: {where}", flush=True)
            else:
                state[outcome] += 1
            if state["folders"] % 100 == 0 or state["folders"] == last:
                _write(state, report)
    _write(state, report)
    return state


def _write(state: dict[str, Any], report: Path | None) -> None:
    state["could_not_be_computed"] = dict(sorted(FAILED.items()))
    if report is not None:
        rough = report.with_suffix(".new")
        rough.write_text(json.dumps(state, indent=1) + "\n", encoding="utf-8")
        rough.replace(report)


if __name__ == "__main__":
    if sys.argv[1] == "--show":
        Folder(int(sys.argv[2])).write(Path(sys.argv[3] if len(sys.argv) > 3 else "shown"))
    else:
        found = go_on(int(sys.argv[1]), report=Path(sys.argv[2]) if len(sys.argv) > 2 else REPORT)
        print({key: value for key, value in found.items() if isinstance(value, int)})
