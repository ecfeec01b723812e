"""Look for known faults in the locked libraries, and say plainly what was looked at.

``python .ci/audit.py`` installs pip-audit in a new environment and asks PyPI's list of advisories,
then OSV's, about requirements.lock. Exit code: 1 if a locked library has a known fault; else 0,
also where nothing could be asked: the line printed then begins with "not run". pip-audit alone says
"No known vulnerabilities found" where it found no library at all.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import venv
from pathlib import Path
from typing import NamedTuple

LOCK = Path(__file__).parents[1] / "requirements.lock"
SOURCES = ("pypi", "osv")
SECONDS = 300


class Answer(NamedTuple):
    """What one list of advisories said: libraries it knows, those it does not, and the faults."""

    looked_at: int
    skipped: tuple[str, ...]
    faults: tuple[str, ...]


def understand(output: str) -> Answer | None:
    """What pip-audit's JSON says; None if it is none."""
    try:
        found = json.loads(output)["dependencies"]
        skipped = tuple(each["name"] for each in found if "skip_reason" in each)
        faults = tuple(
            f"{each['name']} {each['version']}: {fault['id']}, mended in "
            f"{', '.join(fault['fix_versions']) or 'no version yet'}"
            for each in found
            if "skip_reason" not in each
            for fault in each["vulns"]
        )
    except (ValueError, KeyError, TypeError):
        return None
    return Answer(len(found) - len(skipped), skipped, faults)


def verdict(answers: dict[str, Answer | None]) -> tuple[int, list[str]]:
    """Exit code and lines to print, from what each list said."""
    heard = {name: answer for name, answer in answers.items() if answer and answer.looked_at}
    if not heard:
        return 0, ["audit: not run: no list of advisories can be reached from here."]
    lines, faults = [], set()
    for name, answer in heard.items():
        lines.append(
            f"audit: {name} knows {answer.looked_at} of "
            f"{answer.looked_at + len(answer.skipped)} libraries; {len(answer.faults)} faults."
        )
        if answer.skipped:
            lines.append(f"audit: not known to {name}: {', '.join(answer.skipped)}.")
        faults.update(answer.faults)
    return (1 if faults else 0), [*lines, *(f"audit: {fault}." for fault in sorted(faults))]


def ask(python: Path, source: str) -> Answer | None:
    """Ask one list; None if it does not answer."""
    command = [str(python), "-m", "pip_audit", "--disable-pip", "--require-hashes"]
    command += ["--vulnerability-service", source, "--format", "json", "--requirement", str(LOCK)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS, check=False)
    except subprocess.TimeoutExpired:
        return None
    return understand(done.stdout)


def main() -> int:
    """Install, ask, and print."""
    with tempfile.TemporaryDirectory() as folder:
        venv.create(folder, with_pip=True)
        python = Path(folder) / ("Scripts" if sys.platform == "win32" else "bin") / "python"
        install = [str(python), "-m", "pip", "install", "-q", "pip-audit"]
        try:
            done = subprocess.run(install, capture_output=True, timeout=SECONDS, check=False)
            installed = done.returncode == 0
        except subprocess.TimeoutExpired:
            installed = False
        if not installed:
            print("audit: not run: pip-audit can't be installed here.")
            return 0
        code, lines = verdict({source: ask(python, source) for source in SOURCES})
    print("\n".join(lines))
    return code


if __name__ == "__main__":
    sys.exit(main())
