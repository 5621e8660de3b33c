"""Sites and jobs as tables in a real browser: by keyboard alone, by paste, faults at their cells, what is private hidden."""

from __future__ import annotations

from playwright.sync_api import Route, expect

from routing.farm.folder import read_farm
from tests.desk.grid_bench import Bench, cell, paste, until, written
from tests.share.axe import violations

HOSTILE = "<img src=x onerror=alert(1)>{{7*7}}\"'&amp;"


def test_a_cell_is_written_and_undone_by_keyboard_alone(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    page.locator("#grid td").first.focus()
    for key in ("ArrowDown", "ArrowRight", "F2", "End"):
        page.keyboard.press(key)
    page.keyboard.type(" Farm")
    page.keyboard.press("Tab")
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    page.keyboard.type("9")
    page.keyboard.press("Enter")
    until(page, lambda: b"Quarry edge Farm" in bench.file() and b",9,0," not in bench.file())
    written(page)
    changed = bench.file()
    assert changed == before.replace(b"Quarry edge", b"Quarry edge Farm").replace(b"387,8,0,", b"387,8,9,")
    page.keyboard.press("F2")
    page.keyboard.type("zzz")
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.tagName") == "TD"
    page.keyboard.press("Control+z")
    until(page, lambda: bench.file() == before.replace(b"Quarry edge", b"Quarry edge Farm"))
    page.keyboard.press("Control+z")
    until(page, lambda: bench.file() == before)
    page.keyboard.press("Control+y")
    until(page, lambda: b"Quarry edge Farm" in bench.file())
    expect(page.locator("#messages")).to_contain_text("Made again. Sites: name of quarry")


def test_what_is_pressed_last_is_shown_last_however_late_an_answer_comes(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    page.locator("#grid td").first.focus()
    for key in ("ArrowDown", "ArrowRight", "F2", "End", "x", "Enter"):
        page.keyboard.press(key)
    until(page, lambda: b"Quarry edgex" in bench.file())
    written(page)

    def late(route: Route) -> None:
        answer = route.fetch()
        page.wait_for_timeout(400)
        route.fulfill(response=answer)

    page.route("**/tables/undo", late)
    with page.expect_response("**/tables/undo"), page.expect_response("**/tables/redo"):
        page.keyboard.press("Control+z")
        page.keyboard.press("Control+y")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    expect(page.locator("#messages")).to_contain_text("Made again. Sites: name of quarry")
    assert bench.file() == before.replace(b"Quarry edge", b"Quarry edgex")
    expect(page.locator("#grid")).to_contain_text("Quarry edgex")


def test_a_block_is_pasted_and_undone_to_the_byte(bench: Bench) -> None:
    before, page = bench.file("jobs.csv"), bench.page("/jobs")
    page.locator("#grid td").first.focus()
    block = 'Kind\tSite\tdue by\tnote\r\nheft\twood\t24.12.2026\t"two\nlines"\r\nfondant\tmeadow\t2026-12-20\t=1+1\r\n'
    paste(page, block)
    until(page, lambda: len(read_farm(bench.farm).jobs) == 11)
    added = read_farm(bench.farm).jobs[-2:]
    assert [(job.site, job.kind, str(job.due_by), job.note) for job in added] == [
        ("wood", "heft", "2026-12-24", "two\nlines"),
        ("meadow", "fondant", "2026-12-20", "'=1+1"),
    ]
    assert bench.file("jobs.csv").startswith(before)
    written(page)
    page.locator("#grid-undo").click()
    until(page, lambda: bench.file("jobs.csv") == before)


def test_one_row_with_its_header_goes_below_the_table_too(bench: Bench) -> None:
    before, page = bench.file("jobs.csv"), bench.page("/jobs")
    page.locator("#grid td").first.focus()
    paste(page, "Kind\tSite\r\nheft\tmeadow\r\n")
    until(page, lambda: bench.file("jobs.csv") == before + b"meadow,heft,,,,,\n")


def test_a_sheet_with_names_of_its_own_is_taken_where_no_cell_is_chosen(bench: Bench) -> None:
    """Latitude and longitude become the one cell of the place, ids are made of names, and what has no column is told."""
    before, page = bench.file(), bench.page("/sites")
    written(page)
    page.locator("h1").click()
    block = "Apiary\tLat\tLong\tColonies\tLandowner\nLow field\t52.1\t-2.9\t4\tA. Dunn\nLow Field\t52.2\t-2.8\t2\t\n"
    paste(page, block)
    until(page, lambda: bench.file() != before)
    written(page)
    added = bench.file().removeprefix(before).decode().splitlines()
    assert [line.split(",")[:2] for line in added] == [["low-field", "Low field"], ["low-field-2", "Low Field"]]
    assert [line.split('"')[1] for line in added] == ["52.1, -2.9", "52.2, -2.8"]
    expect(page.locator("#messages")).to_have_text("Left aside, as this table has no such column: “Landowner”.")


def test_a_copied_block_is_what_a_spreadsheet_takes(bench: Bench) -> None:
    page = bench.page("/sites")
    page.locator("#grid td").first.focus()
    page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("Shift+ArrowRight")
    copied = page.evaluate(
        """() => { const data = new DataTransfer();
        document.activeElement.dispatchEvent(new ClipboardEvent("copy", { clipboardData: data, bubbles: true, cancelable: true }));
        return data.getData("text/plain"); }"""
    )
    assert copied == "orchard\tOld orchard\nquarry\tQuarry edge"
    assert page.locator("#grid td[aria-selected=true]").count() == 4


def test_a_fault_stands_at_its_cell_and_nothing_is_written(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    hives = cell(page, 1, "hives")
    hives.click()
    page.keyboard.type("12x")
    page.keyboard.press("Enter")
    expect(hives).to_have_attribute("aria-invalid", "true")
    told = page.locator("#" + (hives.get_attribute("aria-describedby") or ""))
    expect(told).to_have_text('Not written yet: hives "12x" is not a whole number')
    assert bench.file() == before
    hives.click()
    page.keyboard.press("F2")
    assert page.evaluate("document.activeElement.getAttribute('aria-describedby')") == hives.get_attribute(
        "aria-describedby"
    )
    assert violations(page) == {}
    page.keyboard.press("Control+a")
    page.keyboard.type("11")
    page.keyboard.press("Enter")
    until(page, lambda: bench.file() == before.replace(b",12,2,", b",11,2,"))


def test_a_row_grows_until_it_is_whole_and_is_taken_out_again(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    page.locator("#grid-add").click()
    page.keyboard.type("Low field")  # an id is made of the name
    page.keyboard.press("Tab")
    page.keyboard.type("SO 470 300")
    page.keyboard.press("Tab")
    expect(page.locator("#grid-state")).to_contain_text("1 row is not written yet")
    assert bench.file() == before
    page.keyboard.type("4")
    page.keyboard.press("Tab")
    until(page, lambda: bench.file() != before)
    written(page)
    line = b"low-field,Low field,SO 470 300,4,,,,,,,,,,\n"
    assert bench.file() == before.replace(b"quarry,", line + b"quarry,")
    page.locator("#grid-drop").click()
    until(page, lambda: bench.file() == before)


def test_drop_downs_offer_kinds_sites_and_ranks(bench: Bench) -> None:
    page = bench.page("/jobs")
    cell(page, 1, "kind").click()
    page.keyboard.press("Enter")
    options = page.locator("#grid select option").all_inner_texts()
    assert "Mend the stock fence (fence-repair)" in options
    assert violations(page) == {}
    page.keyboard.press("Escape")
    cell(page, 2, "rank").click()
    page.keyboard.type("p")
    page.keyboard.press("Enter")
    until(page, lambda: read_farm(bench.farm).jobs[1].rank == "passing")


def test_what_jobs_need_is_not_taken_out(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    cell(page, 1, "id").click()
    page.locator("#grid-drop").click()
    expect(page.locator("#messages")).to_contain_text("Not written, because then:")
    expect(page.locator("#messages")).to_contain_text('jobs.csv:2: site "orchard" is not in sites.csv')
    assert bench.file() == before
    expect(page.locator("#grid tr.dropped")).to_have_count(0)


def test_private_cells_are_hidden_until_asked_for(bench: Bench) -> None:
    page = bench.page("/sites")
    code = cell(page, 2, "gate code")
    expect(code.locator(".value")).to_have_text("hidden")
    assert "0000" not in bench.desk.get("/tables/sites").text
    assert "0000" not in page.content()
    before = bench.file()
    code.click()
    page.keyboard.type("1234")
    expect(page.locator("#messages")).to_contain_text("Show private details")
    assert bench.file() == before
    page.get_by_role("button", name="Show private details").click()
    expect(code.locator(".value")).to_have_text("0000")
    code.click()
    page.keyboard.type("1234")
    page.keyboard.press("Enter")
    until(page, lambda: read_farm(bench.farm).sites[1].gate_code == "1234")
    expect(page.locator("#grid-undo")).to_have_attribute("title", "Sites: gate code of quarry")


def test_hostile_names_stay_text(bench: Bench) -> None:
    page = bench.page("/sites")
    cell(page, 1, "name").click()
    page.keyboard.press("F2")
    page.keyboard.press("Control+a")
    page.keyboard.insert_text(HOSTILE)
    page.keyboard.press("Enter")
    until(page, lambda: read_farm(bench.farm).sites[0].name == HOSTILE)
    page = bench.page("/sites")
    expect(cell(page, 1, "name").locator(".value")).to_have_text(HOSTILE)
    assert page.locator("#grid img").count() == 0
    jobs = bench.page("/jobs")
    cell(jobs, 1, "site").click()
    jobs.keyboard.press("F2")
    assert jobs.locator("#grid select img").count() == 0
    assert violations(jobs) == {}
