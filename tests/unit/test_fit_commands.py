"""frame3d errors, filler, measured and check --scan: their outputs and exit status."""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

import frame3d
from frame3d.check.filler_metals import usual_radius
from frame3d.model import Printer
from frame3d.scan.doubts import table_hint
from frame3d.tables import row, rows
from frame3d_cli.main import main

EXAMPLES = Path(__file__).parents[2] / "examples"
PAIR = EXAMPLES / "two-tubes" / "job.toml"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def pair_with(folder: Path, job: str = "", shop: str = "") -> Path:
    text = PAIR.read_text().replace("../", "./")
    (folder / "job.toml").write_text(text + job)
    (folder / "shop.toml").write_text("[[saw]]\nod = 37.0\n" + shop)
    return folder / "job.toml"


def errors(job: Path, *options: str) -> dict:  # type: ignore[type-arg]
    result = run("errors", job, "--json", "-n", "1000", *options)
    assert result.exit_code in (0, 1), result.output
    return dict(json.loads(result.stdout))


def test_errors_tell_the_same_twice_for_the_same_seed() -> None:
    assert errors(PAIR, "--no-care") == errors(PAIR, "--no-care")
    assert errors(PAIR, "--no-care") != errors(PAIR, "--no-care", "--seed", "2")


def test_shares_of_a_budget_add_up_to_one() -> None:
    (joint,) = errors(PAIR, "--no-care")["joints"]
    assert sum(error["share"] for error in joint["errors"]) == pytest.approx(1.0, abs=1e-4)
    assert joint["errors"][0]["share"] == max(error["share"] for error in joint["errors"])


def test_a_shop_without_errors_always_closes_at_the_nominal_gap(tmp_path: Path) -> None:
    sizes = "".join(f'"{row["error"]}" = 0.0\n' for row in rows("setup_errors"))
    found = errors(pair_with(tmp_path, shop=f"[errors]\n{sizes}"), "--no-care")
    (joint,) = found["joints"]
    assert found["chance"]["value"] == 1.0
    assert joint["p95_mm"]["value"] == pytest.approx(joint["nominal_mm"], abs=1e-6)


def test_worse_centring_lowers_the_chance_and_is_named(tmp_path: Path) -> None:
    found = errors(pair_with(tmp_path, shop="[errors]\ncentring = 0.6\n"))
    (joint,) = found["joints"]
    assert joint["chance"]["value"] < 0.7 < errors(PAIR, "--no-care")["chance"]["value"]
    assert joint["errors"][0]["name"] == "centring"
    assert any("halve centring first" in text for text in joint["words"])
    assert joint["care"]["centring_mm"] < 0.6


def test_the_care_told_gives_the_chance_wanted(tmp_path: Path) -> None:
    job = pair_with(tmp_path, shop="[errors]\ncentring = 0.6\n")
    (joint,) = errors(job)["joints"]
    size = joint["care"]["centring_mm"]
    again = errors(
        pair_with(tmp_path, shop=f"[errors]\ncentring = {size}\n"), "--no-care", "--seed", "9"
    )
    assert again["joints"][0]["chance"]["value"] == pytest.approx(0.95, abs=0.03)


def test_too_few_samples_are_said_not_to_settle(tmp_path: Path) -> None:
    job = pair_with(tmp_path, shop="[errors]\ncentring = 0.4\n")
    assert "not settled" in run("errors", job, "-n", "200", "--no-care").stdout
    assert "not settled" not in run("errors", job, "-n", "20000", "--no-care").stdout


def test_an_unknown_error_in_the_shop_file_is_refused_with_the_nearest_name(tmp_path: Path) -> None:
    result = run("errors", pair_with(tmp_path, shop="[errors]\ncentering = 0.1\n"))
    assert result.exit_code == 2
    assert 'did you mean "centring"?' in result.stderr


def test_filler_adds_up_and_warns() -> None:
    result = run("filler", PAIR)
    assert result.exit_code == 0
    assert "Ventilate" in result.stdout
    words = " ".join(result.output.split())
    usual = rows("fillers")[3]
    assert f"{usual['density_g_cm3']} g/cm³, rod of {usual['rod_mm']} mm, 30 % lost" in words
    assert "1 of 500 mm" in words
    found = json.loads(run("filler", PAIR, "--json", "--radius", "4").stdout)
    assert found["joints"][0]["fillet_radius_mm"] == 4.0
    larger = json.loads(run("filler", PAIR, "--json", "--radius", "8").stdout)
    assert larger["joints"][0]["fillet_mm3"] > 3.5 * found["joints"][0]["fillet_mm3"]
    assert larger["rods"][0]["rod_mm"] == pytest.approx(larger["joints"][0]["rod_mm"])


def job_of(folder: Path, *changes: tuple[str, str]) -> Path:
    job = pair_with(folder)
    text = job.read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    job.write_text(text)
    return job


def test_a_process_that_does_not_fit_the_material_fails_with_its_reason(tmp_path: Path) -> None:
    titanium = ("wall ", 'material = "titanium"\nwall ')
    job = job_of(tmp_path, titanium)
    checked = run("check", job, "--json")
    assert checked.exit_code == 1
    (joint,) = json.loads(checked.stdout)["joints"]
    assert any("fillet-braze does not fit titanium" in reason for reason in joint["reasons"])
    assert any("what fits it: tig" in reason for reason in joint["reasons"])
    assert joint["gap_mm"]["max"] is not None
    told = run("filler", job, "--json")
    assert told.exit_code == 1
    (one,) = json.loads(told.stdout)["joints"]
    assert one["fillet_mm3"] > 300 and one["filler"] is None and one["rod_mm"] is None
    welded = json.loads(
        run("filler", job_of(tmp_path, titanium, ("fillet-braze", "tig")), "--json").stdout
    )
    assert "titanium rod" in welded["joints"][0]["filler"]


def test_tubes_of_two_materials_are_not_joined(tmp_path: Path) -> None:
    rail = ("wall  = 0.9", 'material = "aluminium"\nwall = 0.9')
    job = job_of(tmp_path, rail, ("fillet-braze", "tig"))
    reasons = json.loads(run("check", job, "--json").stdout)["joints"][0]["reasons"]
    assert any("tig does not join" in r and "aluminium" in r and "steel" in r for r in reasons)


def test_filler_tells_the_other_joints_where_one_cannot_be_told(tmp_path: Path) -> None:
    job = job_of(tmp_path, ('"1 1/8 in"', "44.0"))
    told = run("filler", job)
    assert told.exit_code == 1 and not told.stderr
    assert "does not meet its mates all around" in " ".join(told.stdout.split())


def test_errors_of_a_frame_whose_joints_all_fail_is_work_done_and_a_failure(
    tmp_path: Path,
) -> None:
    told = run("errors", job_of(tmp_path, ('"1 1/8 in"', "44.0")))
    assert told.exit_code == 1
    assert "rail, start" in told.stderr


def test_a_small_tube_takes_a_small_fillet() -> None:
    radii = [usual_radius("fillet-braze", od) for od in (14.0, 22.2, 28.6, 44.0)]
    assert radii == sorted(set(radii))


def test_a_measured_tube_that_does_not_close_fails_with_status_1(tmp_path: Path) -> None:
    table = '\n[[measured]]\ntube = "rail"\nend = "start"\n'
    assert run("measured", pair_with(tmp_path, table + "angle = 76.5\n")).exit_code == 0
    assert run("measured", pair_with(tmp_path, table + "angle = 73.0\n")).exit_code == 1
    assert run("measured", PAIR).exit_code == 2


def scan_file(folder: Path, offset: float) -> Path:
    """Points of the rail's cut end, from the exact cope moved sideways, as a point file."""
    from frame3d.surfaces.cope import copes_of

    cope = copes_of(frame3d.open(PAIR).frame)["rail", "start"]
    rng = np.random.default_rng(0)
    theta, depth = rng.uniform(0, 2 * np.pi, 4000), rng.uniform(0, 1, 4000)
    face = cope.points(theta, depth) + np.array([0.0, offset, 0.0])
    back = rng.uniform(0, 30, 30_000)
    skin = rng.uniform(0, 2 * np.pi, 30_000)
    outside = cope.points(skin, np.ones(30_000)) - back[:, None] * cope.frame.out
    points = np.concatenate([face, outside]) + rng.normal(0, 0.01, (34_000, 3))
    file = folder / "scan.xyz"
    np.savetxt(file, points)
    return file


def test_a_scan_as_drawn_passes_and_is_pictured(tmp_path: Path) -> None:
    nominal = json.loads(run("check", PAIR, "--json").stdout)["joints"][0]["gap_mm"]["max"]
    scan = scan_file(tmp_path, 0.0)
    out = tmp_path / "out"
    result = run("check", PAIR, "--scan", scan, "--end", "rail:start", "--json", "-o", out)
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["gap_mm"] == pytest.approx(nominal, abs=0.01)
    assert {p.name for p in out.iterdir()} == {"scan.png", "scan.svg", "file-to-fit.pdf"}


def told_by_scan(points: np.ndarray, file: Path) -> tuple[int, dict]:  # type: ignore[type-arg]
    np.savetxt(file, points)
    result = run("check", PAIR, "--scan", file, "--end", "rail:start", "--json")
    return result.exit_code, json.loads(result.stdout)


@pytest.mark.parametrize("scale", [0.99, 1.03])
def test_a_scan_whose_scale_no_tube_of_its_class_allows_is_not_passed(
    tmp_path: Path, scale: float
) -> None:
    points = np.loadtxt(scan_file(tmp_path, 0.0))
    status, found = told_by_scan(scale * points, tmp_path / "scaled.xyz")
    assert (status, found["verdict"]) == (1, "fail")
    assert f"scale the scan by {1 / scale:.2f}" in found["scale_doubt"]


def test_a_table_in_a_scan_gets_a_hint_to_crop(tmp_path: Path) -> None:
    points = np.loadtxt(scan_file(tmp_path, 0.0))
    assert table_hint(points) == ""
    flat = np.random.default_rng(1).uniform(-60, 60, (15_000, 2))
    table = np.column_stack([flat, np.full(len(flat), points[:, 2].min())])
    status, found = told_by_scan(np.concatenate([points, table]), tmp_path / "table.xyz")
    assert status == 0 and "crop the scan" in found["hint"] and found["scale_doubt"] is None


def test_names_that_look_like_markup_are_told_as_they_are(tmp_path: Path) -> None:
    table = '\n[[measured]]\ntube = "rail"\nend = "start"\nangle = 76.5\n'
    job = pair_with(tmp_path, table)
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace('"rail"', '"[/]"').replace('"post"', '"[red]post"'))
    scan = ("--scan", scan_file(tmp_path, 0.0), "--end", "[/]:start")
    for command, *options in (("check",), ("check", *scan), ("filler",), ("measured",)):
        result = run(command, job, *options)
        assert result.exit_code == 0, result.output
        assert "[/]" in result.stdout
        assert "[red]post" in result.stdout or command != "check"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--scan", "no.stl", "--end", "rail:start"), "there is no such file"),
        (("--scan", ".", "--end", "rail:start"), ".: is a folder, expected a scan"),
        (("--scan", "no.stl"), "expected the end that was scanned"),
        (("--scan", "no.stl", "--end", "rail:end"), '"rail:start"'),
    ],
)
def test_a_scan_that_cannot_be_used_is_refused(arguments: tuple[str, ...], said: str) -> None:
    result = run("check", PAIR, *arguments)
    assert result.exit_code == 2
    assert said in result.stderr


def test_what_is_told_of_a_joint_fits_the_page_and_names_no_riddle(tmp_path: Path) -> None:
    job = pair_with(tmp_path, shop="[errors]\ncentring = 0.6\n")
    text = run("errors", job, "-n", "1000").stdout
    _, _, prose = text.partition("Gaps are told")
    before, _, after = prose.partition("The errors as they are taken")
    lines = [*before.splitlines(), *after.partition("Whole frame")[2].splitlines()]
    assert 80 < max(map(len, lines)) <= 100
    assert "\x1b" not in text
    assert "halve centring first" in text
    assert "of 20 close instead of" in " ".join(text.split())
    assert "your shop file" in text  # where a size comes from
    assert "common practice, no source" in text
    assert "spindle beside the tube's axis" in " ".join(text.split())
    assert "standard error" in text


def play_of(job: Path) -> dict:  # type: ignore[type-arg]
    by_hand = job.read_text().replace("saw  = 37.0", "#")
    job.write_text(by_hand)
    return {size["name"]: size for size in errors(job, "--no-care")["sizes"]}


def test_a_guide_grips_off_centre_by_half_the_printers_clearance_unless_the_shop_says_its_own(
    tmp_path: Path,
) -> None:
    usual = play_of(pair_with(tmp_path))
    wide = play_of(pair_with(tmp_path, shop="[printer]\nclearance = 0.2\n"))
    own = play_of(pair_with(tmp_path, shop="[printer]\nclearance = 0.2\n[errors]\nwobble = 0.1\n"))
    assert [sizes["wobble"]["within"] for sizes in (usual, wide, own)] == [
        "±0.075 mm, all",
        "±0.1 mm, all",
        "±0.1 mm, all",
    ]
    assert "usual clearance" in usual["wobble"]["standing"]
    assert wide["wobble"]["standing"] == "your shop file, [printer] clearance"
    assert own["wobble"]["standing"] == "your shop file"
    for name in ("wobble", "guide phase", "guide place", "filing"):
        assert usual[name]["meaning"].startswith("hand cutting: ")


def test_a_guides_usual_grip_is_off_centre_by_half_the_printers_usual_clearance() -> None:
    assert float(row("setup_errors", "wobble")["size"]) == Printer().clearance / 2


def test_what_the_output_prints_of_an_error_is_what_the_shop_file_takes(tmp_path: Path) -> None:
    """Every key with its size, copied into [errors], changes nothing."""
    job = pair_with(tmp_path)
    found = errors(job, "--no-care", "--jig-only")
    text = run("errors", job, "-n", "1000", "--no-care", "--jig-only").stdout
    assert {size["shape"] for size in found["sizes"]} == {"normal", "rectangular", "one-sided"}
    own = ""
    for size in found["sizes"]:
        if isinstance(size["size"], list):
            continue
        (line,) = (line for line in text.splitlines() if line.split()[:1] == [size["key"]])
        number = f"{size['size']:.2g}"
        assert number in line
        own += f"{size['key']} = {number}\n"
    again = errors(pair_with(tmp_path, shop=f"[errors]\n{own}"), "--no-care", "--jig-only")
    assert again["chance"] == found["chance"]
    assert {size["standing"] for size in again["sizes"]} >= {"your shop file"}


def test_piped_rows_are_one_line_each_and_names_are_whole(tmp_path: Path) -> None:
    name = "a rail with quite a long name that no terminal has room for"
    text = PAIR.read_text().replace("../", "./").replace('"rail"', f'"{name}"')
    (tmp_path / "job.toml").write_text(text)
    (tmp_path / "shop.toml").write_text("[[saw]]\nod = 37.0\n")
    told = run("errors", tmp_path / "job.toml", "-n", "200", "--no-care", "--jig-only").stdout
    lines = [line for line in told.splitlines() if name in line and "start" in line]
    assert any("0.400" in line and "±" in line for line in lines)
    assert any("vise_zero" in line and "no source" in line for line in told.splitlines())


def test_jig_and_hand_are_told_side_by_side(tmp_path: Path) -> None:
    job = pair_with(tmp_path, shop="[errors]\ncentring = 0.6\n")
    found = errors(job, "--no-care")
    (joint,) = found["joints"]
    assert joint["by_hand"]["chance"]["value"] > joint["chance"]["value"] + 0.2
    assert found["by_hand"]["room"] == {"shift": 0.5, "turn": 0.2, "roll": 0.5}
    text = " ".join(run("errors", job, "-n", "1000", "--no-care").stdout.split())
    jig, hand = (f"{100 * one['chance']['value']:.1f}" for one in (found, found["by_hand"]))
    assert f"closes in {jig} % of frames" in text
    assert f"moved by hand in {hand} %" in text
    assert "out of place at their ends by no more than" in text
    assert "no end more than 0.5 mm sideways" in text
    assert errors(job, "--no-care", "--jig-only")["by_hand"] is None


def test_what_is_told_alike_of_several_joints_is_told_once() -> None:
    job = EXAMPLES / "trailer" / "job.toml"
    text = run("errors", job, "-n", "400", "--jig-only").stdout
    lines = [line.rstrip() for line in text.splitlines()]
    assert "left drawbar stay, start; right drawbar stay, start" in lines
    assert sum(line.startswith("left drawbar stay, start") for line in lines) == 1
    told = lines[lines.index("drawbar, start") :]
    assert any("±" in line for line in told)
    assert not any(line.strip().startswith(("mm", "% ", "°")) for line in told)


def test_curves_come_as_data_and_as_pages(tmp_path: Path) -> None:
    job = pair_with(tmp_path)
    out = tmp_path / "curves"
    result = run("errors", job, "-n", "500", "--no-care", "-o", out)
    assert result.exit_code in (0, 1), result.output
    (joint,) = json.loads((out / "errors.json").read_text())["joints"]
    for error in joint["errors"]:
        at, gap = np.array(error["curve"]).T
        assert (np.diff(at) > 0).all()
        assert (gap >= joint["nominal_mm"] - 0.25).all()
    assert (out / "error-curves.pdf").read_bytes().startswith(b"%PDF")


def test_a_frame_without_a_joint_that_can_be_cut_says_why(tmp_path: Path) -> None:
    text = (
        PAIR.read_text().replace("../", "./").replace("[0.0, 0.0, -100.0]", "[0.0, 80.0, -100.0]")
    )
    text = text.replace("[0.0, 0.0, 100.0]", "[0.0, 80.0, 100.0]")
    (tmp_path / "job.toml").write_text(text)
    (tmp_path / "shop.toml").write_text("[[saw]]\nod = 37.0\n")
    result = run("errors", tmp_path / "job.toml")
    assert result.exit_code == 1  # the job can be read; its joint fails
    assert "rail, start" in result.stderr
    assert "touches nothing" in result.stderr
