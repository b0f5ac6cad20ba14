"""Choose parts of a run whose stored pictures are to be looked at, and collect what people say of them.

Rejected parts, accepted parts with a reading near a limit and any other accepted parts are drawn by chance, each kind
by itself, and shown in random order without the verdict that they had: who knows it sees what they expect.
"""

from __future__ import annotations

import base64
import html
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.numerics import generator
from linestudy.records.files import locate
from linestudy.results import CannotJudge, InputError, arguments
from linestudy.results.extras import require

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: The kinds of parts, in the order of results.
GROUPS = ("rejected", "accepted, near a limit", "accepted")
#: Pictures that a browser shows, and most megabytes of one.
_KINDS = {".png": "png", ".jpg": "jpeg", ".jpeg": "jpeg", ".gif": "gif"}
_LARGEST_MB = 2.0
#: Columns of the file that people fill in.
JUDGEMENTS = ("part", "appraiser", "judgement")


@dataclass(frozen=True)
class ReviewSheet:
    """Parts to be reviewed, in random order.

    Attributes
    ----------
    parts : pandas.DataFrame
        One part per row: ``part`` (stroke and stream), ``group``, ``accepted``, ``picture`` (path within the study folder, empty
        where there is none), and its readings.
    made : dict of str to int
        Parts of each group in the run.
    pictured : dict of str to int
        Those of them with a stored picture.
    characteristics : tuple of str
        Columns of readings.
    """

    parts: pd.DataFrame = field(repr=False)
    made: dict[str, int]
    pictured: dict[str, int]
    characteristics: tuple[str, ...]
    folder: Path = field(repr=False)
    labels: dict[str, str] = field(repr=False)

    def __len__(self) -> int:
        return len(self.parts)

    def picture(self, part: str) -> bytes | None:
        """Read the stored picture of a part.

        Parameters
        ----------
        part : str
            As in ``parts``.

        Returns
        -------
        bytes or None
            None where there is none that a browser shows, or it leads out of the study folder.
        """
        name = str(self.parts.set_index("part")["picture"].get(part, ""))
        if not name or Path(name).suffix.lower() not in _KINDS:
            return None
        try:
            return locate(self.folder, name, _LARGEST_MB).read_bytes()
        except InputError:
            return None

    def to_fill_in(self, appraiser: str) -> pd.DataFrame:
        """Return the rows of a file of judgements, not yet filled in.

        Parameters
        ----------
        appraiser : str
            Who judges.

        Returns
        -------
        pandas.DataFrame
            ``part``, ``appraiser`` and an empty ``judgement``: accept or reject.
        """
        import pandas as pd

        return pd.DataFrame(
            {"part": self.parts["part"].to_numpy(), "appraiser": appraiser, "judgement": ""}
        )

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{number}</td><td>{html.escape(str(row['part']))}</td><td>{self._image(str(row['part']))}</td>"
            + "".join(f"<td>{_shown(row[name])}</td>" for name in self.characteristics)
            + "</tr>"
            for number, (_, row) in enumerate(self.parts.iterrows(), start=1)
        )
        head = "".join(
            f"<th>{html.escape(self.labels[name])}</th>" for name in self.characteristics
        )
        return f"<table><thead><tr><th>no.</th><th>part</th><th>picture</th>{head}</tr></thead><tbody>{rows}</tbody></table>"

    def _image(self, part: str) -> str:
        found = self.picture(part)
        if found is None:
            return "no picture stored"
        kind = _KINDS[Path(str(self.parts.set_index("part")["picture"][part])).suffix.lower()]
        content = base64.b64encode(found).decode("ascii")
        return (
            f'<img alt="part {html.escape(part)}" src="data:image/{kind};base64,{content}" '
            'style="height:72px;image-rendering:pixelated">'
        )

    def ask(self, file: str | Path, appraiser: str) -> Any:
        """Show each part with two choices and keep what is chosen (notebook only).

        Parameters
        ----------
        file : str or pathlib.Path
            A csv file within the study folder; what it holds of other appraisers stays.
        appraiser : str
            Who judges.

        Returns
        -------
        ipywidgets.VBox
        """
        require("notebooks", "ipywidgets", purpose="choices")
        import ipywidgets

        target = Path(file) if Path(file).is_absolute() else self.folder / file
        known = self._known(target, appraiser)
        lines = []
        for number, (_, row) in enumerate(self.parts.iterrows(), start=1):
            part = str(row["part"])
            readings = "; ".join(
                f"{self.labels[name]} {_shown(row[name])}" for name in self.characteristics
            )
            choice = ipywidgets.ToggleButtons(
                options=["not yet", "accept", "reject"], value=known.get(part, "not yet")
            )

            def kept(change: Any, part: str = part) -> None:
                known[part] = change["new"]
                self._keep(target, appraiser, known)

            choice.observe(kept, names="value")
            text = f"<b>{number}</b> {html.escape(part)}<br>{self._image(part)}<br>{html.escape(readings)}"
            lines.append(ipywidgets.HBox([ipywidgets.HTML(text), choice]))
        return ipywidgets.VBox(lines)

    def _known(self, target: Path, appraiser: str) -> dict[str, str]:
        import pandas as pd

        if not target.is_file():
            return {}
        table = pd.read_csv(target, dtype=str).fillna("")
        own = table[table["appraiser"] == appraiser]
        chosen = own[own["judgement"].isin(["accept", "reject"])]
        return dict(zip(chosen["part"], chosen["judgement"], strict=True))

    def _keep(self, target: Path, appraiser: str, known: dict[str, str]) -> None:
        import pandas as pd

        rows = [(part, appraiser, word) for part, word in known.items() if word != "not yet"]
        table = pd.DataFrame(rows, columns=list(JUDGEMENTS))
        if target.is_file():
            others = pd.read_csv(target, dtype=str).fillna("")
            table = pd.concat([others[others["appraiser"] != appraiser], table])
        table.to_csv(target, index=False)


def _shown(value: Any) -> str:
    return "" if value is None or value != value else f"{value:g}"


def review_sheet(
    study: Study,
    records: Records,
    *,
    each: int = 20,
    near_limit: float = 0.1,
    seed: int | None = None,
) -> ReviewSheet:
    """Draw parts for a review of stored pictures.

    Parameters
    ----------
    study : Study
        Its run names ``verdict`` and ``image``.
    records : Records
        Its records.
    each : int
        Most parts of each group.
    near_limit : float
        Share of the tolerance within which a reading is near a limit; of a characteristic with one limit the share of the
        distance from the median to it.
    seed : int, optional
        Of the draw; the study's own when absent.

    Returns
    -------
    ReviewSheet
        Rejected parts, accepted parts near a limit, and other accepted parts, mixed.

    Raises
    ------
    CannotJudge
        No run has verdicts and pictures.
    ValueError, TypeError
        An argument outside its range.

    See Also
    --------
    review_of_verdicts : What the judgements say of the verdict.

    Notes
    -----
    Model: within a group every part with a stored picture is as likely to be drawn as any other, and pictures are stored
    whatever the part looks like. Misleads where pictures are stored for what somebody found remarkable.

    References
    ----------
    Cochran, *Sampling Techniques*, 3rd ed. (1977), ch. 5 (stratified random sampling).

    Examples
    --------
    See ``notebooks/submission/8_review.ipynb``.
    """
    import pandas as pd

    arguments.whole("each", each, least=1)
    arguments.share("near_limit", near_limit)
    source = next(
        (
            one
            for one in records.sources
            if one.data.role == "run" and {"accepted", "image"} <= set(one.frame)
        ),
        None,
    )
    if source is None:
        raise CannotJudge(
            "No run names verdict and image, so there are no pictures of judged parts to be looked at."
        )
    frame = source.frame[source.frame["accepted"].notna() & ~source.frame["set_aside"]]
    measured = [item for item in study.characteristics if item.id in frame]
    accepted = frame["accepted"].to_numpy(dtype=bool)
    close = _near(frame, measured, near_limit) & accepted
    group = np.select([~accepted, close], GROUPS[:2], GROUPS[2])
    picture = frame["image"].fillna("").astype(str)
    parent = Path(source.data.file).parent.as_posix()
    inner = picture.where(picture == "", picture if parent == "." else f"{parent}/" + picture)
    number = frame["order"] if "order" in frame else pd.Series(frame.index + 1, frame.index)
    name = number.map("{:.0f}".format)
    if "station" in frame:
        name = name + " " + frame["station"].fillna("").astype(str)
    shown = (picture != "").to_numpy()
    table = pd.DataFrame(
        {
            "part": name.to_numpy(),
            "group": group,
            "accepted": accepted,
            "picture": inner.to_numpy(),
        }
    )
    for item in measured:
        table[item.id] = frame[item.id].to_numpy(dtype=float)
    rng = generator(study.seed if seed is None else seed, "review")
    drawn = []
    for one in GROUPS:
        there = np.flatnonzero((group == one) & shown)
        drawn.append(rng.choice(there, min(each, there.size), replace=False))
    chosen = rng.permutation(np.concatenate(drawn).astype(int))
    if not chosen.size:
        raise CannotJudge("No part of the run has a stored picture.")
    sheet = ReviewSheet(
        parts=table.iloc[chosen].reset_index(drop=True),
        made={one: int((group == one).sum()) for one in GROUPS},
        pictured={one: int(((group == one) & shown).sum()) for one in GROUPS},
        characteristics=tuple(item.id for item in measured),
        folder=study.folder,
        labels={
            item.id: f"{item.name} ({item.unit})" if item.unit else item.name for item in measured
        },
    )
    if not any(sheet.picture(name) for name in sheet.parts["part"]):
        raise CannotJudge(
            f"The run names {sum(sheet.pictured.values()):,} pictures, and those that were drawn are not in the study folder."
        )
    return sheet


def _near(frame: pd.DataFrame, measured: list[Characteristic], near: float) -> Any:
    """Check whether any reading of a part lies near a limit, or beyond it."""
    found = np.zeros(len(frame), dtype=bool)
    for item in measured:
        y = frame[item.id].to_numpy(dtype=float)
        tolerance = item.tolerance
        for limit, sign in ((item.lower, -1), (item.upper, 1)):
            if limit is not None:
                width = abs(limit - float(np.nanmedian(y))) if tolerance is None else tolerance
                found |= sign * (limit - y) < near * width
    return found
