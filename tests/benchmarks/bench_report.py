"""Whole-process time of `report` against `check`, size of the page, and frames while the drawing is scrubbed.

Run: .venv/bin/python tests/benchmarks/bench_report.py. Prints ratios from one run: commands take turns,
the median of five counts. Wanted: html under 5 times `check`, page under 3 MB, a scrubbed frame under 1/60 s.
"""

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
SHEET = ROOT / "sample_geometry" / "pump_vee"
TURNS = 5

# Moves the slider through the cycle, one move a frame, and gives the milliseconds from frame to frame and
# those that the page's own work took.
SCRUB = """async () => {
    const slider = document.getElementById('mv-crank'), frames = [], work = [];
    let last = await new Promise(requestAnimationFrame);
    for (let at = 0; at < 720; at += 4) {
        const begun = performance.now();
        slider.value = at;
        slider.dispatchEvent(new Event('input'));
        document.getElementById('mv-scene').getBBox();
        work.push(performance.now() - begun);
        const now = await new Promise(requestAnimationFrame);
        frames.push(now - last);
        last = now;
    }
    return [frames, work];
}"""


def seconds(*command: object) -> float:
    begun = time.perf_counter()
    subprocess.run([str(each) for each in command], check=False, capture_output=True)
    return time.perf_counter() - begun


def main() -> None:
    program = Path(sys.executable).with_name("valvetrain")
    with tempfile.TemporaryDirectory() as folder:
        page, paper = Path(folder) / "page.html", Path(folder) / "page.pdf"
        checks, pages, papers = [], [], []
        for _ in range(TURNS):
            checks.append(seconds(program, "check", SHEET))
            pages.append(seconds(program, "report", SHEET, "-o", page, "--force", "--quiet"))
            papers.append(seconds(program, "report", SHEET, "-o", paper, "--force", "--quiet"))
        base = statistics.median(checks)
        print(f"check: {base:.2f} s, whole process")
        print(f"report .html: {statistics.median(pages) / base:.2f} times check (wanted: under 5)")
        print(f"report .pdf: {statistics.median(papers) / base:.2f} times check")
        print(f"page: {page.stat().st_size / 1e6:.2f} MB for 12 valves (wanted: under 3)")
        scrub(page)


def scrub(page: Path) -> None:
    program = shutil.which("chromium")
    if program is None:
        print("scrubbing: not measured, chromium is not installed")
        return
    from playwright.sync_api import sync_playwright

    with sync_playwright() as running:
        browser = running.chromium.launch(executable_path=program, args=["--no-sandbox"])
        window = browser.new_page(viewport={"width": 1280, "height": 900})
        begun = time.perf_counter()
        window.goto(page.as_uri())
        window.locator("#mv-lift").wait_for()
        ready = time.perf_counter() - begun
        window.locator("#moving").scroll_into_view_if_needed()
        frames, work = window.evaluate(SCRUB)
        browser.close()
    print(f"page ready to use after {ready:.2f} s")
    slow = sorted(work)[-len(work) // 20]
    print(
        f"scrubbing: {1000 / statistics.median(frames):.0f} frames a second, script and layout "
        f"{statistics.median(work):.2f} ms a frame (room: 16.7), slowest twentieth {slow:.2f}"
    )


if __name__ == "__main__":
    main()
