"""How long the page takes to run again after a tag, on the demo homes.

The page itself is run (without a browser), so the time is that of the script, its screening and
the test harness; the aim is under 300 ms for a rerun, and under 2 s to open a home of 40 photos
that were read. The processor's time is printed beside the clock's, which a busy machine stretches.

    python -m tests.benchmarks.page_rerun
"""

from __future__ import annotations

import os
import shutil
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from streamlit.testing.v1 import AppTest

MAIN = Path(__file__).parents[2] / "app" / "main.py"
ROUNDS = 7


def timed(work: Callable[[], object]) -> float:
    """Time taken [ms]."""
    started = time.perf_counter()
    work()
    return 1_000 * (time.perf_counter() - started)


def many_photos(folder: Path, source: Path) -> None:
    """A home of 40 photos, made of the demo homes'."""
    home = folder / "forty photos"
    home.mkdir(parents=True)
    photos = sorted(source.rglob("*.jpg"))[:40]
    for number, photo in enumerate(photos):
        shutil.copy(photo, home / f"{number:02d}_{photo.name}")


def reruns(homes: list[int]) -> dict[int, tuple[float, float]]:
    """Median time [ms] of a rerun of the list, and of the walk-through after a tag, by homes.

    Parameters
    ----------
    homes
        How many, growing; beyond the demo homes, copies of them. Equal photos are read once.
    """
    scratch = Path(tempfile.mkdtemp())
    os.environ["VALUE_ADD_DATA"] = str(scratch / "data")
    from streamlit.testing.v1 import AppTest

    from app.shared import workspace
    from scorer.listing import demo_folder

    space = workspace()
    own = sorted(path for path in demo_folder().iterdir() if path.is_dir())
    found = {}
    for count in homes:
        step = scratch / f"up to {count}"
        for number in range(len(space.store.homes()), count):
            shutil.copytree(own[number % len(own)], step / f"{number} example street")
        if step.exists():
            space.import_folder(step)
        space.read_all()
        space.screen_all()
        at = AppTest.from_file(str(MAIN), default_timeout=300)
        at.run()
        listed = statistics.median(timed(at.run) for _ in range(3))
        at.switch_page("views/walk.py").run()
        tagged = statistics.median(_after_a_tag(at) for _ in range(ROUNDS))
        assert not at.exception, at.exception
        found[count] = (listed, tagged)
    shutil.rmtree(scratch, ignore_errors=True)
    return found


def _after_a_tag(at: AppTest) -> float:
    """Time [ms] until the page stands again after a finding was answered."""
    buttons = [b for b in at.button if b.label in {"Not so", "It is so"}]
    return timed(buttons[0].click().run)


def main() -> None:
    """Print the medians."""
    scratch = Path(tempfile.mkdtemp())
    os.environ["VALUE_ADD_DATA"] = str(scratch / "data")
    from streamlit.testing.v1 import AppTest

    from app.shared import workspace
    from scorer.listing import demo_folder

    many_photos(scratch / "homes", demo_folder())
    space = workspace()
    space.import_folder(scratch / "homes")
    print(f"first reading of all photos: {timed(space.read_all) / 1_000:.1f} s")
    homes = {i.home.id: i for i in space.screen_all()}
    at = AppTest.from_file(str(MAIN), default_timeout=120)
    print(f"first run of the page: {timed(at.run):.0f} ms")
    at.switch_page("views/walk.py")
    print(f"first run of the walk-through: {timed(at.run):.0f} ms")
    demo = next(i for i in homes.values() if i.home.source == "demo")
    at.selectbox(key="home_box").set_value(demo.home.id).run()
    plain = [timed(at.run) for _ in range(ROUNDS)]
    tagged = []
    busy = time.process_time()
    for _ in range(ROUNDS):
        tagged.append(_after_a_tag(at))
    busy = 1_000 * (time.process_time() - busy) / ROUNDS
    big = next(i for i in homes.values() if i.home.source == "own")
    opened = timed(lambda: at.selectbox(key="home_box").set_value(big.home.id).run())
    again = timed(at.run)
    assert not at.exception, at.exception
    print(f"rerun, nothing changed: median {statistics.median(plain):.0f} ms")
    print(f"rerun after a tag, processor's time: mean {busy:.0f} ms")
    print(f"rerun after a tag: median {statistics.median(tagged):.0f} ms, most {max(tagged):.0f}")
    print(
        f"  over the unchanged rerun: {statistics.median(tagged) / statistics.median(plain):.1f}x"
    )
    print(f"open the home of 40 photos: {opened:.0f} ms, again {again:.0f} ms")
    shutil.rmtree(scratch, ignore_errors=True)


if __name__ == "__main__":
    main()
