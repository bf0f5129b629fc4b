"""The live page in a real browser: it follows the job's file, and keeps the last good frame."""

import os
import threading
from pathlib import Path

import pytest
from judges import need

from frame3d.web.live import Live
from frame3d.web.server import served

pytestmark = pytest.mark.peer

JOB = Path(__file__).parents[2] / "examples" / "two-tubes" / "job.toml"
SOFTWARE = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


def put(path: Path, text: str) -> None:
    fresh = path.with_name("fresh~")
    fresh.write_text(text, encoding="utf-8")
    os.replace(fresh, path)


def test_the_page_follows_every_save_and_tells_a_bad_one(tmp_path: Path):
    need("playwright")
    need("chromium")
    from playwright.sync_api import sync_playwright

    text = JOB.read_text(encoding="utf-8").replace('shop    = "../shop.toml"', "")
    job = tmp_path / "job.toml"
    job.write_text(text, encoding="utf-8")
    live, ending = Live(job), threading.Event()

    def follow() -> None:
        while not ending.wait(0.02):
            live.look()

    follower = threading.Thread(target=follow)
    follower.start()
    try:
        with served(live) as address, sync_playwright() as play:
            browser = play.chromium.launch(
                executable_path="/usr/bin/chromium", args=["--no-sandbox", *SOFTWARE]
            )
            page = browser.new_page(viewport={"width": 700, "height": 900})
            trouble: list[str] = []
            page.on("console", lambda message: trouble.append(message.text))
            page.on("pageerror", lambda error: trouble.append(str(error)))
            page.goto(address)
            page.wait_for_selector("body[data-drawn=yes]")
            page.wait_for_selector('#spec td:text-is("37")')
            page.click('#spec button:has-text("rail")')
            assert "rail: 28.575 mm outside, 0.9 mm wall" in page.inner_text("#told")
            put(job, text.replace("wall  = 0.9", "wall  = 1.1"))
            page.wait_for_selector("#told:has-text('rail: 28.575 mm outside, 1.1 mm wall')")
            assert page.locator("tr.chosen").count() == 1  # what is chosen stays so
            for wall in ("1.2", "1.3", "1.4", "1.5", "1.6"):
                put(job, text.replace("wall  = 0.9", f"wall  = {wall}"))
                page.wait_for_selector(f'#spec td:text-is("{wall}")')
                page.wait_for_selector("#summary:has-text('Check: all joints pass.')")
            put(job, text.replace("saw  = 37.0", "saw  = 39.0"))
            page.wait_for_selector('#spec td:text-is("39")')
            page.wait_for_selector("#spec td:has-text('over the limit')")
            put(job, text.replace("wall  = 0.9", "wal  = 0.9"))
            page.wait_for_selector("#fault:visible")
            assert 'did you mean "wall"' in page.inner_text("#fault")
            assert page.locator('#spec td:text-is("39")').count() == 1  # the last good frame
            put(job, text.replace('"rail"', '"<b>rail</b>"'))
            page.wait_for_selector("#fault", state="hidden")
            assert page.locator("#spec bdi", has_text="<b>rail</b>").count() >= 1
            assert trouble == []
            browser.close()
            flat = play.chromium.launch(
                executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-3d-apis"]
            )
            page = flat.new_page()
            page.goto(address)
            page.wait_for_selector("#flat:visible")
            put(job, text.replace("wall  = 0.9", "wall  = 1.7"))
            page.wait_for_selector('#spec td:text-is("1.7")')
            flat.close()
    finally:
        ending.set()
        follower.join()
