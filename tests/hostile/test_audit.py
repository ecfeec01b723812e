"""The audit of the locked libraries says what it looked at, and never that nothing is all well."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / ".ci" / "audit.py"


@pytest.fixture(scope="module")
def audit() -> ModuleType:
    spec = importlib.util.spec_from_file_location("audit", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def said(*dependencies: dict[str, object]) -> str:
    """The form of pip-audit 2's JSON (its README, "JSON format")."""
    return json.dumps({"dependencies": dependencies, "fixes": []})


WELL = {"name": "pillow", "version": "13.0.0", "vulns": []}
BAD = {
    "name": "requests",
    "version": "2.0.0",
    "vulns": [
        {"id": "PYSEC-2018-28", "fix_versions": ["2.20.0"], "aliases": [], "description": "x"}
    ],
}
UNKNOWN = {"name": "numpy", "skip_reason": "Dependency not found on PyPI and could not be audited"}


def test_a_list_that_knows_no_library_is_no_audit(audit: ModuleType) -> None:
    answer = audit.understand(said(UNKNOWN, UNKNOWN))
    assert answer.looked_at == 0
    code, lines = audit.verdict({"pypi": answer, "osv": None})
    assert code == 0
    assert lines[0].startswith("audit: not run")
    assert audit.verdict({"pypi": None})[1] == lines


def test_a_known_fault_fails_and_is_named(audit: ModuleType) -> None:
    code, lines = audit.verdict({"pypi": audit.understand(said(WELL, BAD, UNKNOWN)), "osv": None})
    assert code == 1
    assert lines == [
        "audit: pypi knows 2 of 3 libraries; 1 faults.",
        "audit: not known to pypi: numpy.",
        "audit: requests 2.0.0: PYSEC-2018-28, mended in 2.20.0.",
    ]


def test_all_well_says_how_many_were_looked_at(audit: ModuleType) -> None:
    assert audit.verdict({"pypi": audit.understand(said(WELL))}) == (
        0, ["audit: pypi knows 1 of 1 libraries; 0 faults."]
    )  # fmt: skip


@pytest.mark.parametrize("output", ["", "Traceback", "[]", '{"dependencies": [{}]}', "null"])
def test_an_answer_that_is_none_is_none(audit: ModuleType, output: str) -> None:
    assert audit.understand(output) is None


def test_the_audit_is_part_of_the_checks() -> None:
    assert "audit.py" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert (ROOT / "requirements.lock").is_file()
