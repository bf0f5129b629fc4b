"""A job and a shop to start from, with every key explained."""

import json

_JOB = """\
# A job: tubes, and the ends that are coped onto other tubes.
# Axes: x forward, y left, z up. Lengths are mm, or a text with its unit:
# 28.6, "28.6 mm", "1 1/8 in", "0.035 in".

[job]
name    = {name}
process = "fillet-braze"      # which gap passes: silver-braze, fillet-braze or tig
shop    = "shop.toml"         # what stands in the shop; may be left out

# [limits]                    # own limits instead of the usual ones
# gap_mm          = 0.3       # largest gap, whatever the process
# end_margin_mm   = 3.0       # least distance of a joint from the mating tube's end
# feather_mm      = 0.02      # least thickness of the wall 1 mm behind the tip of a cope
# clash_mm3       = 1.0       # volume that two tubes may share where they do not join
# least_angle_deg = 10.0      # axes nearer to parallel are refused

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

# Other shapes; distances are along the axis, from start:
# od    = [[0, 22.2], [200, 22.2], [380, 12.5]]       # tapered
# od    = [[0, 28.6], [60, 28.6], [60, 30.0]]         # stepped: one distance twice
# oval  = {{ across = [[0, 17], [150, 22.2]], angle = 0 }}  # od, then, is the diameter at `angle`
#                             # degrees from the datum, and across the one square to it
# bends = [{{ corner = [120, 0, 40], radius = 150 }}]   # where the straights would meet

[[joint]]
tube = "rail"
end  = "start"                # start or end
onto = ["post"]               # the tubes that run through; several: shaped against all of them
saw  = 37.0                   # outside diameter; left out, the cope follows the post exactly
                              # several onto: one number for all, or {{ post = 37.0, other = 29.0 }}

# [[measured]]                # an end that is cut, for `frame3d measured`; each key may be left out
# tube  = "rail"
# end   = "start"
# od    = 28.55               # outside diameter of the real tube
# saw   = 37.1                # and of the saw that cut it
# angle = 76.4                # between the tube's axis and the saw's
# long  = 240.2               # along the outside from end to end, longest line
# short = 233.1               # and the line opposite
# mates = {{ post = 36.05 }}    # outside diameters of the real tubes that it meets
"""

_SHOP = """\
# What stands in this shop. Everything may be left out.

[shop]
name = "my shop"

# Hole saws: outside diameter as measured over the teeth, and how deep they cut.
[[saw]]
od    = 28.9
depth = 38.0

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

# Split blocks: without any, fractional-inch bores from 1/2 to 1 3/4 in are taken. Your own:
# [[block]]
# bore   = "1 1/8 in"
# width  = "2 in"               # across its faces
# length = "1 1/2 in"           # along the tube
# How far set-ups are off in this shop, for `frame3d errors`: standard deviations, or half-widths;
# the other errors' names and usual sizes stand in frame3d/tables/setup_errors.csv.
# [errors]
# tilt     = 0.1              # degrees
# centring = 0.08             # mm beside the tube's axis
# length   = 0.15             # mm
# tube_od  = 0.05             # mm, instead of the tolerance class

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


def job_text(name: str) -> str:
    """A job file that passes as it is, under this name."""
    return _JOB.format(name=json.dumps(name, ensure_ascii=False))


def shop_text() -> str:
    """A shop file to go with it."""
    return _SHOP
