"""A job and a shop to start from, with every key explained."""

import json
from textwrap import wrap

from frame3d.tables import rows

_JOB = """\
# A job: tubes, and the ends that are coped onto other tubes.
# Axes: x forward, y left, z up. Lengths are mm, or a text with its unit:
# 28.6, "28.6 mm", "1 1/8 in", "0.035 in".

[job]
name    = {name}
process = "fillet-braze"      # which gap passes: silver-braze, fillet-braze or tig
shop    = "shop.toml"         # what stands in the shop; may be left out
# cut   = "saw"               # ends of which nothing else is said: by the shop's best saw that
#                             # keeps the gap; "hand": to the mate exactly, along a guide or wrap;
#                             # "laser": the same by a tube laser. The shop file may say it for all

{limits}
[[tube]]
name     = "post"
start    = [0.0, 0.0, -100.0] # the two points between which the axis runs
end      = [0.0, 0.0, 100.0]
od       = 36.0               # outside diameter
wall     = 1.2
material = "steel"            # steel, titanium or aluminium; steel if left out

[[tube]]
name  = "rail"
start = [0.0, 0.0, 0.0]       # on the post's axis: the cope decides where the metal stops
end   = [250.0, 0.0, 60.0]
od    = "1 1/8 in"
wall  = [[0, 0.9], [60, 0.9], [90, 0.6]]  # a butted tube: distance from start, wall

{shapes}
[[joint]]
tube = "rail"
end  = "start"                # start or end
onto = ["post"]               # the tubes that run through; several: shaped against all of them
saw  = 37.0                   # outside diameter; left out, the cope follows the post exactly,
                              # unless cut = "saw" here, in [job] or in the shop file
                              # several onto: one number for all, or {{ post = 37.0, other = 29.0 }}

{more}"""

_LIMITS = """\
# [limits]                    # own limits instead of the usual ones
# gap_mm          = 0.3       # largest gap, whatever the process
# end_margin_mm   = 3.0       # least distance of a joint from the mating tube's end
# feather_mm      = 0.02      # least thickness of the wall 1 mm behind the tip of a cope
# clash_mm3       = 1.0       # volume that two tubes may share where they do not join
# least_angle_deg = 10.0      # axes nearer to parallel are refused
"""

_SHAPES = """\
# A tube cut from a raw one. [job] names the tube list, tubes = "tubes.toml"; there each raw tube is
# a [[stock]] with name, od, wall, length (and oval, material), distances from its own start:
# stock      = "top 28.6 9-6-9"  # in place of od and wall
# raw_length = 619.2          # measured: it counts, and so do od, wall and material given here
# trim_start = 40             # cut off at the tube's start; left out, both butts are shared out
# flipped    = false          # true: the raw tube's end lies at the tube's start

# material   = "steel"        # steel, titanium or aluminium; steel if left out

# Other shapes; distances are along the axis, from start:
# od    = [[0, 22.2], [200, 22.2], [380, 12.5]]       # tapered
# od    = [[0, 28.6], [60, 28.6], [60, 30.0]]         # stepped: one distance twice
# oval  = { across = [[0, 17], [150, 22.2]], angle = 0 }  # od, then, is the diameter at `angle`
#                             # degrees from the datum, and across the one square to it
# bends = [{ corner = [120, 0, 40], radius = 150 }]   # where the straights would meet
"""

_MORE = """\
# [[end]]                     # an end that no joint shapes; without this it is square
# tube  = "{end}"
# end   = "end"
# kind  = "slot"              # slot: depth, and plate = "..." or width and angle (through = false:
# depth = 18.0                # one wall only); plug: thickness; dome: height; pinch: length,
# width = 5.0                 # transition, angle
# angle = 90                  # from the datum, right-handed about start to end

# [[plate]]                   # a dropout or tab: corners [u, v] about `at`, u forward and v up
# name = "dropout"            # unless u = [...] and v = [...] say their directions
# outline = [[-16, -14], [40, -14], [40, 14], [-16, 14]]
# thickness = 5.0
# at = [250.0, 0.0, 60.0]
# slots = [{{ at = [0, 0], width = 10.2, length = 30, angle = -90 }}]  # length 0: a round hole

# [cranks]                    # measured against the frame; what is usual
# centre         = [0, 0, 0]
{cranks}
# [clearances]                # least room; what is usual
{clearances}# head_tube      = "{mate}"  # what turns with the front wheel, if named otherwise
# foot_retention = false      # true: toe clips or clipless pedals, where the toe may be nearer
# front_mudguard = {{ width = 45, radius = 360 }}

# [[clearance]]               # two parts by name, and how far apart they must be
# between = ["{mate}", "{other}"]
# least   = 1.0

# [[hole]]                    # drilled square through one wall; through = true: through both
# tube     = "{other}"
# at       = 120.0            # from the tube's start along its axis
# angle_deg = 90              # from the datum, right-handed about start to end
# diameter = 6.1
# kind     = "bottle boss"    # bottle boss, vent, guide, stop or bolt; vent if left out

# [paint]                     # how pictures and pages show it: a CSS colour name or "#1f5f8b"
# frame = "navy"
# tube  = {{ "{other}" = "ivory" }}  # tubes that differ
# [[part]]                    # drawn, never measured or cut
# name  = "wheel"
# kind  = "wheel"             # wheel: centre, radius, width; rod: start, end, od
# centre = [400.0, 0.0, 0.0]
# radius = 340
# width  = 32

# [[measured]]                # an end that is cut, for `frame3d measured`; what is left out counts
# tube  = "{measured}"        # as drawn. Tube and end say which it is, of those that a joint
# end   = "{measured_end}"             # shapes
# od    = 28.55               # outside diameter of the real tube
# saw   = 37.1                # outside diameter of the saw that cut it, over the teeth
# angle = 76.4                # between the tube's axis and the saw's, at most 90 degrees
# long  = 240.2               # edge to edge along the outside, longest line, and the line opposite:
# short = 233.1               # on a tube cut in an upright plane the page's datum and opposite
# left  = 236.7               # the same on the two lines midway between: they tell how far beside
# right = 236.9               # the tube's axis the saw was; or say that, in mm: centring = 0.1
# phase = 0.4                 # of this cut against the tube's other one, degrees off the job's
# mates = {{ "{mate}" = 36.05 }}  # outside diameters of the real tubes that it meets
"""

_SHOP = """\
# What stands in this shop. Everything may be left out.

[shop]
name = "my shop"
# cut = "saw"                 # how this shop cuts ends where the job does not say: saw, hand, laser

# Hole saws: outside diameter as measured over the teeth, and how deep they cut. One that runs
# truer has kind = "annular cutter": frame3d/tables/saw_kinds.csv.
[[saw]]
od    = 28.9
depth = 38.0
# tooth = 1.5                 # thickness of its teeth over their set; or inside = 25.9, the
#                             # diameter within them. Left out, 1.3 to 1.8 mm is allowed for, as
#                             # bi-metal hole saws have; annular cutters differ: measure
# teeth = 26                  # how many, for the chip load
# proved = [{ material = "steel", wall = 0.9, rpm = 210 }]  # speeds at which it has cut well, in
#                             # walls up to that: told in large type, before the handbook's

[[saw]]
od    = 37.0
depth = 38.0

# The mill and its measuring tools; what stands here is what is taken without it.
[mill]
spindle_rpm     = [80, 135, 210, 325, 660, 1115, 1750, 2720]
feed_per_rev    = ["0.0015 in", "0.003 in", "0.006 in"]
edge_tip        = "3/8 in"      # the edge finder's tip
gauge_step_deg  = 0.05          # what the angle gauge resolves
cut_end         = "high"        # the end under the saw is tilted high or low
overtravel      = 2.0           # past the last metal, before the stop trips
clearance       = 3.0           # between block and saw
waste           = 15.0          # raw tube beyond the longest tip
units           = "mm"          # what the pages print: mm or inch
paper           = "A4"          # A4 or Letter
paper_thickness = 0.1           # a wrap lies half of it outside the tube
# travel_per_turn = "0.1 in"    # of the hand wheels, where there is no readout
# vise_height     = 110.0       # a held tube's axis over the table. With these three the pages
# daylight        = 450.0       # tell what stays free: spindle's nose to the table at its lowest,
# saw_length      = 95.0        # and to the saw's teeth

# Split blocks: without any, fractional-inch bores from 1/2 to 1 3/4 in are taken. Your own:
# [[block]]
# bore   = "1 1/8 in"
# width  = "2 in"               # across its faces
# length = "1 1/2 in"           # along the tube
# How far set-ups are off in this shop, as `frame3d errors` prints it: what 19 of 20 stay
# within. The other names and usual sizes stand in frame3d/tables/setup_errors.csv.
# [errors]
# tilt     = 0.2              # degrees
# centring = 0.15             # mm beside the tube's axis
# length   = 0.3              # mm
# tube_od  = 0.05             # mm, instead of the tolerance class
# wobble   = 0.075            # mm, a guide's grip off centre; left out, half the clearance

# [printer]                   # what printed guides are made for
# bed       = [220, 220, 220] # room to print in: width, depth, height
# clearance = 0.15            # between tube and bore, a side
# wall      = 5.0             # around the bore: what the file runs on
# foot      = 3.0             # below the wall: what both guides of a tube stand on
# hold      = 30.0            # least length of guide below the deepest point of the cope
# overhang  = 45.0            # degrees that a face may lean out from upright without support
# line      = 0.45            # width of one printed line
# shrink    = 0.0             # percent that a print loses in cooling
# clamp     = "screws"        # M4 screws, or hose-clamp, or zip-ties
# opening   = "slit"          # or halves
"""

_BICYCLE = """\
# A bicycle: its numbers, and the tubes that are picked for it. Lengths are mm, or a text with its
# unit: 28.6, "28.6 mm", "1 1/8 in", "0.035 in"; angles are degrees.
# See what the numbers come to, before tubes are picked and after: frame3d geometry job.toml

[job]
name    = {name}
process = "fillet-braze"      # which gap passes: silver-braze, fillet-braze or tig
shop    = "shop.toml"         # what stands in the shop; may be left out
cut     = "saw"               # by the shop's best saw that keeps the gap, else to the mate by hand

[bicycle]
front_wheel       = "28-622"  # ISO 5775: tyre width, bead seat
rear_wheel        = "28-622"
headset           = "EC34/28.6 | EC34/30"
shell             = "ISO 68"
seat_post         = 27.2
front_hub         = "100x9"
rear_hub          = "130x10"
bb_drop           = 70.0
chain_stay_length = 430.0
head_tube_angle   = 72.5
rake              = 45.0
fork_length       = 393.0
stack             = 580.0
reach             = 385.0
seat_tube_angle   = 73.0
seat_tube_length  = 540.0

{limits}
# Any numbers that together fix the frame will do; too few or too many are told. These are known
# (top_tube_length and down_tube_length are only told):
{measures}

# [bicycle.rear]              # how the rear triangle is built; these are what is usual
# dropout_thickness  = 5.0    # plates, outside the hub's locknuts
# chain_stay_setback = 35.0   # axle to the chain stay's end
# seat_stay_setback  = 30.0   # axle to the seat stay's end
# shell_margin       = 4.0    # chain stay to the shell's end
# stay_gap           = 1.0    # between left and right stays on seat tube and shell
# bridge_gap         = 12.0   # tyre to a bridge

# [bicycle.fork]
# dropout_thickness  = 5.0
# blade_setback      = 30.0   # axle to the blade's end
# tyre_gap           = 8.0    # tyre to blade, at the crown
# crown_margin       = 4.0    # blade to the crown's end
# steerer_above      = 65.0   # steerer above the head tube
# blade_bend_radius  = 120.0  # raked blades: straight from the crown, then one bend to the axle
# blade_straight     = 230.0  # crown's axis to the bend; left out, the bend ends with the blade
# blade_bend_angle   = 0      # degrees; with both of these it makes the rake: leave that out

# [rider]                     # in place of stack, reach and seat tube angle, or to see who fits
# saddle_height  = 720.0      # from the shell's centre straight to the middle of the saddle's top
# saddle_setback = 200.0      # that point behind the shell's centre
# hands_ahead    = 480.0      # from the shell's centre
# hands_above    = 680.0
# stem_length    = 100.0
# stem_angle     = 0.0        # from square to the steerer, up
# stem_height    = 40.0       # the stem's clamp, along the steerer
# spacers        = 20.0       # between headset and stem
# upper_headset_stack = 25.0  # head tube's end to the spacers; the headset's, where it is named
# bar_reach      = 80.0       # the hands ahead of the bar's middle at the stem
# bar_rise       = 30.0       # and above it
# post_setback   = 20.0       # the saddle's middle behind the seat tube's axis, square to it

# A tube of the bicycle has its axis from the numbers and its joints by itself. Head tube and shell,
# if not picked, are what the headset and the standard ask for; top tube, seat stays, bridges and
# the fork may be left out. Stays and blades are picked once for both sides.
[[tube]]
name = "top tube"             # from the seat tube to the head tube
od   = 28.6
wall = [[0, 0.8], [90, 0.8], [120, 0.5], [430, 0.5], [460, 0.8]]  # distance from start, wall

[[tube]]
name = "down tube"            # from the shell to the head tube
od   = 31.8
wall = [[0, 0.8], [100, 0.8], [130, 0.5], [500, 0.5], [530, 0.8]]

[[tube]]
name = "seat tube"            # from the shell up
od   = 28.6
wall = 0.7

[[tube]]
name = "chain stay"           # from the shell to the dropout
od   = [[0, 20.0], [200, 20.0], [380, 12.5]]
wall = 0.8

[[tube]]
name = "seat stay"            # from the seat tube to the dropout
od   = 14.0
wall = 0.8

[[tube]]
name = "chain stay bridge"
od   = 12.7
wall = 0.9

[[tube]]
name = "seat stay bridge"
od   = 12.7
wall = 0.9

[[tube]]
name = "steerer"              # from the crown up
od   = 28.6
wall = 1.6

[[tube]]
name = "crown"                # across, under the head tube
od   = 34.9
wall = 2.0

[[tube]]
name = "fork blade"           # from the crown to the dropout
od   = [[0, 24.0], [180, 24.0], [340, 13.0]]
wall = 1.0

{shapes}
# start, end and bends of a tube, and a [[joint]] of your own, win over the bicycle's. More tubes
# and joints stand where they say, from the shell's centre: x forward, y left, z up.
# [[joint]]
# tube = "top tube"
# end  = "end"                # start or end
# onto = ["head tube"]        # the tubes that run through; several: shaped against all of them
# saw  = 37.0                 # several onto: one number for all, or {{ "head tube" = 37.0 }}
# cut  = "saw"                # saw, hand or laser, as in [job]

# In [[hole]] and [[end]] "seat stay", "chain stay" or "fork blade" stands for both sides: angles
# as on the left one, and the right one is its mirror image.
{more}"""


def bicycle_text(name: str) -> str:
    """A bicycle's job file that passes as it is, under this name."""
    lines = [f"{row['measure']:<26} {row['meaning']}" for row in rows("bicycle_measures")]
    wrapped = [part for line in lines for part in wrap(line, 90, subsequent_indent=" " * 27)]
    measures = "\n".join(f"# {line}" for line in wrapped)
    more = _more(
        other="down tube",
        mate="head tube",
        measured="top tube",
        measured_end="end",
        end="seat stay",
    )
    return _text(_BICYCLE, name, more, measures=measures)


def job_text(name: str) -> str:
    """A job file that passes as it is, under this name."""
    return _text(
        _JOB,
        name,
        _more(other="rail", mate="post", measured="rail", measured_end="start", end="rail"),
    )


def shop_text() -> str:
    """A shop file to go with it."""
    return _SHOP


def _text(template: str, name: str, more: str, **values: str) -> str:
    quoted = json.dumps(name, ensure_ascii=False)
    return template.format(name=quoted, limits=_LIMITS, shapes=_SHAPES, more=more, **values)


def _more(**tubes: str) -> str:
    """Tables that any job may hold, with the names of some of its tubes."""
    cranks = [(row["measure"], row["value"], row["meaning"]) for row in rows("crank_measures")]
    limits = [
        (f"{row['clearance']}_{row['unit']}", row["limit"], row["meaning"])
        for row in rows("clearance_limits")
        if row["clearance"] != "pair"
    ]
    return _MORE.format(cranks=_keys(cranks), clearances=_keys(limits), **tubes)


def _keys(lines: list[tuple[str, str, str]]) -> str:
    """Keys with their usual values, as comments, each with its meaning behind it."""
    told = []
    for key, value, meaning in lines:
        first, *others = wrap(meaning, 66)
        told += [f"# {key:<14} = {value:<8} # {first}", *(f"#{'':<27}# {part}" for part in others)]
    return "\n".join(told) + "\n"
