"""The customer's page in a real browser: Chromium, headless, WebGL in software, from disk."""

import dataclasses
import io
import json
import time
from collections.abc import Callable, Iterator
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
from frames import HOSTILE, diamond, hostile, two_tubes
from judges import need
from PIL import Image

import frame3d
from frame3d.build import Build
from frame3d.model import Frame, Part, Show
from frame3d.view.spec_tables import summary
from frame3d.web.page import page_html

pytestmark = pytest.mark.peer

NARROW, PHONE, LAPTOP = (360, 640), (390, 844), (1366, 768)
SMALL = (720, 1100)  # a software renderer is slow; what needs no certain size is shown small
SOFTWARE = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
BLUE = "#1f5f8b"
PATIENCE_S = 30.0
EXAMPLES = ("two-tubes", "diamond", "trailer", "touring", "step-through", "small-wheels")


def shown() -> Frame:
    wheels = (
        Part("rear wheel", "wheel", (-432, 0, 76), 32, 350),
        Part("front wheel", "wheel", (600, 0, 76), 32, 350),
    )
    return dataclasses.replace(diamond(), show=Show((("", BLUE), ("head tube", "#c9a227")), wheels))


@pytest.fixture(scope="module")
def browsers() -> Iterator[dict[str, object]]:
    need("playwright")
    need("chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:

        def start(*flags: str):
            # Without its sandbox, since CI runs as root in a container; the page is our own.
            return play.chromium.launch(
                executable_path="/usr/bin/chromium", args=["--no-sandbox", *flags]
            )

        yield {"webgl": start(*SOFTWARE), "flat": start("--disable-3d-apis", "--disable-gpu")}


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    frame = shown()
    version = Build(frame).version()
    path = tmp_path_factory.mktemp("page") / "frame.html"
    path.write_text(
        page_html(frame.name, summary(frame, version.report), (version,)), encoding="utf-8"
    )
    return path


class Opened:
    """A page opened from disk; hears every request, message and error."""

    def __init__(self, browser, path: Path, size=SMALL, **context) -> None:
        for before in browser.contexts:
            before.close()
        self.page = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, **context
        ).new_page()
        self.requests: list[str] = []
        self.trouble: list[str] = []
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda message: self.trouble.append(message.text))
        self.page.on("pageerror", lambda error: self.trouble.append(str(error)))
        self.page.goto(path.as_uri())

    def wait(self) -> "Opened":
        self.page.wait_for_selector("body[data-drawn=yes]")
        self.settle()
        return self

    def settle(self) -> None:
        self.page.evaluate(
            "() => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))"
        )

    def canvas(self, wanted: Callable[[np.ndarray], object] = lambda pixels: True) -> np.ndarray:
        """What is on the screen once it is as wanted and has come to rest; a busy machine may show
        an older picture for a while after the page has drawn. After PATIENCE_S what is there."""
        limit, last = time.monotonic() + PATIENCE_S, None
        while True:
            self.settle()
            shot = self.page.locator("#stage").screenshot()
            now = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)
            rests = last is not None and np.array_equal(now, last)
            if (rests and wanted(now)) or time.monotonic() > limit:
                return now
            last = now

    def paint(self, colour: str, tube: str) -> None:
        self.page.select_option("#painted", tube)
        self.page.evaluate(
            "c => { const i = document.getElementById('paint'); i.value = c;"
            " i.dispatchEvent(new Event('input', {bubbles: true})); }",
            colour,
        )

    def told(self) -> str:
        return self.page.inner_text("#told")


def same_as(other: np.ndarray) -> Callable[[np.ndarray], bool]:
    return lambda pixels: np.array_equal(pixels, other)


def pinks(pixels: np.ndarray) -> np.ndarray:
    """Pixels (N, 2), across and down, that are magenta, lit or in shade."""
    red, green, blue = pixels[..., 0], pixels[..., 1], pixels[..., 2]
    rows, columns = np.nonzero((red > 90) & (blue > 90) & (green < 0.6 * np.minimum(red, blue)))
    return np.stack([columns, rows], axis=1)


def middle_of(spots: np.ndarray) -> np.ndarray:
    """The spot nearest to the middle of all that have company on every side."""
    there = {tuple(spot) for spot in spots.tolist()}
    deep = [
        s for s in spots.tolist()
        if all((s[0] + dx, s[1] + dy) in there for dx in (-2, 0, 2) for dy in (-2, 0, 2))
    ]  # fmt: skip
    deep = np.array(deep)
    return deep[np.linalg.norm(deep - np.median(spots, axis=0), axis=1).argmin()]


@pytest.mark.parametrize("size", [PHONE, LAPTOP])
def test_opens_from_disk_without_errors_or_network(browsers, page_file, size):
    opened = Opened(browsers["webgl"], page_file, size).wait()
    assert opened.trouble == []
    assert opened.requests == [page_file.as_uri()]
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= size[0]


@pytest.mark.parametrize("name", ["diamond", "touring", "small-wheels"])
def test_nothing_of_the_frame_and_its_wheels_is_cut_off(browsers, tmp_path, name):
    """All along the picture's edge is bare ground, in every view, wide and tall."""
    frame = frame3d.open(Path(__file__).parents[2] / "examples" / name / "job.toml").frame
    path = tmp_path / "frame.html"
    path.write_text(page_html(frame.name, "", (Build(frame).version(),)), encoding="utf-8")
    opened = Opened(browsers["webgl"], path, (1280, 900), reduced_motion="reduce").wait()
    drawn = lambda p: p.min() < 80  # noqa: E731
    for size in ((1280, 900), PHONE):
        opened.page.set_viewport_size({"width": size[0], "height": size[1]})
        for view in opened.page.locator("[data-view]").all():
            view.click()
            pixels = opened.canvas(drawn)
            assert drawn(pixels)
            edges = (pixels[3:9, 20:-20], pixels[-9:-3, 20:-20], pixels[20:-20, 3:9],
                     pixels[20:-20, -9:-3])  # fmt: skip
            assert min(edge.min() for edge in edges) > 215, (size, view.inner_text())


@pytest.mark.parametrize("name", EXAMPLES)
def test_nothing_scrolls_sideways_and_no_dimension_covers_another(browsers, tmp_path, name):
    """On the narrowest phone and on a laptop, from all four sides; the table fits beside them."""
    frame = frame3d.open(Path(__file__).parents[2] / "examples" / name / "job.toml").frame
    path = tmp_path / "frame.html"
    path.write_text(page_html(frame.name, "", (Build(frame).version(gaps=True),)), encoding="utf-8")
    assert path.stat().st_size < 5_000_000
    opened = Opened(browsers["webgl"], path, NARROW, reduced_motion="reduce").wait()
    opened.page.click("#dimensions")
    for size in (NARROW, LAPTOP):
        opened.page.set_viewport_size({"width": size[0], "height": size[1]})
        opened.settle()
        wide = "e => e.scrollWidth > document.documentElement.clientWidth"
        wider = f"[...document.querySelectorAll('*')].filter({wide}).map(e => e.outerHTML)"
        assert opened.page.evaluate(wider) == []
        for view in opened.page.locator("[data-view]").all():
            view.click()
            opened.settle()
            boxes = np.array(opened.page.evaluate(
                "[...document.querySelectorAll('#marks text')].map(t => t.getBoundingClientRect())"
                ".map(b => [b.left, b.top, b.right, b.bottom])"
            ))  # fmt: skip
            low, high = boxes[:, None, :2], boxes[None, :, 2:]
            cover = (low < high).all(axis=2)
            assert not np.triu(cover & cover.T, 1).any()
    assert opened.trouble == []


def test_table_tells_geometry_parts_and_rider_of_a_bicycle(browsers, tmp_path):
    build = frame3d.open(Path(__file__).parents[2] / "examples" / "touring" / "job.toml")
    path = tmp_path / "frame.html"
    path.write_text(page_html(build.frame.name, "", (build.version(),)), encoding="utf-8")
    opened = Opened(browsers["flat"], path, PHONE)
    rows = dict(opened.page.evaluate(
        "[...document.querySelectorAll('#spec .pairs tbody tr')]"
        ".map(r => [...r.cells].map(c => c.innerText))"
    ))  # fmt: skip
    told = build.facts
    assert rows["stack"] == f"{told.geometry['stack']:.1f} mm"
    assert rows["head tube angle"] == f"{told.geometry['head_tube_angle']:.2f}°"
    assert rows["trail"] == f"{told.handling.trail:.1f} mm"
    assert rows["BB drop"] == "75.0 mm" and rows["front wheel"] == "32-622"
    radius = told.geometry["front_wheel_radius"]
    assert rows["front wheel over the tyre"] == f"{2 * radius:.1f} mm"
    assert rows["saddle height"] == "725.0 mm"


@pytest.mark.parametrize("size", [PHONE, LAPTOP])
def test_canvas_shows_the_frame(browsers, page_file, size):
    pixels = Opened(browsers["webgl"], page_file, size).wait().canvas()
    blue = (pixels[..., 2] > pixels[..., 0] + 30) & (pixels[..., 0] < 120)
    gold = pixels[..., 0] > pixels[..., 2] + 60
    assert 0.005 < blue.mean() < 0.5
    assert 0.0005 < gold.mean() < blue.mean()


def test_a_click_on_the_pixels_of_a_tube_tells_its_name_and_size(browsers, page_file):
    """Where a tube is on the screen is found by painting it alone, not by the page's own word."""
    opened = Opened(browsers["webgl"], page_file).wait()
    box = opened.page.locator("#stage").bounding_box()
    for name in ("top tube", "down tube", "seat tube", "head tube"):
        opened.page.click("#unpaint")
        opened.paint("#ff00ff", name)
        opened.page.mouse.click(box["x"] + 6, box["y"] + 6)  # nothing is chosen
        spot = middle_of(pinks(opened.canvas(lambda pixels: len(pinks(pixels)) > 50))).tolist()
        opened.page.mouse.click(box["x"] + spot[0], box["y"] + spot[1])
        opened.page.wait_for_function("document.querySelector('#told strong')")
        od = shown().tube(name).od.value[0]
        assert opened.told().startswith(f"{name}: {od:g} mm outside")
        assert opened.page.inner_text("tr.chosen th") == name


def test_a_tap_beside_everything_chooses_nothing(browsers, page_file):
    opened = Opened(browsers["webgl"], page_file).wait()
    box = opened.page.locator("#stage").bounding_box()
    opened.page.mouse.click(box["x"] + 6, box["y"] + 6)
    assert "Tap or click a tube" in opened.told()


def test_paint_changes_pixels_and_can_be_taken_back(browsers, page_file):
    opened = Opened(browsers["webgl"], page_file).wait()
    before = opened.canvas()
    opened.paint("#ff00ff", "")
    painted = opened.canvas(lambda pixels: len(pinks(pixels)) > 1000)
    assert len(pinks(painted)) > 1000 and len(pinks(before)) == 0
    opened.page.click("#unpaint")
    assert np.array_equal(opened.canvas(same_as(before)), before)


def test_wheels_and_dimensions_go_on_and_off(browsers, page_file):
    opened = Opened(browsers["webgl"], page_file).wait()
    with_wheels = opened.canvas()
    opened.page.click("#ghosts")
    dark = lambda p: (p.max(axis=2) < 80).mean()  # noqa: E731
    without = opened.canvas(lambda pixels: dark(pixels) < 0.3 * dark(with_wheels))
    assert dark(without) < 0.3 * dark(with_wheels)
    assert opened.page.locator("#marks text").count() == 0
    opened.page.click("#dimensions")
    opened.page.wait_for_selector("#marks text", state="attached")
    texts = opened.page.evaluate(
        "[...document.querySelectorAll('#marks text')].map(t => t.textContent)"
    )
    lengths = {tube.name: f"{tube.length:.1f}" for tube in Build(shown()).version().report.tubes}
    small = {lengths.pop(name) for name in ("shell", "stay bridge", "stay spine")}
    assert set(texts) - small == set(lengths.values())
    opened.page.focus("#view")
    for _ in range(12):
        opened.page.keyboard.press("+")
        opened.settle()
        small -= set(opened.page.locator("#marks text").all_text_contents())
    assert small == set(), "told as soon as there is room for them"


@pytest.mark.parametrize("size", [PHONE, LAPTOP])
def test_what_a_tap_tells_stands_in_view_beneath_the_frame(browsers, page_file, size):
    """The frame, its buttons and what was tapped fit a screen; nobody scrolls for the answer."""
    opened = Opened(browsers["webgl"], page_file, size).wait()
    boxes = opened.page.evaluate(
        "['stage', 'told', 'explode'].map(id => document.getElementById(id))"
        ".map(e => e.getBoundingClientRect()).map(b => [b.top, b.bottom])"
    )
    assert all(high <= size[1] for _, high in boxes)
    assert boxes[0][1] <= boxes[1][0] <= boxes[0][1] + 24


def test_lengths_too_short_for_a_small_screen_wait_until_it_is_zoomed(browsers, tmp_path):
    version = frame3d.open(
        Path(__file__).parents[2] / "examples" / "touring" / "job.toml"
    ).version()
    path = tmp_path / "frame.html"
    path.write_text(page_html("touring", "", (version,)), encoding="utf-8")
    opened = Opened(browsers["webgl"], path, PHONE, reduced_motion="reduce").wait()
    opened.page.click("#dimensions")

    def texts() -> set[str]:
        opened.settle()
        marks = "[...document.querySelectorAll('#marks text')].map(t => t.textContent)"
        return set(opened.page.evaluate(marks))

    lengths = {tube.name: f"{tube.length:.1f}" for tube in version.report.tubes}
    assert {"wheelbase 1033.3", "BB drop 75.0"} <= (small := texts())
    assert {lengths["seat tube"], lengths["down tube"]} <= small
    assert lengths["shell"] not in small
    opened.page.focus("#view")
    for _ in range(9):
        opened.page.keyboard.press("+")
    assert lengths["shell"] in texts()


def test_the_swatch_shows_the_colour_that_would_change(browsers, page_file):
    opened = Opened(browsers["webgl"], page_file).wait()
    value = "document.getElementById('paint').value"
    assert opened.page.evaluate(value) == BLUE
    opened.page.select_option("#painted", "head tube")
    assert opened.page.evaluate(value) == "#c9a227"
    opened.page.select_option("#painted", "")
    opened.page.fill("#paint", "#ff0000")
    opened.page.click("#unpaint")
    assert opened.page.evaluate(value) == BLUE


def test_table_has_the_library_s_numbers(browsers, page_file):
    opened = Opened(browsers["flat"], page_file)
    rows = opened.page.evaluate(
        "[...document.querySelectorAll('#spec table:first-of-type tbody tr')]"
        ".map(r => [...r.cells].map(c => c.textContent))"
    )
    tubes = Build(shown()).version().report.tubes
    assert len(rows) == len(tubes) + 1
    for row, tube in zip(rows, tubes, strict=False):
        assert row[0] == tube.name
        assert float(row[4]) == pytest.approx(tube.length, abs=0.051)
        assert float(row[5]) == pytest.approx(tube.mass, abs=0.51)
    assert float(rows[-1][5]) == pytest.approx(sum(tube.mass for tube in tubes), abs=0.51)


def test_without_webgl_the_drawing_and_the_numbers_are_there(browsers, page_file):
    opened = Opened(browsers["flat"], page_file)
    assert not opened.page.locator("#viewer").is_visible()
    assert opened.page.locator("#drawing svg").is_visible()
    assert "shows no 3D" in opened.page.inner_text("#flat")
    assert opened.page.locator("#drawing path").count() == len(shown().tubes)
    assert opened.page.locator("#spec table").first.is_visible()
    assert opened.trouble == []


def test_keys_turn_the_frame_and_reach_every_control(browsers, page_file):
    opened = Opened(browsers["webgl"], page_file).wait()
    reached = set()
    for _ in range(40):
        opened.page.keyboard.press("Tab")
        reached.add(opened.page.evaluate("document.activeElement.id || ''"))
    assert {"view", "dimensions", "ghosts", "explode", "paint", "painted", "unpaint"} <= reached
    before = opened.canvas()
    opened.page.focus("#view")
    opened.page.keyboard.press("ArrowLeft")
    turned = opened.canvas(lambda pixels: (pixels != before).any(axis=2).mean() > 0.01)
    assert (turned != before).any(axis=2).mean() > 0.01
    opened.page.keyboard.press("Home")
    opened.page.evaluate("document.activeElement.blur()")
    assert np.array_equal(opened.canvas(same_as(before)), before)


def test_reduced_motion_shows_the_new_view_at_once(browsers, page_file):
    opened = Opened(browsers["webgl"], page_file, reduced_motion="reduce").wait()
    opened.page.click("[data-view='0,0']")
    turns = opened.page.evaluate(
        "() => new Promise(done => { const seen = []; let left = 30; const look = () => {"
        " seen.push(document.body.dataset.turn); if (left--) requestAnimationFrame(look);"
        " else done(seen); }; requestAnimationFrame(look); })"
    )
    assert set(turns) == {"0.0000,0.0000"}


def test_print_shows_drawing_and_table_and_no_buttons(browsers, page_file):
    opened = Opened(browsers["webgl"], page_file).wait()
    opened.page.emulate_media(media="print")
    assert opened.page.locator("#drawing svg").is_visible()
    assert not opened.page.locator("#stage").is_visible()
    assert not opened.page.locator("#dimensions").is_visible()


@pytest.mark.parametrize("size", [PHONE, LAPTOP])
def test_axe_finds_no_barrier(browsers, page_file, size):
    """axe-core, the rules of WCAG 2 levels A and AA (contrast among them), as judge."""
    need("axe_playwright_python")
    axe = resources.files("axe_playwright_python").joinpath("axe.min.js")
    opened = Opened(browsers["webgl"], page_file, size).wait()
    opened.page.click("#dimensions")
    opened.page.evaluate(axe.read_text(encoding="utf-8"))
    found = opened.page.evaluate("axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa']})")
    assert [v["id"] for v in found["violations"]] == []
    assert {"color-contrast", "button-name"} <= {rule["id"] for rule in found["passes"]}


def test_two_versions_stand_side_by_side(browsers, tmp_path):
    one = Build(dataclasses.replace(shown(), name="a frame of a long name " * 4)).version()
    two = Build(two_tubes()).version()
    path = tmp_path / "both.html"
    path.write_text(page_html("both", "", (one, two)), encoding="utf-8")
    opened = Opened(browsers["webgl"], path).wait()
    opened.paint("#ff00ff", "rail")
    pixels = opened.canvas(lambda pixels: len(pinks(pixels)) > 50)
    assert pinks(pixels)[:, 0].min() > pixels.shape[1] / 2
    opened.page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    opened.settle()
    titles = opened.page.evaluate(
        "[...document.querySelectorAll('#marks text.title')].map(t => t.getBoundingClientRect())"
        ".map(b => [b.left, b.top, b.right, b.bottom])"
    )
    assert titles[0][3] < titles[1][1], "one under the other where the screen is narrow"
    assert all(left >= 0 and right <= PHONE[0] for left, _, right, _ in titles)
    opened.page.click("#beside")
    assert len(pinks(opened.canvas(lambda pixels: len(pinks(pixels)) == 0))) == 0


def test_gaps_and_saws_stay_in_the_shop_unless_asked_for(browsers, tmp_path):
    frame = two_tubes(saw=39.0)
    open_page = page_html("x", "", (Build(frame).version(),))
    data = json.loads(open_page.split('id="data">')[1].split("</script>")[0])
    assert data["legend"] is None and data["versions"][0]["collars"] == []
    path = tmp_path / "gaps.html"
    path.write_text(page_html("x", "", (Build(frame).version(gaps=True),)), encoding="utf-8")
    opened = Opened(browsers["webgl"], path).wait()
    assert "saw, mm" not in open_page and "39" in opened.page.inner_text("#spec")
    assert opened.page.locator("#legend").is_visible()
    with_colour = opened.canvas()
    opened.page.click("#gaps")
    changed = lambda pixels: (pixels != with_colour).any()  # noqa: E731
    assert changed(opened.canvas(changed))


@pytest.mark.parametrize("size", [PHONE, LAPTOP])
def test_hostile_names_appear_as_they_are_and_run_nothing(browsers, tmp_path, size):
    frame = hostile()
    version = Build(frame).version(gaps=True)
    path = tmp_path / "names.html"
    path.write_text(
        page_html(frame.name, summary(frame, version.report), (version,)), encoding="utf-8"
    )
    opened = Opened(browsers["webgl"], path, size).wait()
    assert opened.trouble == []
    assert opened.requests == [path.as_uri()]
    assert opened.page.evaluate("window.pwned") is None
    assert opened.page.title() == frame.name
    names = opened.page.evaluate(
        "[...document.querySelectorAll('#spec table:first-of-type button')].map(b => b.textContent)"
    )
    assert set(HOSTILE) <= set(names)
    options = opened.page.evaluate(
        "[...document.getElementById('painted').options].map(o => o.text)"
    )
    assert len(options) == len(frame.tubes) + 1
    button = opened.page.locator("#spec table button").nth(1)
    button.click()
    assert opened.page.evaluate("document.querySelector('#told strong').textContent") == HOSTILE[0]
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= size[0]


def test_page_stays_under_five_megabytes(page_file):
    assert page_file.stat().st_size < 5_000_000
