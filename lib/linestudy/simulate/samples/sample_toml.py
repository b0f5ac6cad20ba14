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
customer = "Arbeck Connectors (invented)"
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
number = "18"
unit = "N"
lower = 60.0
bound = 0.0
special = true

[[characteristic]]
id = "appearance"
name = "Seam appearance"
number = "19"
"""

_GAUGES = """\
[[gauge]]
id = "camera"
name = "In-die camera"
resolution = 0.001
unit = "mm"
expanded_uncertainty = 0.0010   # from its calibration certificate
coverage = 2
serial = "VC-0417"
certificate = "K 25-3381"
due = "2026-03-31"

[[gauge]]
id = "cmm"
name = "CMM"
resolution = 0.0001
unit = "mm"
expanded_uncertainty = 0.0006
coverage = 2
serial = "M-1120"
certificate = "K 25-2906"
due = "2026-01-31"

[[gauge]]
id = "puller"
name = "Pull tester"
resolution = 0.1
unit = "N"
serial = "T-88"
certificate = "K 25-1174"
due = "2026-05-31"
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

_TOLD = """\
# What the document says beside the numbers. All of it is optional; what is missing is a blank line there.
[identification]
drawing = "QC-28-100"
drawing_date = "2025-06-16"
change = "EC 25-114"
supplier_code = "Q-4471"
order = "88-20931"
reason = "new tool"
level = "3"
lot = "2510-26"

[line]
press = "Press 4"
die = "D-28-2, two stations"
material = "CuSn6 0.40 mm, tin-plated"
shift = "night"
operators = "Ines, Jan"
gauge_parts = "ten parts that span the sizes of the run, measured in random order"
surroundings = "20 to 24 °C"
deviations = "none"

[[master]]
name = "five masters of each dimension"
gauge = "camera"
expanded_uncertainty = "0.0004 mm (k = 2)"
certificate = "K 25-3012"
due = "2027-02-28"

[[action]]
characteristic = "throat"
action = "look for what widened the gap in coil C420; chart each coil until it is known"
by = "process engineering"
date = "2025-11-14"

[[action]]
characteristic = "shoulder"
action = "bring both stations to the nominal; the camera sorts every part until a second run shows it"
by = "tool shop"
date = "2025-11-07"

[[action]]
characteristic = "seam"
action = "new lighting for the camera, then the gauge study again; clean the lens every 5,000 strokes"
by = "metrology"
date = "2025-11-21"

[[action]]
characteristic = "pull"
action = "pull 60 more parts from five more coils"
by = "laboratory"
date = "2025-11-28"

[[action]]
characteristic = "appearance"
action = "train all three with the parts judged wrongly, then the study again"
by = "quality"
date = "2025-11-14"

{control}"""

#: What is done when a chart of the control plan signals, by characteristic.
_REACTIONS = {
    "blade": "stop, sort back to the last good sample, look at the punch",
    "throat": "stop, sort back to the last good sample, look at coil and bending station",
    "offset": "stop, sort back to the last good sample, look at the pilots",
    "shoulder": "stop, sort back to the last good sample, look at both stations",
    "seam": "stop, sort back to the last good sample, wipe the lens and read a master",
    "pull": "hold the coil, pull ten more",
    "appearance": "hold the box, judge it again by a second person",
}


def study_toml(seed: int) -> str:
    """Write the text of study.toml.

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
    parts += [_JUDGED, _GAUGES, _data(), _TOLD.format(control=_control())]
    return "\n".join(parts)


#: Numbers on the drawing.
_NUMBERS = {"blade": 4, "throat": 7, "offset": 9, "shoulder": 12, "seam": 17}


def _characteristic(feature: line.Feature) -> str:
    lines = [
        "[[characteristic]]",
        f'id = "{feature.id}"',
        f'name = "{feature.name}"',
        f'number = "{_NUMBERS[feature.id]}"',
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


def _control() -> str:
    """Write the control plan's lines; sample, frequency and limits are left to what the run advises."""
    return "\n".join(
        f'[[control]]\ncharacteristic = "{key}"\nreaction = "{text}"\n'
        for key, text in _REACTIONS.items()
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
