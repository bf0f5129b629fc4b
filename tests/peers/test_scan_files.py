"""Scan files of all kinds, of an end that the B-rep kernel cut, through the command."""

import json
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh
from click.testing import CliRunner, Result

import frame3d
from frame3d.model import Frame
from frame3d.surfaces.cope import copes_of
from frame3d.tolerance.displaced_cut import Setups
from frame3d.tolerance.exact import displaced_tool, exact_gap
from frame3d.tolerance.target import target_of
from frame3d_cli.main import main

pytestmark = pytest.mark.peer

OD, WALL, ANGLE, SAW = 31.8, 0.9, 61.0, 37.0
TILT, CENTRING, NOISE = 0.3, 0.15, 0.03
POINTS = 60_000
KEY = ("down tube", "start")
UPRIGHT = "start = [0, 0, -150]\nend = [0, 0, 150]"
MATES = {
    "round": f"od = 36.0\n{UPRIGHT}",
    "cone": f"od = [[100, 26.0], [200, 46.0]]\n{UPRIGHT}",
    "oval": f"od = 36.0\noval = {{ across = 42.0 }}\n{UPRIGHT}",
    "bent": (
        "od = 36.0\nstart = [-80, 0, -250]\nend = [-80, 0, 250]\n"
        "bends = [{ corner = [18.0, 0, 0], radius = 200 }]"
    ),
}


def job_text(mate: str, saw: float | None) -> str:
    a = np.radians(ANGLE)
    return f"""[job]
name = "scanned"
process = "fillet-braze"
[[tube]]
name = "head tube"
wall = 1.2
{MATES[mate]}
[[tube]]
name = "down tube"
start = [0, 0, 0]
end = [{400 * np.sin(a)}, 0, {400 * np.cos(a)}]
od = {OD}
wall = {WALL}
[[joint]]
tube = "down tube"
end = "start"
onto = ["head tube"]
""" + (f"saw = {saw}\n" if saw else "")


@cache
def made(
    mate: str, saw: float | None, folder: Path, shown: float = 45.0
) -> tuple[Frame, trimesh.Trimesh, float]:
    """The frame, the end as a poor shop cuts it by the kernel, and the gap that it has."""
    import scans
    from test_exact_brep_shaped import shape

    file = folder / "job.toml"
    file.write_text(job_text(mate, saw))
    frame = frame3d.open(file).frame
    target = target_of(copes_of(frame)[KEY])  # type: ignore[index]
    nil = np.zeros((1, 1))
    turn, shift = np.radians(TILT) * target.normals[None], CENTRING * target.normals[None]
    setups = Setups(turn, shift, nil, nil, np.zeros(1))
    head, cope = frame.tube("head tube"), target.cope
    if saw is None:
        tool = shape(head, -100.0, head.length + 100.0)
    else:
        tool = scans.cylinder(np.array([0, 0, -200.0]), np.array([0, 0, 1.0]), saw / 2, 400.0)
    tool = scans.moved(tool, displaced_tool(target, setups, 0, 0))
    mesh = scans.cut_end(cope.frame.origin, -cope.frame.out, OD, WALL, tool, shown)
    return frame, mesh, exact_gap(target, setups, 0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("scans")


@pytest.fixture(autouse=True)
def _kernel(need: Callable[[str], None]) -> None:
    need("OCP")


def check(folder: Path, mate: str, saw: float | None, scan: Path, *options: str) -> Result:
    job = folder / "job.toml"
    job.write_text(job_text(mate, saw))
    arguments = ["check", str(job), "--scan", str(scan), "--end", "down tube:start", *options]
    return CliRunner().invoke(main, arguments)


def found_in(result: Result) -> dict:  # type: ignore[type-arg]
    assert result.exit_code in (0, 1), result.output
    return dict(json.loads(result.stdout))


def noisy_mesh(mesh: trimesh.Trimesh, scale: float, seed: int) -> trimesh.Trimesh:
    import scans

    vertices = scans.placed(mesh.vertices, NOISE, seed) / scale
    return trimesh.Trimesh(vertices, mesh.faces, process=False)


def noisy_points(mesh: trimesh.Trimesh, scale: float, seed: int) -> np.ndarray:
    import scans

    return np.asarray(scans.placed(scans.points_on(mesh, POINTS, seed), NOISE, seed) / scale)


def stl(mesh: trimesh.Trimesh, path: Path) -> None:
    noisy_mesh(mesh, 1.0, 1).export(path, file_type="stl")


def stl_ascii_inch(mesh: trimesh.Trimesh, path: Path) -> None:
    path.write_text(trimesh.exchange.stl.export_stl_ascii(noisy_mesh(mesh, 25.4, 2)))


def ply_binary_metres(mesh: trimesh.Trimesh, path: Path) -> None:
    one = noisy_mesh(mesh, 1000.0, 3)
    path.write_bytes(trimesh.exchange.ply.export_ply(one, vertex_normal=True))


def ply_ascii(mesh: trimesh.Trimesh, path: Path) -> None:
    one = noisy_mesh(mesh, 1.0, 4)
    path.write_bytes(trimesh.exchange.ply.export_ply(one, encoding="ascii", vertex_normal=False))


def ply_points(mesh: trimesh.Trimesh, path: Path) -> None:
    trimesh.PointCloud(noisy_points(mesh, 1.0, 5)).export(path)


def xyz_with_normals(mesh: trimesh.Trimesh, path: Path) -> None:
    points = noisy_points(mesh, 1.0, 6)
    np.savetxt(path, np.hstack([points, np.ones_like(points)]), fmt="%.4f")


def csv_inch(mesh: trimesh.Trimesh, path: Path) -> None:
    np.savetxt(path, noisy_points(mesh, 25.4, 7), fmt="%.6f", delimiter=",", header="x,y,z")


def csv_decimal_commas(mesh: trimesh.Trimesh, path: Path) -> None:
    lines = (";".join(f"{x:.4f}" for x in p) for p in noisy_points(mesh, 1.0, 8))
    path.write_text("x;y;z\n" + "\n".join(lines).replace(".", ","))


FILES = {
    "end.stl": (stl, "mm"),
    "ascii.stl": (stl_ascii_inch, "in"),
    "binary.ply": (ply_binary_metres, "m"),
    "ascii.ply": (ply_ascii, "mm"),
    "points.ply": (ply_points, "mm"),
    "end.xyz": (xyz_with_normals, "mm"),
    "inch.csv": (csv_inch, "in"),
    "commas.csv": (csv_decimal_commas, "mm"),
}


@pytest.mark.parametrize("name", list(FILES))
def test_every_kind_of_file_and_unit_gives_the_cut_that_was_made(name: str, folder: Path) -> None:
    _, mesh, gap = made("round", SAW, folder)
    write, unit = FILES[name]
    write(mesh, folder / name)
    found = found_in(check(folder, "round", SAW, folder / name, "--json"))
    assert found["unit"] == unit
    assert found["tilt_deg"][0] == pytest.approx(TILT, abs=0.02)
    assert found["centring_mm"][0] == pytest.approx(CENTRING, abs=0.02)
    assert found["gap_mm"] == pytest.approx(gap, abs=0.02)
    assert found["gap_error_mm"] < 0.02
    assert found["od_mm"] == pytest.approx(OD, abs=0.02)


@pytest.mark.parametrize("mate", ["cone", "oval", "bent"])
def test_a_shaped_mate_is_met_with_its_exact_surface(mate: str, folder: Path) -> None:
    _, mesh, gap = made(mate, None, folder)
    ply_points(mesh, folder / f"{mate}.ply")
    found = found_in(check(folder, mate, None, folder / f"{mate}.ply", "--json"))
    assert found["tilt_deg"][0] == pytest.approx(TILT, abs=0.03)
    assert found["centring_mm"][0] == pytest.approx(CENTRING, abs=0.02)
    assert found["gap_mm"] == pytest.approx(gap, abs=0.02)


def test_holes_and_clutter_leave_the_gap_as_it_is(folder: Path) -> None:
    _, mesh, gap = made("round", SAW, folder)
    points = noisy_points(mesh, 1.0, 9)
    rng = np.random.default_rng(9)
    middle = points.mean(axis=0)
    for centre in points[rng.integers(0, len(points), 6)]:
        points = points[np.linalg.norm(points - centre, axis=1) > 3.0]
    clutter = middle + rng.uniform(-50, 50, (len(points) // 10, 3))
    table = middle + [0.0, 0.0, -40.0] + rng.uniform(-60, 60, (4000, 3)) * [1.0, 1.0, 0.001]
    np.savetxt(folder / "clutter.xyz", np.concatenate([points, clutter, table]), fmt="%.4f")
    found = found_in(check(folder, "round", SAW, folder / "clutter.xyz", "--json"))
    assert found["gap_mm"] == pytest.approx(gap, abs=0.03)


def test_a_half_scanned_end_is_refused_with_what_is_missing(folder: Path) -> None:
    frame, mesh, _ = made("round", SAW, folder)
    side = copes_of(frame)[KEY].frame.side  # type: ignore[index]
    centres = mesh.triangles_center @ side
    half = trimesh.Trimesh(mesh.vertices, mesh.faces[centres > 0.0], process=False)
    half.remove_unreferenced_vertices()
    stl(half, folder / "half.stl")
    result = check(folder, "round", SAW, folder / "half.stl")
    assert result.exit_code == 2
    assert "360 degrees" in result.stderr
    assert "scan" in result.stderr


def test_the_uncut_end_of_the_tube_is_refused(folder: Path) -> None:
    rng = np.random.default_rng(4)
    turn, height = rng.uniform(0, 2 * np.pi, 20_000), rng.uniform(0, 45.0, 20_000)
    radius = OD / 2 - WALL * rng.integers(0, 2, 20_000)
    points = np.column_stack([radius * np.cos(turn), radius * np.sin(turn), height])
    np.savetxt(folder / "square.xyz", points + NOISE * rng.standard_normal(points.shape))
    result = check(folder, "round", SAW, folder / "square.xyz")
    assert result.exit_code == 2
    assert "differs from the one of the job" in result.stderr


def test_a_picture_and_a_wrap_to_file_by_come_with_it(folder: Path) -> None:
    _, mesh, _ = made("round", SAW, folder)
    stl(mesh, folder / "draw.stl")
    out = folder / "drawn"
    result = check(folder, "round", SAW, folder / "draw.stl", "-o", str(out))
    assert result.exit_code in (0, 1), result.output
    assert max(map(len, result.stdout.splitlines())) <= 100
    assert {file.name for file in out.iterdir()} >= {"scan.png", "scan.svg", "file-to-fit.pdf"}


def test_a_scan_of_the_whole_tube_is_used_at_the_end_in_question(folder: Path) -> None:
    _, mesh, gap = made("round", SAW, folder, 400.0)
    stl(mesh, folder / "whole.stl")
    found = found_in(check(folder, "round", SAW, folder / "whole.stl", "--json"))
    assert found["tilt_deg"][0] == pytest.approx(TILT, abs=0.02)
    assert found["centring_mm"][0] == pytest.approx(CENTRING, abs=0.02)
    assert found["gap_mm"] == pytest.approx(gap, abs=0.02)
    assert found["gap_error_mm"] < 0.02


def test_two_ends_that_look_alike_are_not_taken_for_each_other(folder: Path) -> None:
    import scans

    frame, mesh, _ = made("round", SAW, folder, 400.0)
    frame_of_end = copes_of(frame)[KEY].frame  # type: ignore[index]
    points = scans.points_on(mesh, 20 * POINTS, 11)
    out = (points - frame_of_end.origin) @ frame_of_end.out
    half = points[out > -200.0]
    other = half - 2 * (out[out > -200.0] + 200.0)[:, None] * frame_of_end.out
    both = scans.placed(np.concatenate([half, other]), NOISE, 11)
    trimesh.PointCloud(both).export(folder / "both.ply")
    result = check(folder, "round", SAW, folder / "both.ply")
    assert result.exit_code == 2
    assert "the scan holds both ends of the tube" in result.stderr


@pytest.mark.parametrize(("scale", "outside"), [(1.05, "33.39"), (0.95, "30.21")])
def test_a_scan_of_a_wrong_scale_is_told_by_its_outside(
    scale: float, outside: str, folder: Path
) -> None:
    _, mesh, _ = made("round", SAW, folder)
    stl(mesh.copy().apply_scale(scale), folder / "scaled.stl")
    result = check(folder, "round", SAW, folder / "scaled.stl")
    assert result.exit_code == 2
    assert f"{outside}" in result.stderr
    assert "the job's 31.8 mm" in result.stderr


def test_a_slightly_wrong_scale_leaves_the_cut_unjudged(folder: Path) -> None:
    _, mesh, _ = made("round", SAW, folder)
    stl(mesh.copy().apply_scale(1.02), folder / "scaled.stl")
    result = check(folder, "round", SAW, folder / "scaled.stl")
    assert result.exit_code == 1, result.output
    assert "not to be judged: the outside is 32.44 mm" in result.stdout


@pytest.mark.parametrize("missing", [(0, 180), (90, 270), (45, 285)])
def test_a_cut_seen_in_part_is_told_with_how_much_of_it(
    missing: tuple[int, int], folder: Path
) -> None:
    frame, mesh, _ = made("round", SAW, folder)
    end = copes_of(frame)[KEY].frame  # type: ignore[index]
    away = mesh.triangles_center - end.origin
    turn = np.degrees(np.arctan2(away @ np.cross(end.side, end.out), away @ end.side)) % 360
    gone = (away @ -end.out < 28.0) & (turn > missing[0]) & (turn < missing[1])
    part = trimesh.Trimesh(mesh.vertices, mesh.faces[~gone], process=False)
    part.remove_unreferenced_vertices()
    stl(part, folder / "part.stl")
    result = check(folder, "round", SAW, folder / "part.stl")
    assert result.exit_code == 2
    told = re.search(r"about (\d+) of 360 degrees of the cut", result.stderr)
    assert told is not None
    assert int(told[1]) == pytest.approx(360 - (missing[1] - missing[0]), abs=50)


def test_an_inch_scan_is_told_in_a_word(folder: Path) -> None:
    _, mesh, _ = made("round", SAW, folder)
    stl_ascii_inch(mesh, folder / "word.stl")
    assert "scan in inches, " in check(folder, "round", SAW, folder / "word.stl").stdout


def test_an_stl_cut_short_is_no_readable_stl(folder: Path) -> None:
    _, mesh, _ = made("round", SAW, folder)
    stl(mesh, folder / "short.stl")
    data = (folder / "short.stl").read_bytes()
    for name, content in (("short.stl", data[: len(data) // 2]), ("text.stl", b"solid end?" * 99)):
        (folder / name).write_bytes(content)
        result = check(folder, "round", SAW, folder / name)
        assert result.exit_code == 2
        assert f"{name}: is not a readable STL file" in result.stderr
