"""Single changes of a dossier, as somebody would make them who renews the sums afterwards.

Each function changes the files of a dossier (name → bytes) in one place, chosen by the generator it is given, and
returns what it did. All of them change what a reader sees, what a program reads, or what may be hidden there.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from random import Random

Files = dict[str, bytes]
Change = Callable[[Files, Random], str]

PAGE, PDF, BOOK = "data/index.html", "data/dossier.pdf", "data/workbook.xlsx"
RESULTS, VERSIONS, TOML = "data/results.json", "data/versions.txt", "data/study/study.toml"
INFO = "bag-info.txt"

#: Every change by its class; several classes to a kind of file.
CHANGES: dict[str, Change] = {}


def change(kind: str) -> Callable[[Change], Change]:
    def keep(function: Change) -> Change:
        CHANGES[f"{kind}: {function.__name__.replace('_', ' ')}"] = function
        return function

    return keep


def renew(files: Files) -> None:
    """Make all sums anew."""
    payload = {name: data for name, data in files.items() if name.startswith("data/")}
    if INFO in files:
        oxum = f"{sum(map(len, payload.values()))}.{len(payload)}"
        files[INFO] = re.sub(
            rb"(?m)^Payload-Oxum: .*$", f"Payload-Oxum: {oxum}".encode(), files[INFO]
        )
    for kind in ("sha256", "sha512"):
        lines = [f"{hashlib.new(kind, d).hexdigest()}  {n}\n" for n, d in sorted(payload.items())]
        files[f"manifest-{kind}.txt"] = "".join(lines).encode()
    tags = [n for n in files if "/" not in n and not n.startswith("tagmanifest")]
    for kind in ("sha256", "sha512"):
        lines = [f"{hashlib.new(kind, files[n]).hexdigest()} {n}\n" for n in sorted(tags)]
        files[f"tagmanifest-{kind}.txt"] = "".join(lines).encode()


_ADDED = [
    "approval.html",
    "APPROVED.pdf",
    "results.json",
    "dossier.pdf",
    "index.htm",
    "README.txt",
    "results_final.json",
    "working_papers/readme.txt",
    "working_papers/a/b.html",
    "study/notebooks/1_plan.ipynb",
    "study/linestudy.py",
    "study/data/run2.csv",
    "study/data/.run.csv",
    "study/study.toml.bak",
    "study/STUDY.TOML",
    "desktop.ini",
    ".DS_Store",
    "autorun.inf",
    "dossier.PDF",
    "dossier.pdf.exe",
    "a b.txt",
    "ä.txt",
    "study/data/run.csv.gz",
    "run.csv",
    "INDEX.HTML",
    "workbook.xlsm",
    "style.css",
    "x/y/z.txt",
    "fetch.txt",
    "dossi\u0435r.pdf",
    "study/STUDY.toml ",
]


@change("files")
def one_more(files: Files, rng: Random) -> str:
    where = rng.choice(["data/", "data/", ""])
    name = where + rng.choice(_ADDED)
    if name in files:
        name += "2"
    files[name] = rng.choice([files[PAGE][:500], files[RESULTS], b"meets", b""])
    return name


@change("files")
def one_less(files: Files, rng: Random) -> str:
    name = rng.choice([n for n in files if n.startswith("data/") and "/study/" not in n] + [INFO])
    del files[name]
    return name


@change("files")
def one_for_another(files: Files, rng: Random) -> str:
    names = [PAGE, PDF, BOOK, RESULTS, VERSIONS]
    a, b = rng.sample(names, 2)
    files[a] = files[b]
    return f"{b} as {a}"


@change("inputs")
def settings(files: Files, rng: Random) -> str:
    text = files[TOML].decode()
    how, (old, new) = rng.choice(
        list(
            enumerate(
                [
                    ("upper = 6.35", f"upper = {rng.uniform(6.31, 6.4):.3f}"),
                    ("lower = 6.25", f"lower = {rng.uniform(6.2, 6.29):.3f}"),
                    ("nominal = 6.30", "nominal = 6.31"),
                    ("seed = 20260101", f"seed = {rng.randrange(10**6)}"),
                    ("confidence = 0.95", f"confidence = 0.{rng.randrange(50, 94)}"),
                    ("special = true", "special = false"),
                    ("resolution = 0.001", "resolution = 0.002"),
                    ('revision = "A"', f'revision = "{rng.randrange(99)}"'),
                    ("# or a named distribution", f"# {rng.random()}"),
                    ("line_rate = 200", f"line_rate = {rng.randrange(100, 199)}"),
                    ("size = 5, every = 5", "size = 5, every = 10"),
                    ("# [criteria]", f"[criteria]\ncapability_accept = {rng.uniform(1, 1.6):.2f}"),
                ]
            )
        )
    )
    assert old in text
    files[TOML] = text.replace(old, new, 1).encode()
    return f"kind {how}: {new}"


@change("inputs")
def readings(files: Files, rng: Random) -> str:
    name = rng.choice(["data/study/data/run.csv", "data/study/data/crossed.csv"])
    lines = files[name].decode().splitlines()
    how = rng.randrange(4)
    at = rng.randrange(1, len(lines))
    if how == 0:
        lines[at] = lines[at][:-1] + str((int(lines[at][-1]) + 1) % 10)
    elif how == 1:
        lines.pop(at)
    elif how == 2:
        other = 1 + at % (len(lines) - 1)
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines.append("")
    files[name] = ("\n".join(lines) + "\n").encode()
    return f"{name} kind {how} at {at}"


@change("bag")
def the_lock_of_versions(files: Files, rng: Random) -> str:
    lines = files[VERSIONS].decode().splitlines()
    at = rng.randrange(1, len(lines))
    how = rng.randrange(8)
    if how == 0:
        lines[at] = lines[at].split("==")[0] + "==0.0.1"
    elif how == 1:
        lines.pop(at)
    elif how == 2:
        lines.insert(at, lines[at])
    elif how == 3:
        lines.insert(at, "approved by the customer")
    elif how == 4:
        lines[0] = "# Python 2.7.18"
    elif how == 5:
        a, b = rng.sample(range(1, len(lines)), 2)
        lines[a], lines[b] = lines[b], lines[a]
    elif how == 6:
        lines[at] += " # meets"
    else:
        lines.append("zzz==1.0")
    files[VERSIONS] = ("\n".join(lines) + "\n").encode()
    return f"kind {how} at {at}"


@change("bag")
def its_facts(files: Files, rng: Random) -> str:
    lines = files[INFO].decode().splitlines()
    at = rng.choice([i for i, line in enumerate(lines) if not line.startswith("Payload-Oxum")])
    how = rng.randrange(5)
    if how == 0:
        lines[at] += " approved"
    elif how == 1:
        lines.insert(at, f"Contact-Name: {rng.random()}")
    elif how == 2:
        lines.pop(at)
    elif how == 3:
        lines.insert(at, lines[at])
    else:
        lines.reverse()
    files[INFO] = ("\n".join(lines) + "\n").encode()
    return f"kind {how} at {at}"


@change("bag")
def what_a_bag_is(files: Files, rng: Random) -> str:
    text = files["bagit.txt"]
    files["bagit.txt"] = rng.choice(
        [
            text + b"Approved: yes\n",
            text.replace(b"0.97", b"0.96"),
            text + b"\n",
            text.replace(b"UTF-8", b"utf-8"),
        ]
    )
    return repr(files["bagit.txt"][-40:])
