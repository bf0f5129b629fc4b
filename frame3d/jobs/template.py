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
"""


def job_text(name: str) -> str:
    """A job file that passes as it is, under this name."""
    return _JOB.format(name=json.dumps(name, ensure_ascii=False))


def shop_text() -> str:
    """A shop file to go with it."""
    return _SHOP
