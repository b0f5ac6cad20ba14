"""study.toml of the sample study, written out with its comments."""

from __future__ import annotations

from linestudy.simulate.samples import scenario as line

_HEAD = """\
# The sample study. Plant, part, people and numbers are invented; the data were simulated
# (truth.json beside this file holds the true parameters).
format = 1

[study]
title = "Initial study of the fork receptacle QC-28"
part = "QC-28 fork receptacle for 2.8 mm tabs, CuSn6 0.40 mm, tin-plated"
revision = "C"
supplier = "Quillmoor Contacts (invented)"
date = "2025-10-27"
line_rate = {rate}            # strokes per minute, one row
confidence = 0.95
seed = {seed}

# No [criteria] table: the defaults hold, and the dossier names their sources.
"""

_JUDGED = """\
[[characteristic]]
id = "pull"
name = "Seam pull force"
unit = "N"
lower = 60.0
bound = 0.0
special = true

[[characteristic]]
id = "appearance"
name = "Seam appearance"
"""

_GAUGES = """\
[[gauge]]
id = "camera"
name = "In-die camera"
resolution = 0.001
unit = "mm"
expanded_uncertainty = 0.0010   # from its calibration certificate
coverage = 2

[[gauge]]
id = "cmm"
name = "CMM"
resolution = 0.0001
unit = "mm"
expanded_uncertainty = 0.0006
coverage = 2

[[gauge]]
id = "puller"
name = "Pull tester"
resolution = 0.1
unit = "N"
"""

_DATA = """\
# Every part of two hours. The computer of the line writes 9999 where the camera saw nothing.
[[data]]
role = "run"
gauge = "camera"
file = "data/run.csv.gz"
columns = {{ {run} }}
order = "Stroke"
time = "Time"
coil = "Coil"
stop = "Run"
station = "Station"
verdict = "Verdict"
accept = ["ok"]
reject = ["nok"]
purge = ["purged"]
set_aside_verdict = {{ purged = "the first parts after a stop go to the purge bin and are not product" }}
image = "Image"
subgroup = {{ size = 5, every = 250 }}
missing = ["", "9999"]
unit = "mm"

# Ten parts put back into the fixture by three setters, three times each.
[[data]]
role = "crossed"
gauge = "camera"
file = "data/camera_crossed.csv"
columns = {{ {run} }}
part = "Part"
appraiser = "Operator"
trial = "Trial"
unit = "mm"

[[data]]
role = "crossed"
gauge = "cmm"
file = "data/cmm_crossed.csv"
columns = {{ {cmm} }}
part = "Part"
appraiser = "Operator"
trial = "Trial"
unit = "mm"

# Five masters per characteristic, twelve readings each.
{masters}
# One master read by the camera every two minutes.
{drift}
[[data]]
role = "paired"
gauges = ["camera", "cmm"]
file = "data/paired.csv"
columns = {{ {paired} }}
part = "Part"
unit = "mm"

[[data]]
role = "nested"
gauge = "puller"
file = "data/pull.csv"
columns = {{ pull = "Force" }}
levels = ["Batch"]
size = "SeamWidth"     # as the camera read it before the part was pulled
size_of = "seam"
unit = "N"

[[data]]
role = "attribute"
characteristic = "appearance"
file = "data/appearance.csv"
part = "Part"
appraiser = "Appraiser"
trial = "Round"
judgement = "Judgement"
reference = "Reference"
accept = ["ok"]
reject = ["not ok"]

[[data]]
role = "bins"
file = "data/bins.csv"
period = "Quarter"
accepted = "Accepted"
rejected = "Rejected"
purged = "Purged"

# What happened during the run; charts mark it.
{events}"""


def study_toml(seed: int) -> str:
    """The text of study.toml.

    Parameters
    ----------
    seed : int
        Recorded as the study's seed.

    Returns
    -------
    str
        Text of study.toml.
    """
    parts = [_HEAD.format(rate=line.LINE_RATE, seed=seed)]
    parts += [_characteristic(feature) for feature in line.FEATURES]
    parts += [_JUDGED, _GAUGES, _data()]
    return "\n".join(parts)


def _characteristic(feature: line.Feature) -> str:
    lines = [
        "[[characteristic]]",
        f'id = "{feature.id}"',
        f'name = "{feature.name}"',
        'unit = "mm"',
    ]
    for key in ("nominal", "lower", "upper", "bound"):
        value = getattr(feature, key)
        if value is not None:
            note = "   # a magnitude: cannot be below" if key == "bound" else ""
            lines.append(f"{key} = {value}{note}")
    low, high = feature.plausible
    lines.append(f"plausible = [{low}, {high}]   # a reading outside is not of this part")
    lines.append("special = true")
    return "\n".join(lines) + "\n"


def _data() -> str:
    features = line.FEATURES
    run = ", ".join(f'{f.id} = "{f.column}"' for f in features)
    cmm = ", ".join(f'{f.id} = "{f.cmm_column}"' for f in features)
    paired = ", ".join(f'{f.id} = ["{f.column}", "CMM_{f.cmm_column}"]' for f in features)
    masters = "".join(
        _with_master("reference", "masters.csv", f, 'part = "Part"') for f in features
    )
    drift = "".join(_with_master("drift", "drift.csv", f, 'order = "Stroke"') for f in features)
    events: list[tuple[int, str, str | None]] = [
        (at, "coil change", None) for at in line.COILS_FROM[1:]
    ]
    events += [(line.REGRIND_AT, "punch reground", "blade")]
    events += [(at, "lens wiped", "seam") for at in line.WIPES]
    return _DATA.format(
        run=run,
        cmm=cmm,
        paired=paired,
        masters=masters,
        drift=drift,
        events="\n".join(_event(*event) for event in sorted(events, key=lambda e: e[0])),
    )


def _with_master(role: str, file: str, feature: line.Feature, tag: str) -> str:
    return (
        f'[[data]]\nrole = "{role}"\ngauge = "camera"\nfile = "data/{file}"\n'
        f'columns = {{ {feature.id} = "{feature.column}" }}\n'
        f'reference = "{feature.column}Master"\n{tag}\nunit = "mm"\n\n'
    )


def _event(at: int, name: str, characteristic: str | None) -> str:
    # A coil change sets neither tool nor camera anew.
    only = f'characteristic = "{characteristic}"\n' if characteristic else "resets = false\n"
    return f'[[event]]\nat = {at}\nname = "{name}"\n{only}'
