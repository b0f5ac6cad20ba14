"""Studies of extreme content, each drawn from the stream of its number."""

from __future__ import annotations

import random
from pathlib import Path

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
