"""The model card beside the network."""

from __future__ import annotations

from pathlib import Path

from scorer.training.labels import Picture
from scorer.training.pipeline import Recipe


def write_card(
    path: Path,
    pictures: list[Picture],
    oof: Path | None,
    recipe: Recipe,
    fold_count: int,
    difference: float,
) -> None:
    """Write the card."""
    path.write_text(f"# Room network\n\n{len(pictures)} pictures; cv2.dnn differs {difference:.1g}\n")
