"""The printed pages say what the library says, all of it on the paper, nothing over anything."""

import json
import re
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from test_virtual_mill import fixed, followed, strays

import frame3d
from frame3d.mill.blank import raw_blank
from frame3d.mill.pages import CAUTIONS
from frame3d.mill.printed_numbers import as_json
from frame3d.mill.setup import tube_sheet
from frame3d.mill.virtual_mill import mill
from frame3d.model import Mill
from frame3d.paper.pdf_page import Head, mark_text, size_text
from frame3d.paper.shop_pages import write_shop_pdf
from frame3d.surfaces.cope import copes_of
from frame3d_cli.main import main

pdfplumber = pytest.importorskip("pdfplumber")

ROOT = Path(__file__).parents[3]
JOBS = sorted(ROOT.glob("examples/*/job.toml"))
DIAMOND = ROOT / "examples" / "diamond" / "job.toml"
OVER_PT = 0.6  # boxes of letters hold a little air above and below


@cache
def pages_of(job: Path):
    return frame3d.open(job).pages()


def run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["setup", *arguments])
    return result.exit_code, result.output


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
def test_every_cut_of_every_example_comes_out_of_the_virtual_mill_as_designed(job: Path) -> None:
    from test_virtual_mill import Coped

    # As shop_pages sets them up, without what the mill does not read.
    sawn = frame3d.open(job).frame
    copes = copes_of(sawn)
    cuts = 0
    for tube in sawn.tubes:
        told = tube_sheet(sawn, tube, copes, raw_blank(tube))
        # Every end that a saw is named or chosen for has its numbers, whatever its shape.
        sawn_by = {j.end for j in sawn.joints if j.tube == tube.name and any(j.saws)}
        assert {cut.end for cut in told.cuts} == sawn_by, told.warnings
        assert not any("do not cut" in words for words in told.warnings)
        if not told.cuts:
            continue
        sheet = json.loads(json.dumps(as_json(told)))
        own = {(tube.name, end): copes[tube.name, end] for end in sawn_by}
        coped = Coped(sawn, tube, own)
        assert strays(coped, sheet) == 0, tube.name
        sheet["cuts"][0]["tilt_deg"] += 0.1
        assert not followed(sheet, coped)
        cuts += len(sheet["cuts"])
    assert cuts > 0


class Read:
    """A PDF as an independent reader sees it, read but once: size, text and words of each page."""

    def __init__(self, file: Path) -> None:
        with pdfplumber.open(file) as pdf:
            self.pages = [
                (
                    page.width,
                    page.height,
                    page.extract_words(keep_blank_chars=True, x_tolerance=1.5),
                )
                for page in pdf.pages
            ]
            self.texts = [" ".join(page.extract_text().split()) for page in pdf.pages]


@pytest.fixture(scope="module", params=["mm A4", "inch Letter"])
def printed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory):
    folder = tmp_path_factory.mktemp("pages")
    units, paper = request.param.split()
    for name in ("diamond/job.toml", "shop.toml"):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text((ROOT / "examples" / name).read_text())
    mill_table = f'[mill]\nunits = "{units}"\npaper = "{paper}"\n'
    if units == "inch":
        mill_table += 'travel_per_turn = "0.1 in"\n'
    (folder / "shop.toml").write_text((folder / "shop.toml").read_text() + "\n" + mill_table)
    job = folder / "diamond" / "job.toml"
    holes = '\n[[hole]]\ntube = "down tube"\nat = 250\nangle_deg = 0\ndiameter = 6.5\n'
    job.write_text(job.read_text() + holes + 'kind = "bottle boss"\n')
    code, output = run(str(job), "-o", str(folder / "out"))
    assert code == 0, output
    out = folder / "out" / "shop"
    read = Read(out / "pages.pdf")
    read.job = job
    return read, Read(out / "wraps" / "wraps.pdf"), units, paper


def test_no_text_leaves_the_page_and_none_lies_over_another(printed) -> None:
    *both, _, paper = printed
    for width, height, words in (page for read in both for page in read.pages):
        assert (width > 600) == (paper == "Letter")
        for word in words:
            assert word["x0"] >= 18 and word["x1"] <= width - 18, word
            assert word["top"] >= 18 and word["bottom"] <= height - 8, word
        for i, one in enumerate(words):
            for other in words[i + 1 :]:
                across = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
                down = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
                assert across < OVER_PT or down < OVER_PT, (one["text"], other["text"])


def test_every_page_has_job_date_and_number_and_nothing_is_cut_short(printed) -> None:
    texts = printed[0].texts
    for number, text in enumerate(texts, start=1):
        assert f"page {number} of {len(texts)}" in text
        assert "Heron, a diamond frame" in text
        assert re.search(r"\d{4}-\d\d-\d\d", text)
        assert "…" not in text


def test_the_cover_carries_the_cautions(printed) -> None:
    text = printed[0].texts[0]
    for caution in CAUTIONS:
        assert caution in text
    for word in ("Eye", "swarf", "hair", "fumes", "ISO 4210", "hot and sharp", "Clamp"):
        assert word in text


def test_the_numbers_on_the_cut_pages_are_the_librarys(printed) -> None:
    read, _, units, _ = printed
    pages, shop = pages_of(read.job), frame3d.open(read.job).frame.shop

    def text_of(mm: float) -> str:
        return f"{mm:.3f} mm" if units == "mm" else f"{mm / 25.4:.5f} in"

    for tube in pages.tubes:
        for cut in tube.sheet.cuts:
            heading = f"{tube.sheet.tube}: {cut.end} cut {cut.number} of {len(tube.sheet.cuts)}"
            (text,) = [t for t in read.texts if t.startswith(heading)]
            assert f"{mark_text(shop.mill, cut.mark)} from the {cut.mark_from} end" in text
            # The first of all steps is what to saw off, with where the drawing begins.
            assert text.index("1 Blank") < text.index("2 Mark")
            begins = abs(tube.sheet.start_from_sawn)
            start = f"{begins:.2f} mm" if units == "mm" else f"{begins / 25.4:.4f} in"
            assert f"start point is {start}" in text
            tip = "9.525 mm" if units == "mm" else "0.37500 in"
            assert f"edge finder's tip {tip} (3/8 in)" in text
            assert "gap: widest" in text
            assert f"across {text_of(cut.across)}, back {text_of(cut.half)}" in text
            assert f"run {text_of(cut.run)}" in text
            if tube.sheet.block(cut.end) is None:
                assert f"line at {cut.line_up:g}° up" in text
                assert "tighten" not in text
            else:
                assert f"face {cut.face_up} up" in text
            assert f"exact {cut.tilt:.4f}°" in text
            assert not cut.tilt or cut.high in text
            if cut.x_move:
                way = "right" if cut.x_move > 0 else "left"
                assert f"mark, {text_of(abs(cut.x_move))} {way}" in text
            if cut.offset:
                way = "column" if cut.offset_to == "towards the column" else "you"
                assert re.search(f"then {text_of(cut.offset)} to (the )?{way}", text)


def test_inch_pages_have_no_millimetres_but_in_brackets(printed) -> None:
    *both, units, _ = printed
    if units == "mm":
        return
    for text in (text for read in both for text in read.texts):
        text = text.replace("100 mm (3.937 in): measure it", "")
        assert not re.search(r"(?<!\()\b[\d.]+ mm\b", text), text


def test_inches_as_printed_still_make_the_designed_tube() -> None:
    """Five decimals of an inch are a quarter of a micrometre."""
    coped = fixed()
    sheet = json.loads(json.dumps(as_json(tube_sheet(coped.frame, coped.tube, coped.copes))))
    changed = 0
    for cut in sheet["cuts"]:
        for key in ("mark_mm", "across_mm", "half_mm", "offset_mm", "x_move_mm", "run_mm"):
            inch = float(size_text(Mill(units="inch"), cut[key]).removesuffix(" in"))
            changed += cut[key] != inch * 25.4
            cut[key] = inch * 25.4
    assert changed > 10
    assert strays(coped, sheet) == 0


def test_the_edge_finder_reads_tube_and_tip_by_hand() -> None:
    """1 1/8 in tube, 3/8 in tip: 1 1/2 in across, 3/4 in back."""
    pages = pages_of(DIAMOND)
    assert Mill().edge_tip == pytest.approx(9.525)
    for tube in pages.tubes:
        for cut in tube.sheet.cuts:
            assert cut.across == pytest.approx(tube.sheet.od[0][1] + 9.525, abs=0.0006)
            assert cut.half == pytest.approx(cut.across / 2, abs=0.0006)
    pages = pages_of(ROOT / "examples" / "two-tubes" / "job.toml")
    (cut,) = pages.tubes[1].sheet.cuts
    assert (cut.across, cut.half) == (38.1, 19.05)  # 1.5 in, 0.75 in


def test_order_list_and_trim_plan_are_printed_as_planned(tmp_path: Path) -> None:
    job = ROOT / "examples" / "touring" / "job.toml"
    pages = pages_of(job)
    head = Head(pages.job, "2000-01-01", "A4")
    write_shop_pdf(tmp_path / "pages.pdf", pages, frame3d.open(job).frame.shop.mill, head)
    with pdfplumber.open(tmp_path / "pages.pdf") as pdf:
        texts = [page.extract_text() for page in pdf.pages]
    assert not any("…" in text for text in texts)
    (orders,) = [text for text in texts if text.startswith("Order list")]
    (trims,) = [text for text in texts if text.startswith("Trim plan")]
    assert pages.trim is not None
    for order in pages.trim.orders:
        assert f"{order.stock} {order.raw:.1f} mm {order.count}" in orders
    for trim in pages.trim.tubes:
        for name, end in trim.ends.items():
            assert f"{trim.tube}, {name} {end.cut + 0.0:.1f} mm" in trims
        # What is cut off at both ends and what is left is the raw tube.
        assert trim.ends["start"].cut + trim.finished + trim.ends["end"].cut == pytest.approx(
            trim.raw, abs=1e-9
        )
    told = json.loads(json.dumps(pages.as_json()))
    assert told["trim"] == pages.trim.as_json()


def test_json_names_units_and_meaning_of_every_number() -> None:
    code, output = run(str(ROOT / "examples" / "two-tubes" / "job.toml"), "--json")
    assert code == 0
    data = json.loads(output)
    assert data["format"] == "frame3d-shop/1"
    top = {
        "format",
        "job",
        "process",
        "cautions",
        "saws",
        "tubes",
        "jig_tubes",
        "jig_joints",
        "trim",
        "failing",
    }

    def keys(value: object) -> set[str]:
        if isinstance(value, dict):
            return set(value).union(*map(keys, value.values()))
        return set().union(*map(keys, value)) if isinstance(value, list) else set()

    meaning = data.pop("meaning")
    assert keys(data) - top <= set(meaning)
    assert all(meaning.values())
    for tube in data["tubes"]:
        mill(tube["sheet"])  # another program can follow it: this one does


def test_an_unusable_job_writes_nothing(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('[job]\nname = "x"\nprocess = "tig"\nshop = "s.toml"\n')
    code, output = run(str(bad), "-o", str(tmp_path / "out"))
    assert code == 2
    assert "tube: is missing" in output
    assert not (tmp_path / "out").exists()
