"""A rule on what was left out: no large part of the production disappears in an annex."""

from __future__ import annotations

from linestudy.results import counted
from linestudy.verdict.criteria import Criteria
from linestudy.verdict.facts import LeftOut
from linestudy.verdict.rules.rule import Seen, rule, says
from linestudy.verdict.rulings import APPROVAL, SUPPORTS, Ruling

#: Share of rejected parts without a reading and without a reason beyond which they are more than a camera's misses (common practice).
MOST_UNREAD = 0.001


@rule(
    "exclusions",
    group="sorting",
    kinds=("process",),
    reads=(
        "circumstances.left_out",
        "circumstances.excluded",
        "circumstances.set_aside",
        "process.n",
        "record.chosen",
        "record.rejected_unread",
    ),
    criteria=(),
    source="one in a hundred for one reason, one rejected part in a thousand without a reading: common practice, no source",
    silent="No readings of the process are in the folder.",
)
def exclusions(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge readings left out: each reason for more than one in a hundred is stated with the decision."""
    if seen["record.chosen"]:
        return _by_choice(seen["record.chosen"])
    n = seen["process.n"]
    if not n:
        return None
    unread = seen["record.rejected_unread"]
    if unread > MOST_UNREAD * n:
        return says(
            APPROVAL,
            f"{counted(unread, 'rejected part')} without a reading ({unread / (n + unread):.2%}), while accepted parts have theirs: the "
            "readings are those of the parts that were not rejected; customer approval required.",
        )
    large = seen["circumstances.left_out"]
    if not large:
        some = seen["circumstances.excluded"] or seen["circumstances.set_aside"]
        said = "No single reason leaves out more than 1 % of the readings."
        return says(SUPPORTS, said if some else "No reading was left out.")
    (first, *more) = large
    listed = [
        f"{first.share:.1%} of the readings ({first.count:,}) left out: {first.reason}",
        *(f"{item.share:.1%} ({item.count:,}): {item.reason}" for item in more),
    ]
    text = f"{'; '.join(listed)}."
    if not unnamed(large):
        return says(SUPPORTS, text)
    return says(APPROVAL, f"{text} Whether what was left out is like the rest is not known.")


def unnamed(large: tuple[LeftOut, ...]) -> bool:
    """Check whether one of the reasons that leave much out has not been named by anybody."""
    return not all(item.named or item.reason.startswith("repeated row") for item in large)


def _by_choice(n: int) -> Ruling:
    return says(
        APPROVAL,
        f"{counted(n, 'reading')} of this part left out by a choice of rows: customer approval required.",
    )


@rule(
    "rows chosen",
    group="record",
    kinds=("machine", "gauge", "judgement"),
    reads=("record.chosen",),
    criteria=(),
    source="this kit: what a person leaves out is told",
    silent="Every row of the files is read.",
)
def rows_chosen(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether a choice of rows left out readings of a gauge study or a short run."""
    return _by_choice(seen["record.chosen"]) if seen["record.chosen"] else None


RULES = (exclusions, rows_chosen)
