"""Open the truth of a practice study and hold a student's decisions, evidence and reasons against it."""

from __future__ import annotations

import html
import json
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError
from linestudy.results.finding import aligned, table_html
from linestudy.simulate.practice.decision_form import DECIDED, NAME, Form, Named, read_form
from linestudy.simulate.practice.evidence import (
    NUMBERS,
    WORDS,
    Held,
    numbers_in,
    numbers_of_study,
    rests_on,
)
from linestudy.simulate.practice.kinds import APPROVAL, KINDS, UNKNOWN, Kind
from linestudy.simulate.practice.lessons import LESSONS
from linestudy.simulate.practice.line import PARTS
from linestudy.simulate.practice.sealing import opened
from linestudy.simulate.practice.writing import SEALED, sums

if TYPE_CHECKING:
    import pandas as pd

#: Points: a decision and its reason; a fault named, its place, its number, what is asked for, its reason.
DECISION, REASON, FAULT, WHERE, NUMBER, ASK = 2, 1, 3, 1, 1, 1
#: So many words beside a number that was shown elsewhere are a sentence, whatever number they bear.
FULL = 8
#: What a reason must be.
_SENTENCE = f"a sentence of {WORDS} words or more with a number"
#: What naming a fault brings where neither its number nor its place shows that it was seen: it may have been guessed.
GUESSED = 1
#: What a fault costs that is not there.
INVENTED = 2
#: Above what the faults of a study teach.
_SHOWN = "Where each fault shows, and what it means:"
#: A stroke is right within this share of the run.
_NEAR = 0.04
#: Words that people write beside the label of a place.
_BESIDE = frozenset(
    [
        "in",
        "on",
        "at",
        "of",
        "from",
        "the",
        "only",
        "no",
        "nr",
        "number",
        "lane",
        "station",
        "stream",
        "cavity",
        "side",
        "coil",
        "person",
        "appraiser",
        "inspector",
        "operator",
    ]
)
#: A number of a stroke, thousands apart or not.
_STROKE = re.compile(r"\d{1,3}(?:[,.'’ \u00a0\u202f]\d{3})+(?!\d)|\d{1,9}")


@dataclass(frozen=True)
class Line:
    """One line of a grade.

    Attributes
    ----------
    what, answer, truth : str
        What was asked, what the student said, what is true.
    points, of : float
        Got, and to be had.
    """

    what: str
    answer: str
    truth: str
    points: float
    of: float


@dataclass(frozen=True)
class Grade:
    """The grade of a form.

    Attributes
    ----------
    student : str
    lines : tuple of Line
    changed : tuple of str
        Files that are not as they were handed out.
    lessons : tuple of str
        Where each fault that is there shows, and why the decision depends on it.
    seed, level : int
        Which study it was: a class sees by them whose form was handed in.
    alone : bool
        Whether the truth lay open beside the study, so that nobody but the student answers for the form.
    """

    student: str
    lines: tuple[Line, ...]
    changed: tuple[str, ...]
    seed: int
    level: int
    alone: bool = False
    lessons: tuple[str, ...] = ()

    @property
    def points(self) -> float:
        """Points in all, never less than none."""
        return max(sum(line.points for line in self.lines), 0.0)

    @property
    def of(self) -> float:
        """Points to be had."""
        return sum(line.of for line in self.lines)

    @property
    def share(self) -> float:
        """Points as a share of those to be had."""
        return self.points / self.of

    def table(self) -> pd.DataFrame:
        """Return the grade line by line.

        Returns
        -------
        pandas.DataFrame
        """
        import pandas as pd

        rows = [
            {
                "what": line.what,
                "said": line.answer or "–",
                "true": line.truth.replace("-", "−", 1) if line.truth[:1] == "-" else line.truth,
                "points": f"{line.points:g} of {line.of:g}",
            }
            for line in self.lines
        ]
        return pd.DataFrame(rows)

    @property
    def statement(self) -> str:
        """The result in a sentence or two."""
        who = self.student or "Without a name"
        text = (
            f"{who}, study of seed {self.seed} and level {self.level}: {self.points:g} of {self.of:g} points, "
            f"{100 * self.share:.0f} %."
        )
        if self.alone:
            text += " Graded without a teacher: the truth lay beside the study."
        if self.changed:
            text += f" Changed since it was handed out: {', '.join(self.changed)}."
        return text

    def __str__(self) -> str:
        lessons = ["", _SHOWN, *(f"* {text}" for text in self.lessons)] if self.lessons else []
        return "\n".join([*aligned(self.table()), *lessons, "", self.statement])

    __repr__ = __str__

    def _repr_html_(self) -> str:
        shown = "".join(f"<li>{html.escape(text)}</li>" for text in self.lessons)
        shown = f"<p>{_SHOWN}</p><ul>{shown}</ul>" if shown else ""
        return f"{table_html(self.table())}{shown}<p><b>{html.escape(self.statement)}</b></p>"


def lies_open(folder: str | Path) -> bool:
    """Say whether the truth of a practice study opens without a teacher.

    Parameters
    ----------
    folder : str or pathlib.Path

    Returns
    -------
    bool

    Raises
    ------
    InputError
        There is no sealed truth.
    """
    return bool(_sealed(Path(folder)).get("salt"))


def undecided(folder: str | Path) -> tuple[str, ...]:
    """List what a form still leaves open.

    Parameters
    ----------
    folder : str or pathlib.Path

    Returns
    -------
    tuple of str

    Raises
    ------
    InputError
        The form cannot be read.
    """
    form = read_form(Path(folder) / NAME)
    return tuple(name for name in DECIDED if not form.decisions.get(name))


def _sealed(folder: Path) -> dict[str, Any]:
    """Read the file of the sealed truth."""
    try:
        content = json.loads((folder / SEALED).read_text(encoding="utf-8"))
        return {"sealed": str(content["sealed"]), "salt": content.get("salt")}
    except FileNotFoundError:
        raise InputError(str(folder), "is no practice study", "name its folder") from None
    except (ValueError, KeyError, TypeError, AttributeError):
        raise InputError(SEALED, "is damaged", "take the file that was handed out") from None


def truth_of(folder: str | Path, salt: bytes | None = None) -> dict[str, Any]:
    """Open what was planted in a practice study.

    Parameters
    ----------
    folder : str or pathlib.Path
    salt : bytes, optional
        From the teacher's file; the one beside the truth when absent.

    Returns
    -------
    dict
        ``faults`` with kind, about, where, number; ``decisions``; seed and level.

    Raises
    ------
    InputError
        There is no sealed truth, no salt, or another one.
    """
    content = _sealed(Path(folder))
    if salt is None and content["salt"]:
        try:
            salt = bytes.fromhex(content["salt"])
        except (ValueError, TypeError):
            raise InputError(SEALED, "is damaged", "take the file that was handed out") from None
    if salt is None:
        raise InputError(
            str(folder), "was sealed by a teacher", "name the teacher's file with --teacher"
        )
    return opened(content["sealed"], salt)


def grade(folder: str | Path, *, salt: bytes | None = None) -> Grade:
    """Reveal the truth of a practice study and score the student's form against it.

    Parameters
    ----------
    folder : str or pathlib.Path
        With the form, filled in.
    salt : bytes, optional
        From the teacher's file; the one beside the truth when absent.

    Returns
    -------
    Grade

    Raises
    ------
    InputError
        The truth cannot be opened, or the form cannot be read.

    Notes
    -----
    For each decision 2 points and 1 for its reason; for each fault 3 for naming it with its number or its place (1 where
    both are wrong, for then it may have been guessed), 1 for its place where it has one, 1 for its number, 1 for what is
    asked for, 1 for the reason. A fault that is not there costs 2. Who names a fault that
    lets nobody know how the parts are, and asks for the customer's approval instead of refusing, gets 1 for the decision.

    Whether a reason is a good one no program can say, and the teacher reads it. It counts as given beside a right answer
    where it is a sentence of five words or more, written once, with a number that this study holds (an index, %GRR, a count,
    the fault's own number or place); where the fault is named, a sentence of eight words may bear any number.
    """
    target = Path(folder)
    truth = truth_of(target, salt)
    form = read_form(target / NAME)
    reasons = _Reasons(form, truth["faults"], numbers_of_study(target))
    lines = []
    for name in DECIDED:
        said, right = form.decisions.get(name, ""), truth["decisions"][name]
        points = DECISION * (said == right)
        if (said, right) == (APPROVAL, UNKNOWN) and reasons.named(name):
            points = DECISION / 2
        lines.append(Line(f"{name}: decision", said, right, points, DECISION))
        lines.append(reasons.line(name, name, form.reasons.get(name, ""), points > 0))
    left = list(form.faults)
    for fault in truth["faults"]:
        found = next(
            (one for one in left if (one.kind, one.about) == (fault["kind"], fault["about"])), None
        )
        if found is not None:
            left.remove(found)
        lines += _held_against(fault, found, reasons)
    lines += [
        Line(f"{one.about}: {one.kind}", "named", "not there", -float(INVENTED), 0) for one in left
    ]
    now = sums(target)
    changed = [name for name, total in truth["sums"].items() if now.get(name) != total]
    alone = salt is None
    lessons = tuple(
        f"{one['about']}, {one['kind']}: {LESSONS[one['kind']]}" for one in truth["faults"]
    )
    return Grade(
        form.student, tuple(lines), tuple(changed), truth["seed"], truth["level"], alone, lessons
    )


def _held_against(fault: dict[str, Any], found: Named | None, reasons: _Reasons) -> list[Line]:
    kind = KINDS[fault["kind"]]
    what = f"{fault['about']}: {kind.key}"
    there = found is not None
    number = found.number if found is not None else None
    right = number is not None and _same_number(number, fault["number"], kind)
    place = found.where if found is not None else ""
    near = bool(kind.where and there) and _same_place(place, fault["where"], kind.where)
    seen = right or near
    text = kind.text if seen or not there else f"{kind.text}; its number shows it"
    points = (FAULT if seen else GUESSED) * there
    lines = [Line(what, "named" if there else "", text, points, FAULT)]
    if kind.where:
        lines.append(Line(f"{what}, {kind.where}", place, fault["where"], WHERE * near, WHERE))
    shown = "" if number is None else f"{number:.4g}"
    lines.append(
        Line(
            f"{what}, {kind.number}", shown, _within(fault["number"], kind), NUMBER * right, NUMBER
        )
    )
    ask = found.ask if found is not None else ""
    lines.append(
        Line(f"{what}, asked for", ask, " or ".join(kind.ask), ASK * (ask in kind.ask), ASK)
    )
    reason = found.reason if found is not None else ""
    lines.append(reasons.line(what, fault["about"], reason, there, proven=right))
    return lines


def _within(true: float, kind: Kind) -> str:
    """Write the number of a fault, and how near to it counts as right."""
    near = f" (within {100 * kind.tolerance:g} %)" if kind.tolerance >= 0.01 else ""
    return f"{true:.4g}{near}"


def _same_number(number: float, true: float, kind: Kind) -> bool:
    # A share may be written as one: 0.42 for 42 %.
    meant = (number, 100 * number) if kind.in_per_cent and abs(number) <= 1 else (number,)
    return any(abs(each - true) <= kind.tolerance * abs(true) for each in meant)


def _same_place(said: str, true: str, kind: str) -> bool:
    if kind != "stroke":
        # "in coil C3" is C3; "L R" is neither.
        words = [one for one in re.findall(r"\w+", said.lower()) if one not in _BESIDE]
        return words == [true.lower()]
    # Of "1 to 2" both ends must be near; decimals of a stroke say nothing.
    found = _STROKE.findall(re.sub(r"(?<=\d)[.,]\d{1,2}(?!\d)", "", said))
    strokes = [int(re.sub(r"\D", "", one)) for one in found]
    return 1 <= len(strokes) <= 2 and all(abs(one - int(true)) <= _NEAR * PARTS for one in strokes)


class _Reasons:
    """Which reasons count: sentences, each written once, that rest on something."""

    def __init__(self, form: Form, faults: list[dict[str, Any]], numbers: dict[str, Held]) -> None:
        self._faults = faults
        self._named = {(one.kind, one.about) for one in form.faults}
        self._numbers = numbers
        self._written = Counter(
            _plain(text) for text in (*form.reasons.values(), *(one.reason for one in form.faults))
        )

    def named(self, about: str) -> bool:
        """Check whether a fault that exists was named."""
        return any((f["kind"], f["about"]) in self._named for f in self._faults if f["about"] == about)  # fmt: skip

    def line(
        self, what: str, about: str, reason: str, right: bool, *, proven: bool | None = None
    ) -> Line:
        """Grade a reason beside an answer, and say why not higher.

        `proven` says of a fault whether its number was given; of a decision it is enough that its fault was named.
        """
        lack = self._lack(about, reason, self.named(about) if proven is None else proven)
        shown = reason if len(reason) <= 60 else f"{reason[:57]}…"
        points = REASON * (right and not lack)
        return Line(f"{what}, reason", shown, lack or _SENTENCE, points, REASON)

    def _lack(self, about: str, reason: str, proven: bool) -> str:
        numbers = numbers_in(reason)
        words = set(re.findall(r"[^\W\d_]{2,}", reason.lower()))
        if not numbers or len(words) < WORDS - 1 or len(reason.split()) < WORDS:
            return _SENTENCE
        if self._written[_plain(reason)] > 1:
            return "a sentence of its own: this one stands elsewhere too"
        if len(numbers) > NUMBERS:
            return f"one number that shows it, not {len(numbers)}"
        if proven and len(words) >= FULL:
            return ""
        there = [f for f in self._faults if f["about"] == about]
        places = [float(f["where"]) for f in there if f["where"].isdigit()]
        held = self._numbers.get(about, Held())
        # A fault's own number is right in a sentence as far as it is right on its line.
        rests = rests_on(reason, (*held.numbers, *places), held.index) or any(
            rests_on(reason, (f["number"],), share=KINDS[f["kind"]].tolerance) for f in there
        )
        return "" if rests else "a number that this study holds"


def _plain(text: str) -> str:
    return re.sub(r"\W+", " ", text.lower()).strip()
