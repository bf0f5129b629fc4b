"""A cut that the check fails is told in the same words on its page, in the JSON and on guides."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from frame3d_cli.main import main

JOB = """\
[job]
name = "stops"
process = "tig"

[[tube]]
name = "shell"
start = [0, -36.7, 0]
end = [0, 36.7, 0]
od = 38.1
wall = 2.4

[[tube]]
name = "stay"
start = [0, {y}, 0]
end = [250, {y}, 0]
od = 28.6
wall = 0.9

[[tube]]
name = "stub"
start = [0, -10, 0]
end = [0, -10, 200]
od = 20
wall = 0.9

[[joint]]
tube = "stay"
end = "start"
onto = ["shell"]
{saw}

[[joint]]
tube = "stub"
end = "start"
onto = ["shell"]
saw = 38.1
"""

FAILING = {
    # y of the stay's axis, its saw, and how it is told
    "gap": (15, "saw = 41.3", "start: gap 0."),
    "not cut whole": (15, "saw = 28", "start: the 28 mm saw is too small"),
    "off the shell's end": (25, "saw = 38.1", "start: stay runs off shell"),
    "near the shell's end": (20.5, "saw = 38.1", "start: stay stands 1.9"),
}


def written(case: str, folder: Path) -> Path:
    y, saw, _ = FAILING[case]
    job = folder / "job.toml"
    job.write_text(JOB.format(y=y, saw=saw), encoding="utf-8")
    return job


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, list(words))
    return result.exit_code, result.stdout


def joined(pages: list[str]) -> list[str]:
    return [" ".join(page.split()) for page in pages]


@pytest.mark.parametrize("case", FAILING)
def test_a_cut_that_fails_says_so_on_its_own_page_and_in_the_json(
    case: str, tmp_path: Path
) -> None:
    job = written(case, tmp_path)
    code, text = run("check", str(job), "--json")
    assert code == 1
    reasons = [f"start: {words}" for words in json.loads(text)["joints"][0]["reasons"]]
    assert reasons[0].startswith(FAILING[case][-1])
    code, text = run("setup", str(job), "--json")
    assert code == 1
    assert {tube["sheet"]["tube"]: tube["stop"] for tube in json.loads(text)["tubes"]} == {
        "shell": [],
        "stay": reasons,
        "stub": [],
    }


def test_the_page_of_a_cut_that_fails_says_so_and_no_other(tmp_path: Path) -> None:
    job, out = written("gap", tmp_path), tmp_path / "out"
    code, text = run("setup", str(job), "-o", str(out))
    assert code == 1
    told = " ".join(text.split())
    assert "do not cut stay: start: gap 0." in told
    cover, *pages = joined([p.extract_text() for p in PdfReader(out / "shop/pages.pdf").pages])
    assert "Do not cut stay: start: gap 0." in cover
    (own,) = [page for page in pages if "stay: start" in page]
    assert "DO NOT CUT stay: start: gap 0." in own
    assert not any("DO NOT CUT" in page for page in pages if page is not own)


def test_guides_say_so_too(tmp_path: Path) -> None:
    job, out = written("near the shell's end", tmp_path), tmp_path / "out"
    code, text = run("guides", str(job), "-o", str(out), "--no-slice", "--no-sheet")
    assert code == 1 and "do not cut stay: start: stay stands 1.9" in " ".join(text.split())
    record = json.loads((out / "guides/guides.json").read_text(encoding="utf-8"))
    (told,) = record["do_not_cut"]
    assert told["tube"] == "stay" and told["reasons"][0].startswith("start: stay stands 1.9")
