"""From a folder to a farm, or to every fault at once."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from geographiclib.geodesic import Geodesic

from routing.errors import FarmError
from routing.farm.folder import read_farm
from routing.farm.location import kilometres
from routing.farm.models import Hours, Place, Rank

from .conftest import FaultsOf, Write


def test_the_smallest_farm(write: Write) -> None:
    """What is not said is filled in: names from ids, colonies from the site, the rank `want`."""
    farm = read_farm(write(drives="from,to,minutes\nbase,one,12\n"))
    (site,), (job,), (crew,) = farm.sites, farm.jobs, farm.crews
    assert (site.name, site.colonies, site.line) == ("one", 10, 2)
    assert (job.id, job.kind, job.hives, job.rank) == ("jobs.csv:2", "heft", 10, Rank.WANT)
    assert (crew.people, crew.vehicle, crew.earliest_start) == (1, "van", dt.time(8))
    assert (farm.known_drives[0].start, farm.known_drives[0].minutes) == ("base", 12)
    assert (farm.time_zone, farm.warnings) == ("Europe/London", ())


def test_every_column_of_a_site(write: Write) -> None:
    """Each column of sites.csv arrives in its field, with decimal commas where the delimiter is a semicolon."""
    sites = (
        "id;name;lat;lon;hives;nucs;hours;closed;vehicle_needed;walking_minutes;last_of_day;notes;gate_code;phone;private_notes\n"
        "one;Old orchard;52,1;-2,7;10;2;08:00-16:00;Sun 2026-12-24;4X4;2,5;yes;by the barn;12;34;dog\n"
    )
    farm_toml = (write() / "farm.toml").read_text().replace("space_litres", 'reaches = ["4x4"]\nspace_litres')
    (site,) = read_farm(write(farm_toml, sites=sites)).sites
    assert (site.name, site.hives, site.nucs, site.vehicle_needed) == ("Old orchard", 10, 2, "4x4")
    assert (site.place.latitude, site.place.longitude) == (52.1, -2.7)
    assert site.hours == (Hours(opens=dt.time(8), closes=dt.time(16)),)
    assert (site.closed_weekdays, site.closed_dates) == (frozenset({6}), frozenset({dt.date(2026, 12, 24)}))
    assert (site.walking_minutes, site.last_of_day) == (2.5, True)
    assert (site.notes, site.gate_code, site.phone, site.private_notes) == ("by the barn", "12", "34", "dog")


def test_every_column_of_a_job(write: Write) -> None:
    """Each column of jobs.csv arrives in its field; site and kind are found in any case, the kind by its name too."""
    jobs = "note,rank,due_by,not_before,hives,kind,site\ncalm,MUST,31/12/2026,2026-12-01,4,Fit mouse guards,ONE\n"
    (job,) = read_farm(write(jobs=jobs)).jobs
    assert (job.site, job.kind, job.hives, job.rank, job.note) == ("one", "mouse-guards", 4, Rank.MUST, "calm")
    assert (job.not_before, job.due_by) == (dt.date(2026, 12, 1), dt.date(2026, 12, 31))


def test_every_key_of_a_crew(write: Write, farm_toml: str) -> None:
    """Each key of a crew arrives in its field; times may be TOML's own, days off words and dates."""
    keys = """people = 2
break_minutes = 30
break_after_hours = 5.5
days_off = ["Sun", 2026-12-25, "26/12/2026"]
"""
    farm = read_farm(write(farm_toml.replace('"08:00"', "08:00:00") + keys))
    (crew,) = farm.crews
    assert (crew.people, crew.break_minutes, crew.break_after_hours) == (2, 30, 5.5)
    assert (crew.earliest_start, crew.home_by) == (dt.time(8), dt.time(17))
    assert crew.days_off_weekdays == {6}
    assert crew.days_off_dates == {dt.date(2026, 12, 25), dt.date(2026, 12, 26)}


@pytest.mark.parametrize(("off", "warnings"), [('["Thu", "Fri", "Sat", "Sun"]', 0), ('["Fri", "Sat", "Sun"]', 1)])
def test_only_crews_that_may_work_on_one_day_are_warned_of_one_vehicle(
    write: Write, farm_toml: str, off: str, warnings: int
) -> None:
    """One is off on Monday to Wednesday: the other shares its vehicle on no day, or on Thursday."""
    first = farm_toml + 'days_off = ["Mon", "Tue", "Wed"]\n'
    crew = first[first.index("[[crew]]") :].split("\n\n")[0]
    second = "\n".join(line for line in crew.splitlines() if not line.startswith(("id", "days_off")))
    farm = read_farm(write(f'{first}\n{second}\nid = "birch"\ndays_off = {off}\n'))
    assert len([fault for fault in farm.warnings if "is shared with" in str(fault)]) == warnings


@pytest.mark.parametrize(
    ("place", "zone"),
    [("52.0, -2.7", "Europe/London"), ("53.35, -6.26", "Europe/Dublin"), ("-41.3, 174.8", "Pacific/Auckland")],
)
def test_time_zone_from_the_base(write: Write, farm_toml: str, place: str, zone: str) -> None:
    """Where no time zone is given, it is the one in which the base lies."""
    text = farm_toml.replace('time_zone = "Europe/London"\n', "")
    text = text.replace("latitude = 52.0\nlongitude = -2.7", f'place = "{place}"')
    assert read_farm(write(text)).time_zone == zone


def test_all_faults_at_once_in_order(faults_of: FaultsOf, farm_toml: str) -> None:
    """Faults of all files come together, by file and line, one line each, and no fault causes another."""
    assert faults_of(
        farm=farm_toml.replace("payload_kg", "payload_kgs"),
        sites="id,place,hives,nucs\none,52.1 -2.7,12x,-1\ntwo,nowhere,3,\n",
        jobs="site,kind,hives\none,heft,\ntwo,hefd,\nthree,heft,0\n",
        drives="from,to,minutes\nbase,one,soon\none,four,3\n",
    ) == [
        "farm.toml:5: [vehicle 1] has no payload_kg",
        'farm.toml:7: [vehicle 1] has a key "payload_kgs" that is not known; did you mean "payload_kg"?',
        'sites.csv:2: hives "12x" is not a whole number',
        'sites.csv:2: nucs "-1" must be from 0 to 5,000',
        (
            'sites.csv:3: "nowhere" is not a place: "O" was not understood; write decimal degrees (52.1, -2.7), degrees and '
            "minutes (52\N{DEGREE SIGN}06'30\"N 2\N{DEGREE SIGN}42'00\"W), a British grid reference (SO 512 402) or an Irish "
            "one (O 159 346)"
        ),
        'jobs.csv:3: kind "hefd" is not a job kind; did you mean "heft"?',
        'jobs.csv:4: site "three" is not in sites.csv; one of one, two',
        'jobs.csv:4: hives "0" must be from 1 to 5,000',
        'drives.csv:2: minutes "soon" is not a number',
        'drives.csv:3: to "four" is neither base nor a site in sites.csv; one of base, one, two',
    ]


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("Europe/London", "Europe/Londno", 'farm.toml:1: time_zone "Europe/Londno" is not a time zone: did you mean "Europe/London"?'),
        ("Europe/London", "../../etc", 'farm.toml:1: time_zone "../../etc" is not a time zone: write a name such as "Europe/London"'),
        ('time_zone = "Europe/London"', "time_zone = 1", 'farm.toml:1: time_zone 1 is not a time zone: write a name such as "Europe/London"'),
        ("[base]", "[bass]", 'farm.toml:2: has a key "bass" that is not known; did you mean "base"?'),
        ("longitude = -2.7", "", "farm.toml:2: [base] needs a place, or a latitude and a longitude"),
        ("longitude = -2.7", "longitude = 1e300", "farm.toml:2: [base]"),
        ("[[vehicle]]", "[vehicle]", "vehicle "),
        ("payload_kg = 500", "payload_kg = 0", "farm.toml:7: [vehicle 1] payload_kg 0 must be from 1 to 100,000"),
        ("payload_kg = 500", "payload_kg = true", "farm.toml:7: [vehicle 1] payload_kg True is not a number"),
        ("payload_kg = 500", "payload_kg = 500\npayload_kg = 600", "farm.toml:8: is not TOML"),
        ('vehicle = "van"', 'vehicle = "vann"', 'farm.toml:11: [crew 1] vehicle "vann" is not in the file; did you mean "van"?'),
        ('"08:00"', '"8 am"', 'farm.toml:12: [crew 1] earliest_start "8 am" is not a time: write 07:30'),
        ('"17:00"', "17", "farm.toml:13: [crew 1] home_by 17 is not text: put it in quotes"),
        ('id = "ash"', 'id = "a,b"', 'farm.toml:10: [crew 1] id "a,b" holds a comma'),
        ('id = "ash"', 'id = "base"', 'farm.toml:10: [crew 1] id "base" means the base'),
        ('id = "ash"', 'id = ""', "farm.toml:10: [crew 1] id is empty"),
        ('id = "ash"', 'id = "ash"\npeople = 0', "farm.toml:11: [crew 1] people 0 must be from 1 to 20"),
        ('id = "ash"', 'id = "ash"\npeople = 1.5', "farm.toml:11: [crew 1] people 1.5 is not a whole number"),
        ('id = "ash"', 'id = "ash"\ndays_off = ["Sat", 7]', "farm.toml:11: [crew 1] days_off"),
        ('id = "ash"', 'id = "ash"\nname = "' + "a" * 201 + '"', "farm.toml:11: [crew 1] name"),
    ],
)  # fmt: skip
def test_slips_in_farm_toml(faults_of: FaultsOf, farm_toml: str, old: str, new: str, fault: str) -> None:
    """Each slip is told with the line of its key and what to write instead."""
    assert any(fault in line for line in faults_of(farm=farm_toml.replace(old, new, 1)))


def test_the_same_crew_twice(faults_of: FaultsOf, farm_toml: str) -> None:
    """Ids are told apart by more than capitals, and the line is that of the second."""
    again = farm_toml[farm_toml.index("[[crew]]") :].replace("ash", "Ash")
    assert faults_of(farm=farm_toml + again) == ['farm.toml:15: [crew 2] id "Ash" is used twice']


@pytest.mark.parametrize("text", ["a = " + "[" * 3000, "a = " + "9" * 5000, "a = 1979-99-99", "a = {", "\x00"])
def test_farm_toml_that_is_not_toml(faults_of: FaultsOf, text: str) -> None:
    """Whatever stops the TOML parser is one fault of that file."""
    faults = faults_of(farm=text)
    assert len(faults) == 1
    assert faults[0].startswith("farm.toml")


@pytest.mark.parametrize(
    ("sites", "fault"),
    [
        ("id,place,hives\nBase,52 -2,1\n", 'sites.csv:2: no site may have the id "Base"'),
        ("id,place,hives\n,52 -2,1\n", "sites.csv:2: id is missing"),
        ("id,place,hives\na,52 -2,\n", "sites.csv:2: hives is missing; write 0 where there is none"),
        ("id,place,hives\na,52 -2,1\n\nA,52 -3,1\n", 'sites.csv:4: id "A" is already used on line 2'),
        ("id,hives\na,1\n", "sites.csv:2: needs a place, or a latitude and a longitude"),
        ("id,hives,lat,lon\na,1,52,\n", "sites.csv:2: needs a place, or a latitude and a longitude"),
        ("id,hives,place,lat\na,1,52 -2,52\n", "sites.csv:2: has a place and also a latitude or longitude"),
        ("id,place,hives\na,52.1,-2.7,1\n", 'sites.csv:2: has 4 cells for 3 columns: "1" stands in no column'),
        ("id,place,hives,name\na,52 -2,1," + "n" * 201, "is longer than 200 characters"),
        ("id,place,hives,name\na,52 -2,1,\x1b[31m", 'name "\\x1b[31m" holds a control character (U+001B)'),
        ("id,place,hives\n", "sites.csv: has no site; write one row for each out-apiary"),
        (None, "sites.csv: there is no such file; it has one row for each out-apiary"),
    ],
)
def test_slips_in_sites(faults_of: FaultsOf, sites: str | None, fault: str) -> None:
    """Each slip in sites.csv is told; jobs at sites that could not be read cause no second fault."""
    faults = faults_of(sites=sites, jobs="site,kind\n")
    assert any(fault in line for line in faults)
    assert all(line.startswith("sites.csv") for line in faults)


def test_secrets_are_not_shown_in_faults(faults_of: FaultsOf) -> None:
    """A gate code that cannot be read is not printed."""
    faults = faults_of(sites="id,place,hives,gate_code\none,52 -2,1,12\x0734\n")
    assert faults == ["sites.csv:2: gate_code holds a control character (U+0007)"]


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("two,heft,,,,,", 'site "two" has no hives to work on'),
        ("one,,,,,,", "kind is missing"),
        (",heft,,,,,", "site is missing"),
        ("onne,heft,,,,,", 'site "onne" is not in sites.csv; did you mean "one"?'),
        ("one,heft,,2026-12-09,2026-12-08,,", "due_by 2026-12-08 is before not_before 2026-12-09"),
        ("one,heft,,,2026-12-08,,,2026-12-09", "promised stands alone: leave not_before and due_by blank"),
        ("one,heft,,,tomorrow,,", 'due_by "tomorrow" is not a date'),
        ("one,heft,,,,urgent,", 'rank "urgent" is not one of now, must, want, passing'),
    ],
)
def test_slips_in_jobs(faults_of: FaultsOf, row: str, fault: str) -> None:
    """Each slip in jobs.csv is one fault with its line."""
    sites = "id,place,hives\none,52.1 -2.7,10\ntwo,52.2 -2.7,0\n"
    faults = faults_of(sites=sites, jobs="site,kind,hives,not_before,due_by,rank,note,promised\n" + row + "\n")
    assert len(faults) == 1
    assert faults[0].startswith("jobs.csv:2: ")
    assert fault in faults[0]


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ("one,base,\n", "drives.csv:2: minutes is missing"),
        ("one,one,4\n", 'drives.csv:2: from and to are both "one"'),
        ("one,base,2000\n", 'drives.csv:2: minutes "2000" must be from 0 to 1,440'),
        ("one,base,4\nONE,Base,5\n", 'drives.csv:3: the drive from "one" to "base" is already on line 2'),
    ],
)
def test_slips_in_drives(faults_of: FaultsOf, rows: str, fault: str) -> None:
    """Each slip in drives.csv is one fault with its line."""
    assert faults_of(drives="from,to,minutes\n" + rows) == [fault]


def test_a_drive_may_differ_on_the_way_back(write: Write) -> None:
    """Two rows, one for each way, are both kept."""
    farm = read_farm(write(drives="from,to,minutes\nbase,one,10\none,base,12,\n"))
    assert [(drive.start, drive.end, drive.minutes) for drive in farm.known_drives] == [
        ("base", "one", 10),
        ("one", "base", 12),
    ]


@pytest.mark.parametrize(
    ("rows", "warning"),
    [
        ("a,-2.7 52.1,1\n", 'site "a" is 7950 km from the base; are latitude and longitude swapped?'),
        ("a,0 0,1\n", 'site "a" is at latitude 0, longitude 0, in the sea off Africa; was the place left out?'),
        ("a,57.1 -2.1,1\n", 'site "a" is 568 km from the base; check its place'),
        ("a,52.1 -2.7,1\nb,52.1001 -2.7001,1\n", 'site "b" is 13 m from site "a" (line 2); are they one site?'),
    ],
)
def test_unlikely_places_are_warned_of(warnings_of: FaultsOf, rows: str, warning: str) -> None:
    """Unlikely places are read and told of; the distances are those of the check against geodesics below."""
    (line,) = warnings_of(sites="id,place,hives\n" + rows, jobs="site,kind\n")
    assert line.split(": ", 1)[1] == warning


@pytest.mark.parametrize(("latitude", "longitude"), [(-2.7, 52.1), (57.1, -2.1), (52.1, -2.7), (-41.3, 174.8)])
def test_distances_for_warnings(latitude: float, longitude: float) -> None:
    """Our great circle is within 0.6 % of the geodesic of geographiclib, which is independent of ours."""
    metres = Geodesic.WGS84.Inverse(52.0, -2.7, latitude, longitude)["s12"]
    ours = kilometres(Place(latitude=52.0, longitude=-2.7), Place(latitude=latitude, longitude=longitude))
    assert ours == pytest.approx(metres / 1000, rel=0.006)


def test_sites_31_metres_apart_are_two(warnings_of: FaultsOf) -> None:
    """0.00028 degrees of latitude are 31 m, which is no warning; 0.00026 are 29 m, which is one."""
    head = "id,place,hives\na,52.1 -2.7,1\n"
    assert warnings_of(sites=head + "b,52.10028 -2.7,1\n", jobs="site,kind\n") == []
    assert len(warnings_of(sites=head + "b,52.10026 -2.7,1\n", jobs="site,kind\n")) == 1


def test_warnings_however_many_do_not_stop_the_reading(warnings_of: FaultsOf) -> None:
    """Three hundred sites far from the base are three hundred warnings, and a farm."""
    rows = "".join(f"s{number},57.{number:03} -2.1,1\n" for number in range(300))
    assert len(warnings_of(sites="id,place,hives\n" + rows, jobs="site,kind\n")) == 300


def test_faults_end_after_two_hundred(faults_of: FaultsOf) -> None:
    """A file that is wrong all through is told of two hundred times and then once more."""
    faults = faults_of(jobs="site,kind\n" + "two,heft\n" * 1000)
    assert len(faults) == 201
    assert faults[-1] == "jobs.csv:202: has too many rows or faults: the rest was not read"


def test_more_warnings(warnings_of: FaultsOf) -> None:
    """More hives than the site has, the same job twice, and a need that no vehicle meets are told but read."""
    sites = "id,place,hives,vehicle_needed\none,52.1 -2.7,10,boat\n"
    assert warnings_of(sites=sites, jobs="site,kind,hives\none,heft,11\none,heft,\n") == [
        'sites.csv:2: vehicle_needed "boat" is in the reaches of no vehicle; there is none yet',
        'jobs.csv:2: hives 11 is more than the 10 hives and nucs of site "one"',
        'jobs.csv:3: "heft" at site "one" is also on line 2; both are planned',
    ]


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    """A missing folder, or an empty one, says what is missing."""
    with pytest.raises(FarmError, match="there is no such folder"):
        read_farm(tmp_path / "nowhere")
    with pytest.raises(FarmError) as caught:
        read_farm(tmp_path)
    assert [fault.file for fault in caught.value.faults] == ["farm.toml", "sites.csv"]
