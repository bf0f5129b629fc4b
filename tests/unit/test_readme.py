"""The README does not rot: its commands run, its outputs are what they print, its code works."""

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from frame3d_cli.main import COMMANDS, main

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


LINES = [line for block in blocks("sh") for line in block.splitlines()]


@pytest.fixture
def workplace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_every_frame3d_command_runs_in_the_order_shown(workplace: Path) -> None:
    commands = [re.search(r"frame3d (.*)$", line) for line in LINES]
    shown = [found[1] for found in commands if found]
    assert len(shown) >= 5
    for arguments in shown:
        result = CliRunner().invoke(main, arguments.split())
        assert result.exit_code == 0, f"frame3d {arguments}: {result.output}"


def test_every_explanation_that_the_text_points_to_is_there() -> None:
    pointed = re.findall(r"`frame3d (explain \w\S*)`", README)
    assert len(pointed) >= 5
    for arguments in pointed:
        result = CliRunner().invoke(main, arguments.split())
        assert result.exit_code == 0, f"frame3d {arguments}: {result.output}"


def test_every_command_has_its_example() -> None:
    for command in COMMANDS:
        assert any(f"frame3d {command} " in line for line in LINES), command


def test_other_lines_are_the_two_that_install_and_ci_runs_them() -> None:
    others = [line for line in LINES if not line.startswith("frame3d ")]
    install, tests = others
    assert install.startswith("python3 -m pip install . && frame3d make examples/")
    assert re.fullmatch(r"python3 -m pip install .* && python3 -m pytest .*", tests)
    assert "README.md" in (ROOT / ".ci" / "run").read_text()


def test_the_job_shown_is_the_example() -> None:
    def plain(text: str) -> list[str]:
        return [re.sub(r"\s*#.*", "", line) for line in text.splitlines() if line.strip()]

    job, stay, cut, *_ = blocks("toml")
    example = (ROOT / "examples" / "two-tubes" / "job.toml").read_text()
    assert plain(job) == [line for line in plain(example) if line]
    touring = (ROOT / "examples" / "touring" / "job.toml").read_text()
    for tube in (stay, cut):
        assert "\n".join(plain(tube)[1:]) in "\n".join(plain(touring))


def test_the_outputs_shown_are_what_is_printed(workplace: Path) -> None:
    table, failure, contradiction, *_ = blocks("text")
    job = workplace / "examples" / "two-tubes" / "job.toml"
    printed = CliRunner().invoke(main, ["check", str(job)]).stdout
    assert [line.rstrip() for line in printed.splitlines() if line.strip()] == [
        line.rstrip() for line in table.splitlines() if line.strip()
    ]
    job.write_text(job.read_text().replace("saw  = 37.0", "saw  = 44.0"))
    printed = CliRunner().invoke(main, ["check", str(job)]).stdout
    assert " ".join(failure.split()) in " ".join(printed.split())
    touring = workplace / "examples" / "touring" / "job.toml"
    touring.write_text(touring.read_text().replace("fork_length ", "trail = 58\nfork_length "))
    said = CliRunner().invoke(main, ["check", str(touring)]).stderr
    (contradiction,) = (block for block in blocks("text") if "bicycle, trail" in block)
    told = " ".join(contradiction.split()).partition("bicycle, ")[2]
    assert said.endswith(f"bicycle, {told}\n")


def test_the_python_shown_runs(workplace: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (code,) = blocks("python")
    exec(compile(code, "README.md", "exec"), {})
    said = capsys.readouterr().out
    assert "down tube start" in said
    assert "mm3" in said


def test_pictures_and_links_point_to_files() -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", README):
        assert (ROOT / target).is_file(), target
