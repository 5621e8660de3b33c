"""Whatever bytes the files hold, the answer is a farm or its faults."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.errors import FarmError
from routing.farm.folder import FILES, read_farm

from .conftest import FARM_TOML, JOBS_CSV, SITES_CSV

GOOD = {
    "farm.toml": FARM_TOML,
    "sites.csv": SITES_CSV,
    "jobs.csv": JOBS_CSV,
    "drives.csv": "from,to,minutes\nbase,one,9\n",
}
HEADERS = {
    "sites.csv": "id,name,place,latitude,longitude,hives,nucs,hours,closed,walking_minutes,last_of_day,phone\n",
    "jobs.csv": "site,kind,hives,not_before,due_by,rank,note\n",
    "drives.csv": "from,to,minutes\n",
}
CELLS = st.one_of(
    st.text(max_size=8),
    st.sampled_from(
        ["one", "base", "heft", "52.1 -2.7", "SO 512 402", "1e9", "nan", "-0", "2026-12-31", "08:00-17:00", '"', ""]
    ),
)
VALUES = st.recursive(
    st.one_of(
        st.sampled_from(
            ["1", "-1", "1e308", "inf", "nan", "true", '""', '"one"', "07:30:00", "2026-12-25", "2026-12-25T07:30:00Z"]
        ),
        st.integers().map(str),
        st.floats().map(str),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda parts: "[" + ", ".join(parts) + "]"),
        inner.map(lambda part: "{ value = " + part + ' , source = "x" }'),
        inner.map(lambda part: "{ fondant = " + part + " }"),
    ),
    max_leaves=4,
)
KEYS = st.sampled_from(
    [
        *("name", "time_zone", "base", "crew", "vehicle", "job_kind", "material", "rules", "stock", "base.place"),
        *("base.latitude", "rules.drive_bands", "rules.units", "rules.call_in_minutes", "stock.fondant", "job_kind.heft"),
        *("job_kind.heft.takes", "job_kind.heft.light", "job_kind.x.minutes_a_hive", "material.fondant.sold_by"),
    ]
)  # fmt: skip


def outcome(**changed: bytes) -> str:
    """Return what came of reading the good farm with some files' bytes changed: its name or its faults."""
    with tempfile.TemporaryDirectory() as name:
        for file in FILES:
            (Path(name) / file).write_bytes(changed.get(file, GOOD[file].encode()))
        try:
            return read_farm(Path(name)).name
        except FarmError as error:
            return str(error)


@pytest.mark.parametrize("file", FILES)
@settings(max_examples=60, deadline=None)
@given(content=st.binary(max_size=200))
def test_random_bytes(file: str, content: bytes) -> None:
    """Random bytes in one file never give another error than FarmError, which then names that file."""
    result = outcome(**{file: content})
    assert result == "Farm" or file in result


@pytest.mark.parametrize("file", FILES)
@settings(max_examples=60, deadline=None)
@given(at=st.integers(0, 250), cut=st.integers(0, 30), put=st.binary(max_size=12))
def test_damaged_files(file: str, at: int, cut: int, put: bytes) -> None:
    """A good file with a piece cut out and another put in is read or refused."""
    content = GOOD[file].encode()
    result = outcome(**{file: content[:at] + put + content[at + cut :]})
    assert result


@pytest.mark.parametrize("file", list(HEADERS))
@settings(max_examples=60, deadline=None)
@given(rows=st.lists(st.lists(CELLS, max_size=13), max_size=4))
def test_random_cells(file: str, rows: list[list[str]]) -> None:
    """Random and likely cells under a true header are read or refused."""
    text = HEADERS[file] + "".join(",".join(row) + "\n" for row in rows)
    assert outcome(**{file: text.encode("utf-8", "replace")})


@settings(max_examples=150, deadline=None)
@given(key=KEYS, value=VALUES)
def test_random_values_in_farm_toml(key: str, value: str) -> None:
    """Any TOML value at any key is read or refused."""
    assert outcome(**{"farm.toml": f"{key} = {value}\n{FARM_TOML}".encode()})
