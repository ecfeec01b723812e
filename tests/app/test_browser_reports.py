"""Reports saved from a real browser: they open elsewhere, with the page's own figures."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
from pathlib import Path

import openpyxl
import pypdf
import pytest

from tests.app.serving import find_chromium
from tests.app.windows import Place, dollars, metric, saved

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(find_chromium() is None, reason="no Chromium browser on this machine"),
]


def text_of_pdf(path: Path) -> str:
    if shutil.which("pdftotext"):
        run = subprocess.run(
            ["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True
        )
        return run.stdout
    return "\n".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages)


def test_every_report_opens_elsewhere_with_the_money_of_the_page(
    chromium, address: str, tmp_path: Path
):
    window = Place(chromium, address)
    tab = window.open("scope?home=1")
    cost, rise = metric(tab, "Cost of the work"), metric(tab, "Rent rise a month")
    tab.get_by_text("If you borrow").click()
    deal = tab.locator(".va-table", has_text="Payment a month").first
    payment = deal.locator("tr", has_text="Payment a month").locator("td").last.inner_text()
    cover = deal.locator("tr", has_text="Debt service coverage").locator("td").last.inner_text()

    pdf = saved(tab, "Report to print (PDF)", tmp_path)
    words = re.sub(r"\s+", " ", text_of_pdf(pdf))
    for figure in (f"middle {cost}", f"middle {rise}", payment, cover, "not an appraisal"):
        assert figure in words, figure
    assert sum(len(p.images) for p in pypdf.PdfReader(io.BytesIO(pdf.read_bytes())).pages) >= 2

    book = openpyxl.load_workbook(saved(tab, "Workbook (Excel)", tmp_path), data_only=True)
    summary = {row[0].value: row[2].value for row in book["Summary"].iter_rows(min_row=2)}
    assert f"${summary['Cost, $']:,.0f}" == cost
    assert f"${summary['Rent rise a month, $']:,.0f}" == rise
    loan = {row[0].value: row[2].value for row in book["Now or as is"].iter_rows(min_row=2)}
    assert f"${loan['Loan payment a month']:,.0f}" == payment
    assert f"{loan['Debt service coverage']:.2f}" == cover

    (home,) = json.loads(saved(tab, "Everything (JSON)", tmp_path).read_text(encoding="utf-8"))
    assert f"${home['cost']['p50']:,.0f}" == cost
    assert f"${home['rent_lift_month']['p50']:,.0f}" == rise

    table = saved(tab, "Figures (CSV)", tmp_path).read_text(encoding="utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(table, newline=""))
    assert f"${int(row['cost_p50_usd']):,}" == cost
    assert f"${int(row['rent_lift_p50_usd_month']):,}" == rise

    window.open("")
    everything = saved(tab, "Save the list as CSV", tmp_path).read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(everything, newline="")))
    assert cost in [f"${int(r['cost_p50_usd']):,}" for r in rows]
    assert len(rows) == 3
    window.clean()


def test_money_is_written_as_the_browser_does_and_files_are_not(
    chromium, address: str, tmp_path: Path
):
    american = Place(chromium, address, locale="en-US")
    cost = metric(american.open("scope?home=1"), "Cost of the work")
    german = Place(chromium, address, locale="de-DE", timezone_id="Europe/Berlin")
    tab = german.open("scope?home=1")
    shown = metric(tab, "Cost of the work")
    assert shown == f"{dollars(cost):,}".replace(",", ".") + "\u00a0$"
    assert "90.000\u00a0$" in tab.locator(".va-quiet").first.inner_text()
    body = tab.locator('[data-testid="stMain"]').inner_text()
    assert not re.search(r"\$\d", body), re.findall(r".{30}\$\d.{10}", body)
    one = saved(american.tab, "Figures (CSV)", tmp_path / "us").read_bytes()
    assert saved(tab, "Figures (CSV)", tmp_path / "de").read_bytes() == one
    tab = german.open("")
    body = tab.locator('[data-testid="stMain"]').inner_text()
    assert not re.search(r"\$\d", body), re.findall(r".{30}\$\d.{10}", body)
    german.clean()
