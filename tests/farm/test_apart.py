"""Job kinds that may not be at one site together: said in data, refused in jobs.csv, and the label decides."""

from __future__ import annotations

import pytest

from routing.farm.folder import read_farm
from routing.farm.incompatible import clashes
from routing.farm.kinds import load_catalogue

from .conftest import FaultsOf, Write

WORDS = "may not be there together"


def test_strips_and_supers_clash_whichever_of_the_two_says_so() -> None:
    """Not in a honey flow nor with supers on: Veterinary Medicines Directorate notice, reprint bromleybeekeepers.org.uk."""
    kinds = load_catalogue().job_kinds
    found = clashes(kinds)
    for medicine in ("strips-in", "flumethrin-strips-in", "thymol-in", "thymol-second"):
        assert found[medicine] == {"supers-on", "supers-more"}
        assert medicine in found["supers-on"] & found["supers-more"]
        assert kinds[medicine].not_with_source
        assert kinds[medicine].stays_until in kinds
    assert "strips-out" not in found


@pytest.mark.parametrize(
    ("strips", "supers"),
    [
        (",", ","),
        ("2026-08-05,2026-08-25", ","),
        ("2026-08-05,2026-08-25", "2026-08-25,"),
        (",2026-08-25", "2026-08-25,2026-09-01"),
    ],
)
def test_strips_and_supers_at_one_site_for_one_time_are_refused(faults_of: FaultsOf, strips: str, supers: str) -> None:
    """The line names both rows, says who forbids it, and defers to the label."""
    jobs = f"site,kind,not_before,due_by\none,strips-in,{strips}\none,supers-on,{supers}\n"
    (fault,) = faults_of(jobs=jobs)
    assert fault.startswith(f'jobs.csv:3: "supers-on" at site "one" and "strips-in" on line 2 {WORDS}')
    assert "Veterinary Medicines Directorate" in fault
    assert "part their dates" in fault
    assert "the product's label decides" in fault
    assert "not_with = [] under [job_kind.strips-in]" in fault


def test_at_different_times_or_sites_they_are_not(write: Write) -> None:
    """Supers by 10 May and strips from 5 August; and both in May, at two sites."""
    sites = "id,place,hives\none,52.1 -2.7,10\ntwo,52.2 -2.7,10\n"
    jobs = (
        "site,kind,not_before,due_by\none,supers-on,,2026-05-10\none,strips-in,2026-08-05,\ntwo,strips-in,,2026-05-10\n"
    )
    assert read_farm(write(sites=sites, jobs=jobs)).warnings == ()


def test_for_different_hives_of_a_site_it_is_a_warning(write: Write) -> None:
    """Four with strips and six with supers may be the ten hives of the site; five and six cannot be."""
    rows = "site,kind,hives\none,strips-in,4\none,supers-on,{}\n"
    (warning,) = read_farm(write(jobs=rows.format(6))).warnings
    assert warning.warning
    assert f"{WORDS} on the same hives" in str(warning)
    with pytest.raises(Exception, match=WORDS):
        read_farm(write(jobs=rows.format(7)))


def test_a_farm_whose_label_allows_both_says_so(write: Write, farm_toml: str) -> None:
    more = "[job_kind.strips-in]\nnot_with = []\n"
    farm = read_farm(write(farm=farm_toml + more, jobs="site,kind\none,strips-in\none,supers-on\n"))
    assert farm.warnings == ()
    assert "supers-on" in clashes(farm.job_kinds)


def test_a_slip_in_a_name_is_one_fault(faults_of: FaultsOf, farm_toml: str) -> None:
    more = '[job_kind.strips-in]\nnot_with = ["supers-no"]\nstays_until = "strips-uot"\n'
    assert faults_of(farm=farm_toml + more) == [
        'farm.toml:15: [job_kind.strips-in] not_with names no job kind: "supers-no"; did you mean "supers-on"?',
        'farm.toml:16: [job_kind.strips-in] stays_until names no job kind: "strips-uot"; did you mean "strips-out"?',
    ]
