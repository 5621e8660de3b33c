"""Sites, kinds and crews are known by id and by name; what is unknown or may be two is one clear line."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.errors import AskedError
from routing.farm.naming import crew_named, kind_named, site_named
from routing.season.log import Log
from tests.season.small_farm import SITES_CSV, make_farm, write_farm
from tests.season.test_commands import run


def test_an_id_goes_before_a_name_and_a_name_in_any_case_is_enough(tmp_path: Path) -> None:
    """Beck Side is called as Ash Bank's id: the id wins."""
    farm = make_farm(tmp_path, sites=SITES_CSV.replace("Beck Side", "Ash"))
    assert [site_named(farm, word) for word in ("ash", "Ash", "beck", "COTE  end", "cote-end")] == [
        *("ash", "ash", "beck", "cote", "cote"),
    ]
    assert [kind_named(farm, word, ("storm",)) for word in ("heft", "Feed fondant", "storm")] == [
        *("heft", "fondant", "storm"),
    ]
    assert crew_named(farm, "ASH") == "ash"


def test_a_name_of_two_sites_asks_for_the_id_and_an_unknown_one_names_the_nearest(tmp_path: Path) -> None:
    farm = make_farm(tmp_path, sites=SITES_CSV.replace("Beck Side", "Cote End"))
    with pytest.raises(AskedError, match='site "cote end" may be "beck" or "cote": write that id'):
        site_named(farm, "cote end")
    with pytest.raises(AskedError, match=r'"Ash Bnak" is not in sites\.csv; did you mean "Ash Bank"'):
        site_named(farm, "Ash Bnak")
    with pytest.raises(AskedError, match='kind "sing" is not known; one of'):
        kind_named(farm, "sing")


def test_the_log_takes_names(tmp_path: Path) -> None:
    folder = write_farm(tmp_path)
    words = ("--on", "2026-11-10", "--seen", "lid-off=2", "--seen", "robbing")
    added = run("log", "add", folder, "--site", "Ash Bank", "--kind", "Feed fondant", *words)
    assert added.exit_code == 0, added.output
    (entry,) = Log.record_of(folder).entries
    assert (entry.site, entry.kind, entry.seen, entry.seen_in) == (
        "ash",
        "fondant",
        ("lid-off", "robbing"),
        {"lid-off": 2},
    )
    assert "seen: lid-off=2, robbing" in " ".join(run("log", "list", folder, "--site", "ash bank").stdout.split())
    refused = run("log", "add", folder, "--site", "ash", "--kind", "heft", "--seen", "lid-off=some")
    assert (refused.exit_code, "--seen" in refused.output) == (2, True)
    run("log", "export", folder)
    assert "lid-off=2 robbing" in (folder / "log.csv").read_text(encoding="utf-8")


def test_explain_and_try_take_names(tmp_path: Path) -> None:
    folder = write_farm(tmp_path, jobs="site,kind\nash,heft\nbeck,heft\n")
    on = ("--on", "2026-06-10")
    assert run("explain", folder, "ash bank", *on).stdout.startswith("Ash Bank: stop")
    tried = run("try", folder, "--order", "Beck Side, ash", "--crew", "ASH", *on)
    assert tried.exit_code == 0, tried.output
    for command in (("explain", folder, "Nowhere"), ("try", folder, "--order", "Nowhere, ash")):
        refused = run(*command, *on)
        assert (refused.exit_code, refused.stderr.splitlines()) == (
            2,
            ['site "Nowhere" is not in sites.csv; one of ash, beck, cote'],
        )
