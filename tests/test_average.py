"""The mean of several rounds' weights; needs the training extra's torch."""

from __future__ import annotations

from pathlib import Path

import pytest

torch = pytest.importorskip("torch", reason="torch, of the extra 'train', is not installed")

from scorer.training.average import average, averaged  # noqa: E402


def keep_round(folder: Path, weight: list[float], steps: int, variant: str = "lite0") -> Path:
    folder.mkdir()
    for name in ("all.pt", "fold_0.pt"):
        state = {"w": torch.tensor(weight).half(), "steps": torch.tensor(steps)}
        torch.save({"variant": variant, "state": state}, folder / name)
    return folder


def test_weights_are_averaged_and_counters_kept(tmp_path):
    rounds = [
        keep_round(tmp_path / "a", [1.0, -2.0], 7),
        keep_round(tmp_path / "b", [2.0, 0.5], 9),
        keep_round(tmp_path / "c", [6.0, 3.0], 9),
    ]
    written = average(rounds, tmp_path / "mean")
    assert [file.name for file in written] == ["all.pt", "fold_0.pt"]
    for file in written:
        kept = torch.load(file, weights_only=True)
        assert kept["state"]["w"].tolist() == [3.0, 0.5]
        assert kept["state"]["w"].dtype == torch.float16
        assert kept["state"]["steps"].item() == 7
        assert averaged(file) == 3
    assert averaged(rounds[0] / "all.pt") == 1


def test_rounds_of_other_folds_or_make_are_refused(tmp_path):
    one = keep_round(tmp_path / "a", [1.0], 1)
    fewer = keep_round(tmp_path / "b", [1.0], 1)
    (fewer / "fold_0.pt").unlink()
    with pytest.raises(ValueError, match=r"b holds all\.pt, .*a holds all\.pt, fold_0\.pt"):
        average([one, fewer], tmp_path / "mean")
    with pytest.raises(ValueError, match="another make of network"):
        average([one, keep_round(tmp_path / "c", [1.0], 1, "lite2")], tmp_path / "mean")
    (tmp_path / "empty").mkdir()
    with pytest.raises(ValueError, match="no network"):
        average([tmp_path / "empty"], tmp_path / "mean")
