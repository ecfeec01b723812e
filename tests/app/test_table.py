"""Edits that a table of fields sends: numbered, so that none is lost and none counts twice."""

from __future__ import annotations

from app.table import Edit, new_edits


def sent(serial: int, row: str, value: object) -> dict[str, object]:
    return {"serial": serial, "row": row, "column": "say", "value": value}


def test_edits_that_were_taken_in_don_t_count_again():
    edits = [sent(3, "a", 1), sent(4, "b", 2)]
    assert new_edits(edits, 0) == [Edit("a", "say", 1), Edit("b", "say", 2)]
    assert new_edits(edits, 3) == [Edit("b", "say", 2)]
    assert new_edits(edits, 4) == []


def test_of_one_cell_the_last_edit_holds():
    edits = [sent(5, "a", "must_not"), sent(4, "a", "must")]
    assert new_edits(edits, 0) == [Edit("a", "say", "must_not")]
