"""What a customer's form can be filled with: names on offer, and their values in a study."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linestudy.dossier.content.sheet import BLANK, Sheet, sheets
from linestudy.gauges.judgement.grades import GRADES, Concordance, GradedStudy
from linestudy.results import Absent, Interval
from linestudy.verdict.measurement_facts import NAMELESS

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation

#: What goes into a cell.
Value = str | float

#: Names about the study as a whole, each after ``study.``, with what they stand for.
OF_STUDY = {
    "title": "title of the study",
    "part": "part",
    "revision": "revision",
    "customer": "customer",
    "supplier": "supplier",
    "date": "date of submission",
    "drawing": "number of the drawing",
    "drawing_date": "date of the drawing",
    "change": "engineering change",
    "supplier_code": "supplier code",
    "order": "order",
    "reason": "reason of submission",
    "level": "level of submission",
    "lot": "lot",
    "contact": "contact",
    "press": "press",
    "die": "die",
    "material": "material",
    "shift": "shift",
    "operators": "operators",
    "time": "begin and end of the run",
    "coils": "coils of the run",
    "stations": "stations of the run",
    "strokes": "first and last stroke of the run",
    "made": "parts made",
    "rejected": "parts rejected",
}

#: Names about one characteristic, each after its id and a dot.
OF_CHARACTERISTIC = {
    "number": "number on the drawing",
    "name": "name",
    "limits": "limits in words",
    "nominal": "nominal value",
    "lower": "lower limit",
    "upper": "upper limit",
    "unit": "unit",
    "special": "yes or no",
    "gauge": "gauge that it is decided with",
    "n": "readings, or parts judged",
    "mean": "mean",
    "sd": "standard deviation of all values",
    "smallest": "smallest reading",
    "largest": "largest reading",
    "Pp": "Pp of all values",
    "Ppk": "index that decides",
    "Ppk_bound": "its one-sided lower confidence bound",
    "stream": "stream with the lowest index",
    "ppm": "parts expected outside the limits, per million",
    "grr": "%GRR",
    "grr_low": "lower end of its interval",
    "grr_high": "upper end of its interval",
    "ndc": "number of distinct categories",
    "effectiveness": "judgements: lowest effectiveness of an appraiser, %",
    "miss_rate": "judgements: highest miss rate of an appraiser, %",
    "false_alarm_rate": "judgements: highest false alarm rate of an appraiser, %",
    "kappa": "judgements: lowest kappa against the reference",
    "kappa_between": "judgements: kappa between appraisers",
    "graded_kappa": "grades: lowest weighted kappa against the reference",
    "graded_kappa_between": "grades: weighted kappa between appraisers",
    "concordance": "grades: Kendall's W",
    "out": "points out of control",
    "in_control": "yes or no",
    "distribution": "distribution that decides",
    "decision": "decision",
    "reason": "its reason",
}


#: Names that are a date.
DATES = ("study.date", "study.drawing_date")
#: Names that are a percentage.
PER_CENT = ("grr", "grr_low", "grr_high", "effectiveness", "miss_rate", "false_alarm_rate")


def listed() -> str:
    """List every name on offer with what it stands for, for a terminal.

    Returns
    -------
    str
    """
    lines = [
        "A form is a workbook of the customer's, named in study.toml:",
        "",
        "    [form]",
        '    file = "customer.xlsx"',
        '    cells = { "Results!C5" = "study.part", "Results!D9" = "blade.Ppk" }   # optional',
        "",
        "Cells with one of these defined names, and the cells listed, are filled; all else keeps its bytes.",
        "A cell whose format is a percentage gets %GRR and rates as a share, one whose format is a date gets a date such as",
        "2026-03-31 as a date. Letter case does not count.",
        "",
    ]
    width = max(map(len, (*OF_STUDY, *OF_CHARACTERISTIC))) + 6
    lines += [f"  {f'study.{name}':{width}}  {what}" for name, what in OF_STUDY.items()]
    lines += ["", "For each characteristic, its id in place of ID (a hyphen in it becomes _):", ""]
    lines += [f"  {f'ID.{name}':{width}}  {what}" for name, what in OF_CHARACTERISTIC.items()]
    return "\n".join(lines)


def on_offer(evaluation: Evaluation) -> dict[str, Value]:
    """Return every name that a form may ask for, with its value; blank where the study has none.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    dict of str to str or float
        Numbers as the document prints them; a dash where a number does not apply.
    """
    found: dict[str, Value] = {f"study.{name}": value for name, value in _study(evaluation).items()}
    for one in sheets(evaluation):
        graded = evaluation.findings.get(one.item.id, *GRADES.at())
        named = _characteristic(one) | _judged(one, graded)
        for name, value in named.items():
            found[f"{as_name(one.item.id)}.{name}"] = value
    return found


def as_name(key: str) -> str:
    """Write an id as a spreadsheet's name may hold it: without hyphens.

    Parameters
    ----------
    key : str

    Returns
    -------
    str
    """
    return key.replace("-", "_")


def _study(evaluation: Evaluation) -> dict[str, Value]:
    from linestudy.dossier.content.report.front import counted_parts, run_facts

    study = evaluation.study
    known = study.file.identification.model_dump() | study.file.line.model_dump()
    made, rejected = counted_parts(evaluation)
    known |= {key: getattr(study.head, key) for key in _HEAD} | run_facts(evaluation)
    known |= {
        "revision": study.head.known_revision,
        "made": made.partition(" ")[0],
        "rejected": rejected.partition(" ")[0],
    }
    return {
        name: _number(known.get(name) or "")
        if name in ("made", "rejected")
        else known.get(name) or ""
        for name in OF_STUDY
    }


_HEAD = ("title", "part", "revision", "customer", "supplier", "date")


def _characteristic(one: Sheet) -> dict[str, Value]:
    item, gauge = one.item, one.verdict.facts.gauge
    share = gauge.share.times(100) if isinstance(gauge.share, Interval) else None
    limits = {key: getattr(item, key) for key in ("nominal", "lower", "upper")}
    found: dict[str, Value] = {
        "special": "yes" if one.special else "no",
        "gauge": "" if gauge.name == NAMELESS else gauge.name,
        "grr_low": BLANK if share is None else _number(f"{share.low:.1f}"),
        "grr_high": BLANK if share is None else _number(f"{share.high:.1f}"),
        "Ppk_bound": _number(one.bound),
        "out": _number(one.control.partition(" ")[0]),
        **{key: "" if value is None else float(value) for key, value in limits.items()},
    }
    for name in OF_CHARACTERISTIC:
        if name not in found and name not in _JUDGED:
            text = getattr(one, name)
            found[name] = text if name in _WORDS else _number(text)
    return found


#: Names about judgements.
_JUDGED = (
    "effectiveness",
    "miss_rate",
    "false_alarm_rate",
    "kappa",
    "kappa_between",
    "graded_kappa",
    "graded_kappa_between",
    "concordance",
)


def _judged(one: Sheet, graded: object) -> dict[str, Value]:
    """Return the rates of judgements, those of the worst appraiser; a dash where nobody judged."""
    facts = one.verdict.facts.judgement
    rates = (facts.effectiveness, facts.miss, facts.false_alarm)
    kappas = [facts.kappa, facts.kappa_between]
    concordance: Value = BLANK
    if isinstance(graded, GradedStudy):
        against = [k for k in graded.kappa_with_reference.values() if isinstance(k, Interval)]
        lowest = min(against, key=lambda k: k.estimate) if against else Absent("no reference")
        kappas += [lowest, graded.kappa_between]
        if isinstance(graded.concordance, Concordance):
            concordance = float(f"{graded.concordance.w:.2f}")
    else:
        kappas += [Absent("no grades")] * 2
    values = [float(f"{100 * v.estimate:.1f}") if isinstance(v, Interval) else BLANK for v in rates]
    values += [float(f"{k.estimate:.2f}") if isinstance(k, Interval) else BLANK for k in kappas]
    return dict(zip(_JUDGED, (*values, concordance), strict=True))


#: Fields that are text whatever they hold.
_WORDS = (
    "number",
    "name",
    "limits",
    "unit",
    "stream",
    "in_control",
    "distribution",
    "decision",
    "reason",
)


def _number(text: str) -> Value:
    """Read a printed number; return the text where it is none, as in "< 0.001"."""
    try:
        return float(text.replace(",", "").replace("−", "-"))
    except ValueError:
        return text
