"""What Python sees: names that are there and typed, a light import, `python -m frame3d`."""

import re
import subprocess
import sys
import venv
from pathlib import Path

import pytest

import frame3d

ROOT = Path(__file__).parents[2]
TWO = ROOT / "examples" / "two-tubes" / "job.toml"


def python(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *arguments], cwd=cwd, capture_output=True, text=True)


def test_every_name_offered_is_there() -> None:
    for name in frame3d.__all__:
        assert getattr(frame3d, name).__name__ == name
    with pytest.raises(AttributeError, match="has no attribute 'opne'"):
        frame3d.opne  # type: ignore[attr-defined]  # noqa: B018


def test_importing_it_brings_nothing_heavy(tmp_path: Path) -> None:
    code = "import sys, frame3d; print({'numpy', 'pydantic', 'trimesh', 'click'} & {*sys.modules})"
    assert python("-c", code, cwd=tmp_path).stdout == "set()\n"


def test_the_module_is_the_command_line(tmp_path: Path) -> None:
    done = python("-m", "frame3d", "check", str(TWO), cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "1 of 1 joints pass" in done.stdout
    assert python("-m", "frame3d", "check", "none.toml", cwd=tmp_path).returncode == 2


def reader_s_mypy(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """mypy --strict with no settings, in an environment that has frame3d as an installed package:
    its own folder would be found in editable installs only by Python."""
    home = folder / "venv"
    if not home.exists():
        venv.create(home, with_pip=False, symlinks=True)
        (packages,) = home.glob("[Ll]ib/**/site-packages")
        found = [str(ROOT), *(path for path in sys.path if path.endswith("site-packages"))]
        (packages / "installed.pth").write_text("\n".join(found), encoding="utf-8")
    interpreter = next(home.glob("bin/python"), home / "Scripts" / "python.exe")
    (folder / "reader.py").write_text(code, encoding="utf-8")
    settings = "--strict", "--config-file=", f"--python-executable={interpreter}"
    return python("-m", "mypy", *settings, "reader.py", cwd=folder)


def test_a_reader_s_type_checker_takes_the_python_of_the_readme(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (code,) = re.findall(r"```python\n(.*?)```", readme, re.DOTALL)
    done = reader_s_mypy(code, tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    bad = code + "\nbuild.report.no_such_figure\nfrom frame3d import NoSuchName\n"
    told = reader_s_mypy(bad, tmp_path).stdout
    assert "no_such_figure" in told and "NoSuchName" in told


def test_the_work_of_the_commands_takes_one_line_each(tmp_path: Path) -> None:
    build = frame3d.open(TWO)
    assert 0.5 < build.odds(samples=200).whole.chance.value <= 1
    build.write_meshes(tmp_path)
    assert (tmp_path / "frame.3mf").is_file() and (tmp_path / "meshes" / "rail.stl").is_file()
    (guide,), refused = build.guides()
    assert guide.parts and not refused
    fit = build.scanned(tmp_path / "meshes" / "rail.stl", "rail", "start")
    assert fit.gap == pytest.approx(build.report.joints[0].gap.widest.value, abs=0.01)  # type: ignore[union-attr]
    with pytest.raises(frame3d.JobError):
        frame3d.open(tmp_path / "none.toml")
