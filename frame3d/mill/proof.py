"""Whether the printed numbers, followed by the virtual mill, make the designed ends."""

from dataclasses import replace

import numpy as np

from frame3d.mill.printed_numbers import as_json
from frame3d.mill.tube_sheet import TubeSheet
from frame3d.mill.virtual_mill import MillError, Workpiece, mill
from frame3d.model import ENDS, Frame
from frame3d.model.tube_section import lateral
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.surface import Array

EQUAL_MM = 0.002
LINES = 48  # around an end, on its outside and on its bore


def astray(cope: Cope, work: Workpiece, start_point: float) -> int:
    """How many lines of a milled end stop outside the 2 µm skin of the designed one.

    The skin is what the same saws, 2 µm larger and 2 µm smaller, would leave; along the tube it is
    thick only where a line grazes a saw. start_point: from the raw blank's start end, mm
    """
    theta: Array = np.linspace(0.0, 2 * np.pi, LINES, endpoint=False) + 0.01
    bad = 0
    for depth in (0.0, 1.0):
        # Where the designed end's own metal stands about the axis.
        outward = cope.position(theta, np.full(LINES, depth))
        shaped = np.isfinite(outward) & (outward > -cope.frame.run)
        outward = outward[shaped]
        at = cope.tube.length + outward if cope.end == "end" else -outward
        offsets = lateral(cope.tube, at, theta[shaped], depth)
        stop = work.stops(cope.end, *offsets.T) - start_point
        milled = stop - cope.tube.length if cope.end == "end" else -stop
        early, late = (_resized(cope, by).position_across(offsets) for by in (EQUAL_MM, -EQUAL_MM))
        bad += int(np.sum((milled < early - 1e-9) | (milled > late + 1e-9)))
    return bad


def _resized(cope: Cope, by: float) -> Cope:
    """Shaped by saws whose radius is so much larger, mm."""
    tools = tuple(
        replace(tool, radius=tool.radius + by) if isinstance(tool, Cylinder) else tool
        for tool in cope.tools
    )
    return replace(cope, tools=tools)


def doubt(frame: Frame, sheet: TubeSheet, copes: Copes) -> str:
    """Why a sheet's numbers must not be cut by; "" where they make the designed tube.

    Ends that are left to be finished by hand are not compared.
    """
    plain = as_json(sheet)
    try:
        work = mill(plain)
    except MillError as why:
        return f"the virtual mill could not follow these numbers: {why}"
    cut = {cut.end for cut in sheet.cuts}
    for end in ENDS:
        joint, cope = frame.joint_at(sheet.tube, end), copes.get((sheet.tube, end))
        if end not in cut or joint is None or cope is None or None in joint.saws:
            continue
        if astray(cope, work, sheet.start_point):
            return f"{end}: these numbers do not make it as it is designed"
    return ""
