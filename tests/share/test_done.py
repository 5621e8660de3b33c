"""A report that comes back by message reads as what was sent, or says every fault; never a traceback, never a guess."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.errors import FarmError, ReportError
from routing.share.report.done import MOST_CHARACTERS, read_done

REPORT = """\
what-i-did: 1
round: 9f69a729d2543a7d
crew: rowan
date: 2026-12-10
sent: 2026-12-10T16:02:11Z
# Rowan: Thursday 10 December 2026

site: mill
# 5 Drover's Mill
done: 2026-12-10T11:09:05Z jobs.csv:2
# Feed fondant, 6 hives, must
left: jobs.csv:15
note: The gate was locked

site: long stone
left: jobs.csv:11

end: 1 done, 2 left
"""


def faults(text: str) -> list[str]:
    with pytest.raises(ReportError) as caught:
        read_done(text, "sent.txt")
    return [str(fault) for fault in caught.value.faults]


def test_everything_of_a_report_is_read() -> None:
    done = read_done(REPORT)
    assert (done.round_key, done.crew, done.date) == ("9f69a729d2543a7d", "rowan", dt.date(2026, 12, 10))
    assert done.sent == dt.datetime(2026, 12, 10, 16, 2, 11, tzinfo=dt.UTC)
    assert [(stop.site, stop.note) for stop in done.stops] == [("mill", "The gate was locked"), ("long stone", "")]
    assert [(site, job.id, job.ticked) for site, job in done.done] == [
        ("mill", "jobs.csv:2", dt.datetime(2026, 12, 10, 11, 9, 5, tzinfo=dt.UTC))
    ]
    assert [(site, job.id) for site, job in done.left] == [("mill", "jobs.csv:15"), ("long stone", "jobs.csv:11")]


@pytest.mark.parametrize(
    "text",
    [
        REPORT.replace("\n", "\r\n"),
        "\ufeff" + REPORT,
        "Evening, all well.\n\n" + REPORT + "\n-- \nRowan\nwhat-i-did: 9",
        "".join(f"> {line}\n" for line in REPORT.splitlines()),
        "".join(f"> >  {line}  \n" for line in REPORT.splitlines()),
        REPORT.replace("The gate was locked", "The gate\n was locked"),
        REPORT.replace("\n\n", "\n"),
    ],
    ids=["windows", "byte order mark", "greeting", "quoted", "quoted twice", "wrapped note", "no empty lines"],
)
def test_what_messages_do_to_a_text_does_no_harm(text: str) -> None:
    assert read_done(text) == read_done(REPORT)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("what-i-did: 1", "what-i-did: 2", 'sent.txt:1: "what-i-did: 2" is not version 1'),
        ("what-i-did: 1", "", "sent.txt: holds no line that begins with what-i-did:"),
        ("9f69a729d2543a7d", "9F69", 'sent.txt:2: round "9F69" is not'),
        ("crew: rowan\n", "", "sent.txt:7: the line crew is missing"),
        ("crew: rowan", "crew:", 'sent.txt:3: crew "" is not'),
        ("2026-12-10\n", "2026-02-30\n", 'sent.txt:4: date "2026-02-30" is not'),
        ("16:02:11Z", "16:02:11", "sent.txt:5: sent"),
        ("16:02:11Z", "24:02:11Z", "sent.txt:5: sent"),
        ("date: 2026-12-10", "date: 2026-12-10\ndate: 2026-12-11", "sent.txt:5: date stands in it twice"),
        ("site: mill", "site:", "sent.txt:8: site has no id"),
        ("site: mill\n", "", 'sent.txt:9: "done: 2026-12-10T11:09:05Z jobs.csv:2" stands before any site'),
        ("T11:09:05Z jobs", "T11:99:05Z jobs", "sent.txt:10: done"),
        ("Z jobs.csv:2", "Z", "sent.txt:10: done"),
        ("left: jobs.csv:15", "left:", 'sent.txt:12: left "" is not the id of a job'),
        ("left: jobs.csv:15", "left: jobs.csv:2", 'sent.txt:12: job "jobs.csv:2" stands in it twice'),
        ("left: jobs.csv:15", "felt: jobs.csv:15", 'sent.txt:12: "felt: jobs.csv:15" was not understood'),
        ("left: jobs.csv:15\n", "", "sent.txt:17: says 1 done, 2 left, but 1 done and 1 left stand in it"),
        ("end: 1 done, 2 left", "end: all", 'sent.txt:18: end "all" is not so many done'),
        ("end: 1 done, 2 left\n", "", "sent.txt:17: has no end line, so it was cut on the way"),
        (REPORT[REPORT.index("site: mill") : REPORT.index("end")], "", "sent.txt:8: names no site"),
    ],
)
def test_each_fault_is_told_with_its_line(old: str, new: str, told: str) -> None:
    assert REPORT.count(old) >= 1
    assert any(fault.startswith(told) for fault in faults(REPORT.replace(old, new, 1)))


def test_all_faults_are_told_at_once() -> None:
    text = REPORT.replace("rowan", "").replace("T11", "T31").replace("jobs.csv:11", "")
    assert len(faults(text)) == 3


def test_a_text_far_too_long_is_not_looked_at() -> None:
    assert "too long" in faults("x" * (MOST_CHARACTERS + 1))[0]


def test_a_report_error_is_told_as_the_faults_of_a_farm_are() -> None:
    assert issubclass(ReportError, FarmError)


@given(st.integers(0, len(REPORT) - 2))
def test_a_text_cut_anywhere_is_never_taken_for_whole(cut: int) -> None:
    assert faults(REPORT[:cut])


@given(st.text(max_size=300), st.integers(0, len(REPORT)))
def test_any_text_anywhere_gives_a_report_or_faults(text: str, at: int) -> None:
    report = REPORT[:at] + text + REPORT[at:]
    try:
        read_done(report)
    except ReportError as error:
        told = error.faults
    else:
        told = ()
    assert told or len((*read_done(report).done, *read_done(report).left)) == 3
