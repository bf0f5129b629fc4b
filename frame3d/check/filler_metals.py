"""Which filler a joint takes, and which process does not fit what it joins."""

from collections.abc import Iterator

from frame3d.model import Frame, Joint
from frame3d.tables import rows


def filler_row(frame: Frame, joint: Joint) -> dict[str, str] | None:
    """The row of tables/fillers.csv for a joint; None where the process does not fit it."""
    materials = _materials(frame, joint)
    row = _row(frame.process, materials[0])
    return row if len(materials) == 1 and row and row["filler"] else None


def process_reason(frame: Frame, joint: Joint) -> Iterator[str]:
    """Why the process does not fit what the joint joins."""
    materials = _materials(frame, joint)
    if len(materials) > 1:
        both = " and ".join(materials)
        yield f"{frame.process} does not join {both}: no filler is known for both"
        return
    (material,) = materials
    row = _row(frame.process, material)
    if row and row["filler"]:
        return
    own = [r for r in rows("fillers") if r["material"] == material]
    fit = ", ".join(r["process"] for r in own if r["filler"]) or "none"
    why = row["unfit"] if row else "tables/fillers.csv has no row for the two"
    yield f"{frame.process} does not fit {material}: {why}; what fits it: {fit}"


def usual_radius(process: str, od: float) -> float:
    """Radius, mm, of the fillet around a tube of outside diameter `od`, mm."""
    own = [row for row in rows("fillet_radii") if row["process"] == process]
    fits = (
        row for row in own if not row["tube_od_up_to_mm"] or od <= float(row["tube_od_up_to_mm"])
    )
    return float(next(fits)["radius_mm"])


def _row(process: str, material: str) -> dict[str, str] | None:
    wanted = (process, material)
    return next((r for r in rows("fillers") if (r["process"], r["material"]) == wanted), None)


def _materials(frame: Frame, joint: Joint) -> list[str]:
    """Of the tube and its mates, each once."""
    return list(dict.fromkeys(frame.tube(name).material for name in (joint.tube, *joint.onto)))
