"""Parts that people judge: accepted or rejected, or in ordered grades; which columns say so, and what is right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.infer.column_kinds import ColumnKind
from linestudy.records.infer.guesses import (
    Guess,
    Table,
    counts_strokes,
    entries_of,
    is_label,
    is_product,
    tags,
)
from linestudy.records.infer.number_marks import numeric
from linestudy.records.infer.wide_names import by_station, nest
from linestudy.records.infer.words import (
    only_affirms,
    only_signs,
    plain_name,
    says,
    says_fault,
    split_judgement,
)

if TYPE_CHECKING:
    from linestudy.records.text_table import TextTable

#: Words of grades, from the least to the most.
_ORDER = (
    frozenset(["none", "no", "free", "clean", "good", "frei", "kein", "keine", "keiner", "ohne", "gut", "aucun", "aucune", "sans", "无", "なし"]),
    frozenset(["trace", "spur", "very slight", "kaum", "hauch"]),
    frozenset(["slight", "light", "minor", "small", "leicht", "gering", "klein", "léger", "légère", "faible", "轻微", "轻", "軽", "軽微", "小"]),
    frozenset(["medium", "moderate", "mittel", "mäßig", "moyen", "moyenne", "modéré", "中", "中等", "中度"]),
    frozenset(["heavy", "strong", "severe", "major", "large", "bad", "stark", "schwer", "groß", "schlecht", "fort", "forte", "grave", "严重", "重", "重度", "大"]),
)  # fmt: skip
_FEWEST, _MOST = 3, 8

#: What nothing in a sheet of grades says, until somebody is asked.
WHICH_ACCEPT = "say which grades accept: accept = [ … ]"


def graded(table: Table) -> Guess | None:
    """Propose an attribute study in grades.

    Parameters
    ----------
    table : Table

    Returns
    -------
    Guess or None
        None where no column holds grades of parts that several people, or one several times, looked at.
    """
    words = [c for c in table.free("words") if _may_be_grades(c)]
    reference = next((c for c in words if says(c.name, "reference")), None)
    own = [c for c in words if c is not reference]
    found = nest([c.name for c in own]) if len(own) > 1 else None
    entries = {entry for c in own for entry in c.entries}
    known = _in_order(entries)
    if not own or (len(own) > 1 and found is None):
        return None
    if known is None and (reference is None or not set(reference.entries) <= entries):
        return None
    labels = [c for c in table.free("words", "numbers") if c not in words]
    part = next((c for c in labels if says(c.name, "part", "number")), None)
    person = next((c for c in labels if says(c.name, "appraiser")), None)
    if part is None or (found is None and (person is None or part.repeated < 1.9)):
        return None
    guess = Guess(
        "attribute", f"parts judged in {len(entries)} grades: {', '.join(sorted(entries))}"
    )
    source: Any = found.source if found else own[0].name
    guess.keys.append(("judgement", source, entries_of(own[0])))
    table.taken |= {c.name for c in own}
    if reference is not None:
        table.take(guess, "reference", reference, f"what is right; {entries_of(reference)}")
    table.take(guess, "part", part, f"{part.distinct} different entries in {table.rows} rows")
    if found is None:
        tags(table, guess, "appraiser", "trial")
    values = [c for c in table.free("numbers") if not c.whole]
    if len(values) == 1:
        table.take(guess, "measured", values[0], "numbers beside the judgement")
    evidence = (
        "words of grades, from the least to the most" if known else "say in which order they are"
    )
    guess.keys.append(("grades", known or sorted(entries), evidence))
    guess.open.append(WHICH_ACCEPT)
    return guess


def _may_be_grades(column: ColumnKind) -> bool:
    few = _FEWEST <= column.distinct <= _MOST and column.repeated >= 3
    return few and not says(column.name, "appraiser", "part", "station", "coil", "trial", "stop")


def _in_order(entries: set[str]) -> list[str] | None:
    """Sort grades from least to most by their words; None where one is unknown or two mean the same."""
    place = {
        e: next((i for i, words in enumerate(_ORDER) if e.casefold() in words), -1) for e in entries
    }
    if len(entries) < _FEWEST or -1 in place.values() or len(set(place.values())) < len(entries):
        return None
    return sorted(entries, key=place.__getitem__)


def in_order_of_size(table: TextTable, guess: Guess) -> None:
    """Put grades whose words tell no order into that of what was measured behind them.

    Parameters
    ----------
    table : TextTable
    guess : Guess
        Its key ``grades`` is changed.
    """
    held = {key: value for key, value, _ in guess.keys}
    judged, measured = held.get("judgement"), held.get("measured")
    entries = held.get("grades")
    if (
        entries is None
        or _in_order(set(entries))
        or not isinstance(judged, str)
        or measured is None
    ):
        return
    grades = table.cells[judged].astype("string").fillna("").str.strip()
    sizes = numeric(table.cells[measured].astype("string").fillna("").str.strip())
    middles = {
        entry: float(np.nanmedian(sizes[(grades == entry).to_numpy(dtype=bool)]))
        for entry in entries
    }
    ordered = sorted(entries, key=middles.__getitem__)
    guess.keys = [
        (key, ordered, f'as "{measured}" rises with them') if key == "grades" else (key, value, why)
        for key, value, why in guess.keys
    ]


def judgements(table: Table) -> Guess | None:
    """Propose an attribute study of accepted and rejected parts; None where nobody judged parts several times."""
    judged = table.free("judgements")
    reference = next(
        (c for c in judged if says(c.name, "reference") or plain_name(c.name) in _RIGHT), None
    )
    own = [c for c in judged if c is not reference]
    if not own or _beside_readings(table, own):
        return None
    guess = Guess("attribute", "")
    if len(own) > 1:
        found = nest([c.name for c in own])
        if found is None and len({tuple(sorted(c.entries)) for c in own}) > 2:
            return None
        source = found.source if found else {c.name: c.name for c in own}
        guess.why = f"{len(own)} columns of judgements side by side"
        entries = {entry for c in own for entry in c.entries}
        names = ", ".join(c.name for c in own[:8])
        guess.keys.append(("judgement", source, f"judgements in the columns {names}"))
    else:
        person = next(
            (c for c in table.free("words", "numbers") if says(c.name, "appraiser")), None
        )
        part = next(
            (
                c
                for c in table.free("words", "numbers")
                if says(c.name, "part", "number") and c.repeated >= 1.9 and not is_product(c)
            ),
            None,
        )
        measured = [
            c for c in table.free("numbers") if not says(c.name, "part", "number", "order", "trial")
        ]
        if (person is None and part is None) or (len(measured) > 1 and reference is None):
            return None
        if person is None and reference is None and any(map(counts_strokes, table.free("numbers"))):
            # Parts of several stations in a stroke, each with the line's verdict.
            return None
        guess.why = "one judgement a row, of parts that are judged several times"
        entries = set(own[0].entries)
        guess.keys.append(("judgement", own[0].name, entries_of(own[0])))
    table.taken |= {c.name for c in own}
    if reference is not None:
        table.take(guess, "reference", reference, f"what is right; {entries_of(reference)}")
        entries |= set(reference.entries)
    part = table.named("part") or table.named("number") or next(iter(table.free()), None)
    if part is not None:
        table.take(guess, "part", part, f"{part.distinct} different entries in {table.rows} rows")
    if len(own) == 1:
        tags(table, guess, "appraiser", "trial")
    values = [c for c in table.free("numbers") if not c.whole]
    if len(values) == 1:
        table.take(guess, "measured", values[0], "numbers beside the judgement")
    accepted, rejected, other = split_judgement(entries)
    if only_signs(entries):
        guess.open.append(
            f"{accepted[0]} is taken for accepted and {rejected[0]} for rejected; swap accept and reject where "
            f"{accepted[0]} says that a fault was found"
        )
    if accepted:
        guess.keys.append(("accept", accepted, "entries that say accepted"))
    if rejected:
        guess.keys.append(("reject", rejected, "entries that say rejected"))
    if other:
        guess.open.append(f"other entries: {', '.join(other[:6])}; say what they mean")
    return guess


#: What the judgement that is right is called.
_RIGHT = frozenset(["truth", "actual", "expert", "standard", "gold standard", "correct", "true state", "richtig", "wahrheit", "vérité", "verdad", "正解", "标准", "정답"])  # fmt: skip


def _beside_readings(table: Table, own: list[ColumnKind]) -> bool:
    """Check whether verdicts go with readings of several stations or quantities, as in a run."""
    values = [c for c in table.free("numbers") if not is_label(c) and not c.whole]
    names = [plain_name(c.name) for c in values]
    if len(own) > 1 and all(any(name in plain_name(c.name) for name in names) for c in own):
        return True
    order = [c for c in table.columns if c in values or c in own]
    if len(own) > 1 and all(c in (own if at % 2 else values) for at, c in enumerate(order)):
        return True
    stations = by_station([c.name for c in values])
    return len(own) > 1 and stations is not None and len(next(iter(stations.values()))) == len(own)


def verdict(table: Table, guess: Guess) -> None:
    """Find the line's verdict: one column of judgements, or one for each quantity, all of which must accept."""
    judged = table.free("judgements")
    found = [c for c in judged if not only_affirms(c.entries) or _asks_for_a_verdict(c.name)]
    for column in judged:
        if column not in found:
            table.taken.add(column.name)
            guess.open.append(f'verdict = "{column.name}" ?   {entries_of(column)}')
    if not found:
        return
    first, entries = found[0], {entry for c in found for entry in c.entries}
    accepted, rejected, other = split_judgement(entries)
    same = len({says_fault(c.name) and only_affirms(c.entries) for c in found}) == 1
    if len(found) == 1 or not (accepted and rejected) or not same:
        found, (accepted, rejected, other) = [first], split_judgement(set(first.entries))
    if len(found) > 1:
        names = [c.name for c in found]
        table.taken |= set(names)
        guess.keys.append(("verdict", names, "a part is accepted where all of them accept it"))
    else:
        table.take(guess, "verdict", first, entries_of(first))
    signs = {entry.casefold() for entry in first.entries}
    if (only_affirms(signs) or signs == {"0", "1"}) and accepted and rejected:
        accepted, rejected = _affirmed(first, guess, accepted, rejected)
    if accepted:
        guess.keys.append(("accept", accepted, "entries that say accepted"))
    if rejected:
        guess.keys.append(("reject", rejected, "entries that say rejected"))
    if other:
        named = ", ".join(f'"{c.name}"' for c in found)
        guess.open.append(f"{named} also holds {', '.join(other[:6])}: say what they mean")


def _asks_for_a_verdict(name: str) -> bool:
    """Check whether a column's name asks if a part is good or bad, not, say, if it was lubricated."""
    return says(name, "verdict", "accepted") or says_fault(name)


def _affirmed(
    column: ColumnKind, guess: Guess, yes: list[str], no: list[str]
) -> tuple[list[str], list[str]]:
    """Split entries yes and no (1 and 0) into accepted and rejected, by what the column's name asks."""
    name, (most,) = column.name, [yes if _rows_of(column, yes) > _rows_of(column, no) else no]
    if says_fault(name):
        guess.open.append(
            f'"{name}" asks for what is wrong, and {", ".join(no)} is taken for accepted'
        )
        return no, yes
    if most is yes or says(name, "accepted"):
        return yes, no
    # Where most rows say no, it says what is wrong with a part.
    guess.open.append(
        f'"{name}" is {no[0]} in {_rows_of(column, no)} of {column.filled} rows, and {no[0]} is taken for accepted; '
        "swap accept and reject where it is not"
    )
    return no, yes


def _rows_of(column: ColumnKind, entries: list[str]) -> int:
    return sum(n for entry, n in column.entries.items() if entry.strip() in entries)
