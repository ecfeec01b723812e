"""Coverage-guided fuzzing: ``python -m tests.fuzz TARGET FOLDER [options of libFuzzer]``.

Needs the extra ``fuzz``. New inputs that reach new code are kept in FOLDER; an input that fails
is written there as ``crash-…``. Make it small and put it into ``tests/hostile/found/TARGET``, where
the tests run it for ever after.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["scorer", "PIL", "csv", "json", "tomllib", "zipfile"]):
    from tests.fuzz.targets import TARGETS, seeds


def main() -> None:
    """Fuzz one target until it fails or the time is over."""
    if len(sys.argv) < 3 or sys.argv[1] not in TARGETS:
        raise SystemExit(f"{__doc__}\nTargets: {', '.join(TARGETS)}")
    target, folder = sys.argv[1], Path(sys.argv[2])
    folder.mkdir(parents=True, exist_ok=True)
    for at, seed in enumerate(seeds(target)):
        (folder / f"seed-{at}").write_bytes(seed)
    options = [f"-artifact_prefix={folder}/", "-rss_limit_mb=3000", "-timeout=20", *sys.argv[3:]]
    atheris.Setup([sys.argv[0], str(folder), *options], TARGETS[target])
    atheris.Fuzz()


if __name__ == "__main__":
    main()
