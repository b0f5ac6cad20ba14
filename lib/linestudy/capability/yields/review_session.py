"""A review of stored pictures as a notebook goes through it: draw, look, judge, and hold the verdicts against it."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linestudy.capability.yields.review_sample import ReviewSheet, review_sheet
from linestudy.capability.yields.review_study import (
    ReviewStudy,
    camera_judgements,
    review_of_verdicts,
)
from linestudy.gauges.budget.risk_study import ConformityRisk
from linestudy.gauges.judgement.judgements import AttributeStudy, judgement_agreement
from linestudy.results import CannotJudge, Findings, Unjudged

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study

#: Where judgements and the camera's attribute study are kept, within the study folder.
JUDGED, CAMERA = "review.csv", "review_of_the_camera.csv"
_TITLE = "Review of stored pictures"
_TABLE = """[[data]]
role = "attribute"
characteristic = "ID of a characteristic without limits"
file = "{file}"
part = "part"
appraiser = "appraiser"
judgement = "judgement"
reference = "reference"
accept = ["accept"]
reject = ["reject"]
"""


@dataclass(frozen=True)
class Review:
    """A review of the pictures of one study.

    Attributes
    ----------
    sheet : ReviewSheet or Unjudged
        The parts drawn, or why there are none.
    folder : pathlib.Path
        The study folder.
    """

    sheet: ReviewSheet | Unjudged
    folder: Path
    risks: dict[str, ConformityRisk] = field(repr=False)
    confidence: float = 0.95

    def ask(self, appraiser: str) -> Any:
        """Show the parts with two choices each (notebook only); what is chosen is kept in ``review.csv``.

        Parameters
        ----------
        appraiser : str
            Who judges.

        Returns
        -------
        ipywidgets.VBox or Unjudged
        """
        if isinstance(self.sheet, Unjudged):
            return self.sheet
        return self.sheet.ask(self.folder / JUDGED, appraiser)

    def result(self) -> ReviewStudy | Unjudged:
        """Hold the line's verdicts against what has been judged.

        Returns
        -------
        ReviewStudy or Unjudged
            Escapes, overkill and rates of error of the whole run.
        """
        try:
            sheet, table = self._judged()
            return review_of_verdicts(sheet, table, risks=self.risks, confidence=self.confidence)
        except CannotJudge as stop:
            return Unjudged(_TITLE, stop.reason)

    def camera_study(self, *, keep: bool = False) -> AttributeStudy | Unjudged:
        """Judge the camera's verdict as an appraiser, the people being the reference.

        Parameters
        ----------
        keep : bool
            Whether its judgements are written to ``review_of_the_camera.csv``, for ``description``.

        Returns
        -------
        AttributeStudy or Unjudged
        """
        try:
            sheet, judged = self._judged()
            table = camera_judgements(sheet, judged)
            if keep:
                words = table.replace({True: "accept", False: "reject"})
                words.to_csv(self.folder / CAMERA, index=False)
            return judgement_agreement(table, confidence=self.confidence)
        except CannotJudge as stop:
            return Unjudged(_TITLE, stop.reason)

    @property
    def description(self) -> str:
        """The table of study.toml that makes the camera's attribute study part of the study."""
        return _TABLE.format(file=CAMERA)

    def _judged(self) -> tuple[ReviewSheet, pd.DataFrame]:
        import pandas as pd

        if isinstance(self.sheet, Unjudged):
            raise CannotJudge(self.sheet.reason)
        file = self.folder / JUDGED
        if not file.is_file():
            raise CannotJudge("No part has been judged yet.")
        return self.sheet, pd.read_csv(file, dtype=str)


def review(
    study: Study,
    records: Records,
    findings: Findings | None = None,
    *,
    each: int = 20,
    seed: int | None = None,
) -> Review:
    """Draw parts for a review of their pictures, or say why there are none.

    Parameters
    ----------
    study : Study
        Its run names ``verdict`` and ``image``.
    records : Records
        Its records.
    findings : Findings, optional
        With the gauge's risks of wrong verdicts.
    each : int
        Most parts of each group.
    seed : int, optional
        Of the draw; the study's own when absent.

    Returns
    -------
    Review
        Shows the parts, asks, and judges the verdicts.

    See Also
    --------
    review_sheet : Draws the parts.
    review_of_verdicts : What the judgements say.

    Notes
    -----
    As in :func:`review_sheet` and :func:`review_of_verdicts`.

    References
    ----------
    As in :func:`review_of_verdicts`.

    Examples
    --------
    See ``notebooks/submission/8_review.ipynb``.
    """
    try:
        sheet: ReviewSheet | Unjudged = review_sheet(study, records, each=each, seed=seed)
    except CannotJudge as stop:
        sheet = Unjudged(_TITLE, stop.reason)
    risks: dict[str, ConformityRisk] = {}
    for item in study.characteristics:
        for found in (findings or Findings()).of(item.id, "gauges").values():
            if isinstance(found, ConformityRisk):
                risks.setdefault(item.id, found)
    return Review(sheet, study.folder, risks, study.confidence)
