"""The packages form a one-way flow: each may import what stands before it, nothing behind it."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

# Left imports nothing to its right; the order is that of the diagram in DEVELOPERS.md.
FLOW = (
    ("errors", "records"),
    ("rooms", "settings"),
    ("listing",),
    ("photos",),
    ("conditions",),
    ("fit",),
    ("upgrades",),
    ("scope",),
    ("money",),
    ("shortlist",),
    ("screening",),
    ("store", "report"),
    ("sheet",),
    ("workspace",),
    ("commands",),
)
PLACE = {name: place for place, names in enumerate(FLOW) for name in names}
# Training is a program of its own: it may use the readers, and nothing may use it.
PLACE["training"] = len(FLOW)


def _imports(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            found.add(node.module)
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
    return found


def _modules() -> list[Path]:
    return sorted((ROOT / "scorer").rglob("*.py"))


@pytest.mark.parametrize("path", _modules(), ids=lambda p: str(p.relative_to(ROOT)))
def test_a_module_imports_nothing_behind_it(path: Path) -> None:
    parts = path.relative_to(ROOT / "scorer").with_suffix("").parts
    if parts == ("__init__",) or parts == ("__main__",):
        return
    here = PLACE[parts[0]]
    for name in _imports(path):
        words = name.split(".")
        assert words[0] not in {"app", "streamlit"}, f"{path} imports {name}"
        if words[0] == "scorer" and len(words) > 1 and words[1] in PLACE:
            assert PLACE[words[1]] <= here, f"{path} imports {name}, which stands behind it"


def test_every_package_has_its_place() -> None:
    names = {p.stem if p.is_file() else p.name for p in (ROOT / "scorer").iterdir()}
    names = {n for n in names if not n.startswith((".", "__")) and n != "py"}
    assert names - set(PLACE) - {"demo_homes", "third_party_licenses"} == set()


def test_the_library_never_loads_streamlit_or_torch() -> None:
    code = (
        "import pkgutil, importlib, sys, scorer\n"
        "for m in pkgutil.walk_packages(scorer.__path__, 'scorer.'):\n"
        "    if 'training' not in m.name and '__main__' not in m.name:\n"
        "        importlib.import_module(m.name)\n"
        "print(sorted({'streamlit', 'torch', 'sklearn', 'app'} & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
