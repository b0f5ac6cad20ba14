"""The study.toml of the twin contact."""

#: Text of study.toml; ``seed`` is filled in.
STUDY_TOML = """# The second sample study: a two-out tool. Plant, part, people and numbers are invented; the data were
# simulated (truth.json beside this file holds the true parameters).
format = 1

[study]
title = "Initial study of the twin contact TC-12"
part = "TC-12 battery contact, two-out"
revision = "A"
supplier = "Ostermoor Federn (invented)"
date = "2026-04-12"
line_rate = 60            # strokes per minute, two parts each
seed = {seed}

[tool]
name = "TC-12"
parts_per_stroke = 2

[[characteristic]]
id = "height"
name = "Contact height"
unit = "in"
nominal = 0.1180
lower = 0.1150
upper = 0.1210
plausible = [0.09, 0.15]
special = true

[[characteristic]]
id = "window"
name = "Window width"
unit = "in"
nominal = 0.0500
lower = 0.0490
upper = 0.0510
plausible = [0.04, 0.06]
special = true

[[characteristic]]
id = "burr"
name = "Burr height"
unit = "in"
upper = 0.0012
bound = 0.0
plausible = [-0.001, 0.01]

# A laser in the die will close this seam. It is being set up: its gauges are studied and its first parts pulled, its run follows.
[[characteristic]]
id = "seam"
name = "Seam width"
unit = "in"
nominal = 0.0180
lower = 0.0140
upper = 0.0220
plausible = [0.005, 0.04]

[[characteristic]]
id = "pull"
name = "Seam pull force"
unit = "N"
lower = 40.0
bound = 0.0

[[gauge]]
id = "camera"
name = "Camera at the die"
resolution = 0.00001
unit = "in"

[[gauge]]
id = "cmm"
name = "CMM"
resolution = 0.00001
unit = "in"

[[gauge]]
id = "customer"
name = "Customer's CMM"
resolution = 0.00001
unit = "in"

[[gauge]]
id = "puller"
name = "Pull tester"
resolution = 0.1
unit = "N"

# The log of the line: two lines above the header, a row of units, decimal commas, totals at the end. The counter begins
# anew with each job, and the camera writes 999,99 where it saw nothing.
[[data]]
role = "run"
gauge = "camera"
file = "data/log.csv.gz"
columns = {{ height = "Hoehe", window = "Fenster", burr = "Grat" }}
order = ["Auftrag", "Hub"]
time = "Zeit"
time_format = "%d.%m.%Y %H:%M:%S.%f"
station = "Nest"
coil = "Coil"
verdict = "Urteil"
accept = ["i.O."]
reject = ["n.i.O."]
reason = "Grund"
image = "Bild"
subgroup = {{ size = 5, every = 100 }}
missing = ["", "999,99"]
decimal = ","
encoding = "cp1252"

# The camera's earlier study of burr: its lens was cleaned afterwards, and the same parts were read again.
[[data]]
role = "crossed"
gauge = "camera"
occasion = "before the lens was cleaned"
file = "data/msa_before.csv"
decimal = ","
unit = "in"
part = "Teil"
across = ["appraiser", "trial"]

[data.columns.burr]
A = ["Grat A1", "Grat A2", "Grat A3"]
B = ["Grat B1", "Grat B2", "Grat B3"]
C = ["Grat C1", "Grat C2", "Grat C3"]

# A wide sheet: one row for each part, three readings of each of three people, a block for each characteristic.
[[data]]
role = "crossed"
gauge = "camera"
occasion = "after"
file = "data/msa.csv"
decimal = ","
unit = "in"
part = "Teil"
across = ["appraiser", "trial"]

[data.columns.height]
A = ["Hoehe A1", "Hoehe A2", "Hoehe A3"]
B = ["Hoehe B1", "Hoehe B2", "Hoehe B3"]
C = ["Hoehe C1", "Hoehe C2", "Hoehe C3"]

[data.columns.window]
A = ["Fenster A1", "Fenster A2", "Fenster A3"]
B = ["Fenster B1", "Fenster B2", "Fenster B3"]
C = ["Fenster C1", "Fenster C2", "Fenster C3"]

[data.columns.burr]
A = ["Grat A1", "Grat A2", "Grat A3"]
B = ["Grat B1", "Grat B2", "Grat B3"]
C = ["Grat C1", "Grat C2", "Grat C3"]

[[data]]
role = "reference"
gauge = "camera"
file = "data/masters_height.csv"
columns = {{ height = "Reading" }}
reference = "Master"
unit = "in"

[[data]]
role = "reference"
gauge = "camera"
file = "data/masters_window.csv"
columns = {{ window = "Reading" }}
reference = "Master"
unit = "in"

[[data]]
role = "reference"
gauge = "camera"
file = "data/masters_burr.csv"
columns = {{ burr = "Reading" }}
reference = "Master"
unit = "in"

# Burr judged by eye in three grades, with the height that was measured behind each judgement.
[[data]]
role = "attribute"
characteristic = "burr"
file = "data/burr_by_eye.csv"
decimal = ","
part = "Teil"
appraiser = "Pruefer"
judgement = "Grad"
reference = "Wahr"
measured = "Grat"
unit = "in"
grades = ["frei", "leicht", "stark"]
accept = ["frei", "leicht"]

# The seam: ten parts on the camera, and on two coordinate measuring machines in one sheet.
[[data]]
role = "crossed"
gauge = "camera"
file = "weld/seam_camera.csv"
columns = {{ seam = "Naht" }}
decimal = ","
unit = "in"
part = "Teil"
appraiser = "Pruefer"
trial = "Messung"

[[data]]
role = "crossed"
gauge = "cmm"
file = "weld/seam_machines.csv"
columns = {{ seam = ["KMG 1", "KMG 2", "KMG 3"] }}
across = ["trial"]
decimal = ","
unit = "in"
part = "Teil"

[[data]]
role = "crossed"
gauge = "customer"
file = "weld/seam_machines.csv"
columns = {{ seam = ["Kunde 1", "Kunde 2", "Kunde 3"] }}
across = ["trial"]
decimal = ","
unit = "in"
part = "Teil"

# Forty other parts, each once on the camera and once on the CMM.
[[data]]
role = "paired"
gauges = ["camera", "cmm"]
file = "weld/seam_paired.csv"
columns = {{ seam = ["Kamera", "KMG"] }}
decimal = ","
unit = "in"
part = "Teil"

[[data]]
role = "reference"
gauge = "camera"
file = "weld/masters_seam.csv"
columns = {{ seam = "Naht" }}
decimal = ","
reference = "Normal"
unit = "in"

# One master of the seam, read every 200 strokes.
[[data]]
role = "drift"
gauge = "camera"
file = "weld/seam_over_time.csv"
columns = {{ seam = "Naht" }}
decimal = ","
reference = "Normal"
order = "Stroke"
unit = "in"

# Pulled parts: three testers share ten bands; the camera read each seam before it was pulled.
[[data]]
role = "nested"
gauge = "puller"
file = "weld/pull.csv"
columns = {{ pull = "Kraft" }}
decimal = ","
levels = ["Band"]
appraiser = "Pruefer"
size = "Naht"
size_of = "seam"
unit = "N"
units = {{ Naht = "in" }}

[[data]]
role = "bins"
file = "data/bins.csv"
period = "Period"
accepted = "Good"
rejected = "Scrap"

[[master]]
name = "step masters of height, window, burr and seam"
gauge = "camera"
expanded_uncertainty = "0.00001 in (k = 2)"
certificate = "K 25-4107"

# Strokes are counted on over the jobs.
[[event]]
name = "punch reground"
at = 2801
characteristic = "window"

[[event]]
name = "punch reground"
at = 5601
characteristic = "window"
"""
