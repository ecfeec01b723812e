"""What the program stands on: locked with hashes, and under licences that were looked at."""

from __future__ import annotations

import re
import tomllib
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
LOCK = (ROOT / "requirements.lock").read_text(encoding="utf-8")
TABLE = (ROOT / "scorer" / "third_party_licenses.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
RUN_TIME = [Requirement(text) for text in PROJECT["dependencies"]]
EXTRAS = {
    name: [Requirement(text) for text in texts]
    for name, texts in PROJECT["optional-dependencies"].items()
}
# What a user may install, and what runs the tests. The rest are tools of those who work on the
# program itself, which it never imports; atheris has no wheel for some systems.
LOCKED = [*RUN_TIME, *EXTRAS["cluster"], *EXTRAS["test"]]
NOT_LOCKED = {"dev", "demo", "fuzz", "train"}

# SPDX identifiers (spdx.org/licenses) that let a program under MIT use the library unchanged.
ALLOWED = {
    "0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "ISC", "LGPL-3.0-only",
    "LGPL-3.0-or-later", "MIT", "MIT-0", "MIT-CMU", "MPL-2.0", "PSF-2.0", "Unlicense", "Zlib",
}  # fmt: skip
# What older metadata write in place of an SPDX identifier.
SPELLINGS = {
    "3-clause bsd license": "BSD-3-Clause",
    "apache 2.0": "Apache-2.0",
    "apache license 2.0": "Apache-2.0",
    "apache software license": "Apache-2.0",
    "bsd": "BSD-3-Clause",
    "bsd license": "BSD-3-Clause",
    "mit license": "MIT",
    "mozilla public license 2.0 (mpl 2.0)": "MPL-2.0",
    "psfl": "PSF-2.0",
    "python software foundation license": "PSF-2.0",
}


def locked() -> dict[str, tuple[str, int]]:
    """Version and number of hashes by name."""
    found = {}
    for block in re.split(r"\n(?=\S)", LOCK.strip()):
        line = re.match(r"([\w.\-]+)==(\S+)", block)
        assert line, f"a line of the lock file pins nothing: {block[:80]!r}"
        hashes = len(re.findall(r"--hash=sha256:[0-9a-f]{64}\b", block))
        found[canonicalize_name(line[1])] = (line[2], hashes)
    return found


def installed() -> dict[str, metadata.Distribution]:
    """Everything that the run-time dependencies bring in here, and the extra if it is there."""
    found: dict[str, metadata.Distribution] = {}
    waiting = [requirement.name for requirement in RUN_TIME]
    if find_spec("distributed") is not None:
        waiting += [requirement.name for requirement in EXTRAS["cluster"]]
    while waiting:
        name = canonicalize_name(waiting.pop())
        if name in found:
            continue
        found[name] = metadata.distribution(name)
        needs = [Requirement(text) for text in found[name].requires or ()]
        waiting += [n.name for n in needs if not n.marker or n.marker.evaluate({"extra": ""})]
    return found


def licences(distribution: metadata.Distribution) -> set[str]:
    """SPDX identifiers that a distribution states; of a choice (OR), all."""
    about = distribution.metadata
    stated = about.get("License-Expression") or about.get("License") or ""
    if stated not in ALLOWED and not about.get("License-Expression"):
        classifiers = [c for c in about.get_all("Classifier") or () if c.startswith("License ::")]
        stated = classifiers[0].rpartition("::")[2] if classifiers else about.get("License") or ""
    stated = stated.strip()
    if stated.lower() in SPELLINGS:
        return {SPELLINGS[stated.lower()]}
    return {part.strip(" ()") for part in re.split(r"\s+(?:AND|OR)\s+", stated)}


@pytest.mark.parametrize("requirement", LOCKED, ids=lambda requirement: requirement.name)
def test_a_dependency_is_locked_with_hashes(requirement: Requirement) -> None:
    version, hashes = locked()[canonicalize_name(requirement.name)]
    assert requirement.specifier.contains(version)
    assert hashes >= 1


def test_every_extra_is_locked_or_left_out_on_purpose() -> None:
    assert set(EXTRAS) == {"cluster", "test"} | NOT_LOCKED
    lock = locked()
    for extra in NOT_LOCKED:
        for requirement in EXTRAS[extra]:
            imported = re.compile(
                rf"^\s*(import|from) {requirement.name.replace('-', '_')}\b", re.M
            )
            for path in (*(ROOT / "scorer").rglob("*.py"), *(ROOT / "app").rglob("*.py")):
                if "training" not in path.parts and canonicalize_name(requirement.name) not in lock:
                    assert not imported.search(path.read_text(encoding="utf-8")), path


def test_all_that_they_bring_is_locked_with_hashes() -> None:
    lock = locked()
    assert all(hashes >= 1 for _, hashes in lock.values())
    assert len(lock) >= len(RUN_TIME) * 2


def test_the_lock_file_names_no_place() -> None:
    for word in ("http", "://", "--index", "--find-links", "file:", " @ ", "/"):
        assert word not in LOCK, word


@pytest.mark.parametrize("name", sorted(installed()))
def test_the_licence_is_an_allowed_one(name: str) -> None:
    distribution = installed()[name]
    found = licences(distribution)
    assert found
    assert found <= ALLOWED, f"{name} states {found - ALLOWED}; look at it before it is used"
    if name in locked():
        row = re.search(rf"^\| {re.escape(name)} \| ([^|]+) \|", TABLE, re.MULTILINE)
        assert row, f"{name} is missing from third_party_licenses.md"
        assert set(re.split(r" AND | OR ", row[1].strip())) == found
