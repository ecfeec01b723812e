"""What the fuzzer found, kept small and fed again; and the seeds it starts from."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.targets import TARGETS, seeds

FOUND = sorted(path for path in (Path(__file__).parent / "found").rglob("*") if path.is_file())


@pytest.mark.parametrize("path", FOUND, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_what_was_found_stays_mended(path: Path) -> None:
    TARGETS[path.parent.name](path.read_bytes())


@pytest.mark.parametrize("target", TARGETS)
def test_sound_inputs_cut_anywhere_give_one_sentence(target: str) -> None:
    for seed in seeds(target):
        for cut in range(0, len(seed) + 1, max(1, len(seed) // 12)):
            TARGETS[target](seed[:cut])
