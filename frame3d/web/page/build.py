"""Put the page together: viewer, meshes, drawing and tables in a single HTML text.

Every text from a job is escaped where it goes: HTML by `html.escape`, data as JSON without "<",
and the page's policy runs no script but the viewer's own, by its hash.
"""

import base64
import hashlib
from html import escape
from importlib import resources
from string import Template

import numpy as np
from numpy.typing import NDArray

from frame3d.json_text import json_text
from frame3d.mesh.normals import Shaded
from frame3d.model import Frame, direction
from frame3d.view.colours import GapScale, cividis
from frame3d.view.scene import Collar, Piece, Scene, pull_of
from frame3d.view.side_drawing import as_svg
from frame3d.view.spec_tables import Sheet, details
from frame3d.view.version import Version

LEGEND_STEPS = 32
STEPS = 65535
WAYS = 400  # in which the scene's extent is told


def page_html(title: str, summary: str, versions: tuple[Version, ...], live: int = 0) -> str:
    """The whole page as a text. With a number in `live` it asks its server for later news."""
    style, script, frame = (_asset(f"viewer.{kind}") for kind in ("css", "js", "html"))
    private = [collar for v in versions if v.gaps for collar in v.scene.collars]
    scale = GapScale.around([collar.limit for collar in private])
    data = {
        "format": "frame3d-page/1",
        "legend": _legend(scale) if private else None,
        "versions": [_version(version, scale) for version in versions],
    }
    return Template(frame).substitute(
        title=escape(title),
        summary=escape(summary),
        style=style,
        style_hash=_hash(style),
        script=script,
        script_hash=_hash(script),
        connect="'self'" if live else "'none'",
        live=str(live or ""),
        drawings="".join(as_svg(v.drawing, f"{v.frame.name} from the side") for v in versions),
        tables="".join(_tables(k, v, len(versions) > 1) for k, v in enumerate(versions)),
        data=safe_json(data),
    )


def safe_json(data: object) -> str:
    """JSON that cannot end the script element it stands in (HTML standard, "restrictions for
    contents of script elements")."""
    text = json_text(data, compact=True)
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


def _asset(name: str) -> str:
    return resources.files(__package__).joinpath(name).read_text(encoding="utf-8").strip()


def _hash(text: str) -> str:
    """As a content security policy names an inline script (CSP level 3)."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _version(version: Version, scale: GapScale) -> dict[str, object]:
    scene = version.scene
    tubes = {tube.name: tube for tube in version.report.tubes}
    return {
        "name": scene.name,
        "extremes": _numbers(_extremes(scene)),
        "dimensions": [
            {"text": d.text, "a": d.a, "b": d.b, "aside": d.aside} for d in scene.dimensions
        ],
        "pieces": [
            {
                **_piece(version.frame, piece),
                "details": details(version.frame.tube(piece.name), tubes[piece.name]),
            }
            for piece in scene.pieces
        ],
        "plates": [{"colour": plate.colour, **_mesh(plate.mesh)} for plate in scene.plates],
        "ghosts": [{"colour": ghost.colour, **_mesh(ghost.mesh)} for ghost in scene.ghosts],
        "collars": [_collar(c, scale) for c in scene.collars] if version.gaps else [],
    }


def _extremes(scene: Scene) -> NDArray[np.float64]:
    """The farthest points (N, 3) in directions all around: what the camera has to hold.

    WAYS directions on a golden spiral stand within about 0.13 rad of any other: of a wheel's edge
    they miss less than a hundredth of its radius.
    """
    points = np.concatenate([body.mesh.vertices for body in scene.bodies()])
    count = np.arange(WAYS) + 0.5
    height, turn = 1 - 2 * count / WAYS, np.pi * (1 + 5**0.5) * count
    flat = np.sqrt(1 - height**2)
    ways = np.stack([flat * np.cos(turn), flat * np.sin(turn), height])
    farthest = [(points @ way).argmax() for way in ways.T]
    return np.asarray(points[np.unique(farthest)])


def _piece(frame: Frame, piece: Piece) -> dict[str, object]:
    tube = frame.tube(piece.name)
    still = np.zeros(3)
    pulls = {
        end: _numbers(pull_of(tube, end) if frame.joint_at(tube.name, end) else still)
        for end in ("start", "end")
    }
    return {
        "name": piece.name,
        "colour": piece.colour,
        "middle": _numbers(np.add(tube.start, tube.end) / 2),
        "axis": _numbers(direction(tube), 6),
        "pulls": pulls,
        **_mesh(piece.mesh),
    }


def _mesh(mesh: Shaded) -> dict[str, object]:
    return {
        **_points(mesh.vertices, mesh.triangles),
        "normal": _packed(np.rint(mesh.normals * 127).astype("i1")),
    }


def _points(vertices: NDArray[np.float64], triangles: NDArray[np.int64]) -> dict[str, object]:
    """Vertices as steps of 1/65535 of their box, 0.02 mm in a metre: half the size of floats."""
    low = vertices.min(axis=0)
    step = np.maximum(np.ptp(vertices, axis=0) / STEPS, 1e-9)
    return {
        "low": _numbers(low, 5),
        "step": _numbers(step, 9),
        "position": _packed(np.rint((vertices - low) / step).clip(0, STEPS).astype("<u2")),
        "index": _packed(triangles.astype("<u2" if len(vertices) <= STEPS else "<u4")),
    }


def _collar(collar: Collar, scale: GapScale) -> dict[str, object]:
    return {
        **_points(collar.vertices, collar.triangles),
        "tint": _packed(np.rint(scale.colours(collar.gap) * 255).astype("u1")),
        "middle": [0, 0, 0],
        "axis": [0, 0, 0],
        "pulls": {"start": _numbers(collar.pull), "end": _numbers(collar.pull)},
    }


def _legend(scale: GapScale) -> dict[str, object]:
    steps = np.linspace(0, len(cividis()) - 1, LEGEND_STEPS).astype(int)
    colours = [
        "#{:02x}{:02x}{:02x}".format(*np.rint(c * 255).astype(int)) for c in cividis()[steps]
    ]
    return {"top": scale.top, "limits": scale.limits, "colours": colours}


def _packed(array: NDArray[np.generic]) -> str:
    return base64.b64encode(np.ascontiguousarray(array).tobytes()).decode()


def _numbers(array: NDArray[np.float64], digits: int = 3) -> object:
    return np.round(array, digits).tolist()


def _tables(number: int, version: Version, titled: bool) -> str:
    heading = f'<h2 dir="auto">{escape(version.frame.name)}</h2>' if titled else ""
    return heading + "".join(_table(number, version, sheet) for sheet in version.sheets)


def _table(number: int, version: Version, sheet: Sheet) -> str:
    """A table whose cells carry their headings, to show on a narrow screen where there are none;
    the roles say what it is where its cells are laid out otherwise."""
    order = {tube.name: k for k, tube in enumerate(version.frame.tubes)}
    head = "".join(
        f'<th scope="col" role="columnheader">{escape(column)}</th>' for column in sheet.columns
    )
    body = []
    for row in sheet.rows:
        first, *rest = row
        name = f"<bdi>{escape(first)}</bdi>"
        if sheet.columns[0] == "tube" and first in order:
            name = (
                f'<button type="button" data-version="{number}" data-piece="{order[first]}">'
                f"{name}</button>"
            )
        cells = "".join(
            f'<td role="cell" dir="auto" data-label="{escape(column)}">{escape(text)}</td>'
            for column, text in zip(sheet.columns[1:], rest, strict=True)
        )
        body.append(f'<tr role="row"><th scope="row" role="rowheader">{name}</th>{cells}</tr>')
    kind = "pairs" if len(sheet.columns) == 2 else "cards"
    return (
        f'<table class="{kind}" role="table"><caption>{escape(sheet.title)}</caption>'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead>'
        f'<tbody role="rowgroup">{"".join(body)}</tbody></table>'
    )
