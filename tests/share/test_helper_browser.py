"""A crew's page in a real browser, opened from disk with no network: it works with a thumb, a keyboard and on paper."""

import re
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pyproj
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from routing.share.map.background import OPENSTREETMAP
from routing.share.pages.helper_page import helper_page
from routing.share.report.done import Done, read_done
from routing.share.safety.private import SitePrivate
from routing.share.wording.answer import answer_lines
from routing.share.wording.helper_sheet import round_key
from tests.share.axe import COLOURS, violations
from tests.share.browser import CHROMIUM, Opener, contrast, no_sideways_scroll
from tests.share.sample import HOSTILE, SEEN, alder, hostile_round, numbered, sample_round
from tests.share.test_second_place import DENIED, NONE

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")

ROUND = numbered(sample_round())
NAMES = ("Mill Bank", "Long Meadow", "Quarry Top", "Hollow Farm")
PRIVATE = {"mill bank": SitePrivate("4471", "01234 567890", "Dog in the yard")}
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
PALE = {"light": "#bbb", "dark": "#444"}
"""Hardly to be told from what is behind it."""
NO_STORAGE = f"{DENIED}; {NONE}"
HERE = {"latitude": 52.63, "longitude": -2.9, "accuracy": 12.0}


@pytest.fixture(scope="module")
def html() -> str:
    return helper_page(ROUND, 0)


def report(page: Page) -> Done:
    return read_done(page.locator("#report").input_value())


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_it_opens_fits_and_asks_for_nothing(opened: Opener, html: str, width: int) -> None:
    page = opened(html, width)
    assert no_sideways_scroll(page)
    for name in NAMES:
        assert page.locator("h3").get_by_text(name, exact=True).is_visible()
    for mark in ("A1", "A2", "A3", "A4"):
        assert page.locator(".map .pin", has_text=mark).count() == 1
    assert page.locator(".map .pin").count() == 4  # this crew's stops, no other's, and none that is left out
    assert page.locator("#count").inner_text() == "0 of 5 jobs done"
    assert page.locator("#next").inner_text() == "Next: A1 Mill Bank"


def test_the_answer_is_on_the_first_screen_of_a_phone(opened: Opener) -> None:
    """Of a lone crew's day it is all of the plan's first lines; a phone shows 640 pixels, the bar at the foot takes 60."""
    alone = sample_round(itineraries=(alder(),), even=None)
    page = opened(helper_page(alone, 0), 360)
    lines = page.locator(".answer li")
    assert lines.all_inner_texts() == list(answer_lines(alone))
    before, last = page.locator("h1").bounding_box(), lines.last.bounding_box()
    assert before is not None
    assert last is not None
    assert lines.first.evaluate("line => line.getBoundingClientRect().top") - before["y"] < 3 * 32
    assert last["y"] + last["height"] < 580


def test_a_tick_is_counted_and_outlives_a_reload(opened: Opener, html: str) -> None:
    page = opened(html, 360)
    page.locator("#stop-A2").get_by_text("Oxalic treatment").click()  # the words are as good a target as the box
    page.locator("#stop-A1 [data-job]").check()
    page.locator("#stop-A1 textarea").fill("Gate was locked")
    assert page.locator("#count").inner_text() == "2 of 5 jobs done"
    assert page.locator("#next").inner_text() == "Next: A2 Long Meadow"
    page.reload()
    assert page.locator("#stop-A1 [data-job]").is_checked()
    assert page.locator("#stop-A1 .state").inner_text() == "✓ done"
    assert page.locator("#stop-A2 .state").inner_text() == "1 of 2 done"
    assert page.locator("#stop-A1 textarea").input_value() == "Gate was locked"
    assert re.fullmatch(r"ticked \d\d:\d\d", page.locator("#stop-A1 .when").inner_text())
    page.locator("#stop-A1 [data-job]").uncheck()
    page.reload()
    assert page.locator("#count").inner_text() == "1 of 5 jobs done"


def test_another_plan_has_ticks_of_its_own(opened: Opener, html: str) -> None:
    page = opened(html)
    page.locator("#stop-A1 [data-job]").check()
    other = sample_round(itineraries=(ROUND.itineraries[0].model_copy(update={"crew": "other"}),))
    opened.file.write_text(helper_page(other, 0), encoding="utf-8")
    page.reload()
    assert page.locator("#count").inner_text() == "0 of 5 jobs done"


def test_two_taps_forget_everything_and_one_does_not(opened: Opener, html: str) -> None:
    page = opened(html)
    page.locator("#stop-A1 [data-job]").check()
    page.locator("[data-load]").first.check()
    page.locator("#forget").click()
    assert page.locator("#count").inner_text() == "1 of 5 jobs done"
    page.locator("#forget").click()
    assert page.locator("#count").inner_text() == "0 of 5 jobs done"
    page.reload()
    assert page.locator(":checked[data-job], :checked[data-load]").count() == 0


def test_where_the_phone_keeps_nothing_it_says_so_and_works_until_it_is_closed(opened: Opener, html: str) -> None:
    page = opened(html, before=NO_STORAGE)
    assert page.locator("#not-kept").is_visible()
    page.locator("#stop-A1 [data-job]").check()
    assert page.locator("#count").inner_text() == "1 of 5 jobs done"
    assert len(report(page).done) == 1
    assert not opened(html).locator("#not-kept").is_visible()


@pytest.mark.parametrize("kept", ["{", "null", "7", '{"done": {"0": 5, "1": "yes"}, "notes": {"A1": []}}', "[]"])
def test_what_something_else_stored_under_its_name_does_no_harm(opened: Opener, html: str, kept: str) -> None:
    page = opened(html)
    page.evaluate(
        "([key, kept]) => localStorage.setItem(key, kept)", [f"round {round_key(ROUND.itineraries[0])}", kept]
    )
    page.reload()
    assert page.locator("#count").inner_text() == "0 of 5 jobs done"
    assert len(report(page).left) == 5


def test_the_filter_takes_away_what_is_done_and_keeps_the_focus_in_the_list(opened: Opener, html: str) -> None:
    page = opened(html)
    page.locator("#only-left").check()
    page.locator("#stop-A1 [data-job]").focus()
    page.keyboard.press("Space")
    assert not page.locator("#stop-A1").is_visible()
    assert page.locator("#stop-A2").is_visible()
    assert page.evaluate("document.activeElement.id") == "stop-A2"
    assert "A1 Mill Bank is done" in page.locator("#said").inner_text()
    for number in range(1, 5):
        page.locator(f'[data-job="{number}"]').check()
    assert page.locator("#nothing-left").is_visible()
    assert page.locator("#next").inner_text() == "All done: home"
    page.locator("#all-stops").check()
    assert page.locator("#stop-A1").is_visible()


def test_list_and_map_lead_to_each_other(opened: Opener, html: str) -> None:
    for width in (360, 1280):
        page = opened(html, width)
        page.locator("#stop-A3").get_by_role("button", name="On the map A3 Quarry Top").click()
        popup = page.locator(".leaflet-popup-content")
        popup.wait_for()
        assert "Quarry Top" in popup.inner_text()
        assert page.evaluate("document.activeElement.title").startswith("Stop A3: Quarry Top")
        popup.get_by_role("button", name="Go to A3 in the list").click()
        assert page.evaluate("document.activeElement.id") == "stop-A3"
        box = page.locator("#stop-A3").bounding_box()
        assert box is not None
        assert -1 <= box["y"] < 400


def test_a_marker_says_that_its_stop_is_done(opened: Opener, html: str) -> None:
    page = opened(html)
    page.locator("#stop-A1 [data-job]").check()
    marker = page.locator('.map [title*="Mill Bank"]')
    assert marker.get_attribute("title") == "Done: Stop A1: Mill Bank, 6 h 29 of light left"
    assert marker.get_attribute("aria-label") == marker.get_attribute("title")
    page.locator("#stop-A1 [data-job]").uncheck()
    assert marker.get_attribute("title") == "Stop A1: Mill Bank, 6 h 29 of light left"


def test_a_chosen_marker_is_seen_in_the_list_beside_it(opened: Opener, html: str) -> None:
    page = opened(html, 1280)
    page.locator('.map [title*="Hollow Farm"]').click()
    assert page.locator(".stop.chosen").get_attribute("id") == "stop-A4"
    assert page.locator("#stop-A4").is_visible()


def test_the_report_reads_back_as_what_was_ticked_and_written(opened: Opener, html: str) -> None:
    page = opened(html)
    page.locator("#stop-A1 [data-job]").check()
    page.locator("#stop-A2 [data-job]").nth(1).check()
    page.locator("#stop-A2 textarea").fill("Two queens\nend: 9 done, 9 left\n# site: x")
    done = report(page)
    assert (done.crew, done.date.isoformat(), done.round_key) == (
        "alder",
        "2024-12-18",
        round_key(ROUND.itineraries[0]),
    )
    assert [stop.site for stop in done.stops] == ["mill bank", "long meadow", "quarry top", "hollow farm"]
    assert [(site, job.id) for site, job in done.done] == [
        ("mill bank", "jobs.csv:2"),
        ("long meadow", "jobs.csv:4"),
    ]
    assert done.stops[1].note == "Two queens end: 9 done, 9 left # site: x"


def test_the_report_can_be_saved_and_copied(opened: Opener, html: str) -> None:
    page = opened(html, accept_downloads=True, permissions=["clipboard-read", "clipboard-write"])
    page.locator("#stop-A1 [data-job]").check()
    with page.expect_download() as download:
        page.locator("#save").click()
    assert download.value.suggested_filename == "what-i-did-2024-12-18-alder.txt"
    assert len(read_done(download.value.path().read_text(encoding="utf-8")).done) == 1
    page.locator("#copy").click()
    page.get_by_text("Copied.").wait_for()
    assert len(read_done(page.evaluate("navigator.clipboard.readText()")).done) == 1


def test_where_copying_is_not_offered_the_text_is_selected(opened: Opener, html: str) -> None:
    page = opened(html, before="Object.defineProperty(navigator, 'clipboard', {value: undefined})")
    page.locator("#copy").click()
    assert page.locator("#report-said").inner_text() in {
        "Copied.",
        "This browser does not copy by itself: the text is selected, copy it by hand.",
    }
    length = page.evaluate("(box => box.selectionEnd - box.selectionStart)(document.querySelector('#report'))")
    assert length == len(page.locator("#report").input_value())


def test_where_am_i_says_how_far_and_which_way_the_next_stop_is(opened: Opener, html: str) -> None:
    page = opened(html, geolocation=HERE, permissions=["geolocation"])
    page.locator("#map [data-where]").click()
    page.locator("#place-said", has_text="You are at").wait_for()
    said = page.locator("#place-said").inner_text()
    assert "You are at 52.63000, -2.90000, give or take 12 m." in said
    assert page.locator("#here").inner_text().startswith("52.63000, -2.90000 (give or take 12 m")
    # Against the geodesic of WGS 84 by PROJ: half a per cent for the sphere, and a degree.
    azimuth, _, metres = pyproj.Geod(ellps="WGS84").inv(HERE["longitude"], HERE["latitude"], -2.93, 52.71)
    found = re.search(r"Next stop A1 Mill Bank: ([\d.]+) miles to the north, bearing (\d{3})°", said)
    assert found is not None
    assert float(found[1]) == pytest.approx(metres / 1609.344, rel=0.005, abs=0.05)
    assert int(found[2]) == pytest.approx(azimuth % 360, abs=1)
    assert page.locator("path.here").count() == 1
    page.locator("#map [data-where]").click()
    page.wait_for_timeout(100)
    assert page.locator("path.here").count() == 1


@pytest.mark.parametrize(
    ("before", "words"),
    [
        ("Object.defineProperty(navigator, 'geolocation', {value: undefined})", "gives no position"),
        *(
            (f"navigator.geolocation.getCurrentPosition = (_, no) => no({{code: {code}}})", words)
            for code, words in ((1, "does not give its position"), (2, "does not know"), (3, "within 30 seconds"))
        ),
    ],
)
def test_where_there_is_no_position_it_says_why(opened: Opener, html: str, before: str, words: str) -> None:
    page = opened(html, before=before)
    page.locator("#map [data-where]").click()
    assert words in page.locator("#place-said").inner_text()


def test_from_a_file_the_background_asks_no_one_and_says_why(opened: Opener, html: str) -> None:
    page = opened(html)
    page.locator("#background").click()
    assert "opened from a file" in page.locator("#background-said").inner_text()
    assert page.locator("#background").get_attribute("aria-pressed") == "false"
    assert page.locator(".map img").count() == 0


def test_from_a_file_the_policy_forbids_the_picture_host_too(browser: Browser, html: str, tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text(html, encoding="utf-8")
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.goto((tmp_path / "page.html").as_uri())
    blocked = page.evaluate(
        """address => new Promise(resolve => {
          document.addEventListener("securitypolicyviolation", event => resolve(event.effectiveDirective));
          new Image().src = address; setTimeout(() => resolve("asked"), 1000); })""",
        OPENSTREETMAP.url.format(z=1, x=1, y=1),
    )
    context.close()
    assert blocked == "img-src"


@pytest.fixture
def served(browser: Browser) -> Iterator["Served"]:
    served = Served(browser.new_context(viewport={"width": 1280, "height": 800}))
    yield served
    served.context.close()


class Served:
    """A page as a web server would send it, with every request noted and pictures answered or refused."""

    def __init__(self, context: BrowserContext) -> None:
        self.context = context
        self.asked: list[str] = []
        self.referrers: set[str | None] = set()

    def __call__(self, html: str, picture: bytes | None) -> Page:
        page = self.context.new_page()

        def answer(route: Route) -> None:
            url = route.request.url
            self.asked.append(url)
            if url == "https://farm.example/":
                route.fulfill(body=html, content_type="text/html")
            elif picture is None:
                route.abort()
            else:
                self.referrers.add(route.request.headers.get("referer"))
                route.fulfill(body=picture, content_type="image/png")

        page.route("**/*", answer)
        page.goto("https://farm.example/")
        page.wait_for_timeout(150)
        return page


def one_pixel() -> bytes:
    """Return a grey PNG of one pixel. Source: W3C Portable Network Graphics: signature, IHDR, IDAT, IEND."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return len(body).to_bytes(4) + kind + body + zlib.crc32(kind + body).to_bytes(4)

    head = (1).to_bytes(4) + (1).to_bytes(4) + bytes([8, 0, 0, 0, 0])
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\x88")) + chunk(b"IEND", b"")


def test_from_a_web_server_pictures_come_only_when_asked_for(served: Served, html: str) -> None:
    page = served(html, one_pixel())
    assert served.asked == ["https://farm.example/"]
    page.locator("#background").click()
    page.locator(".map img").first.wait_for()
    page.wait_for_timeout(300)
    assert len(served.asked) > 1
    assert all(url.startswith(f"{OPENSTREETMAP.host}/") for url in served.asked[1:])
    assert served.referrers == {"https://farm.example/"}
    assert page.get_by_text("© OpenStreetMap contributors").is_visible()
    assert page.locator("#background").get_attribute("aria-pressed") == "true"
    page.locator("#background").click()
    assert page.locator(".map img").count() == 0
    assert not page.get_by_text("© OpenStreetMap contributors").is_visible()


def test_a_background_that_fails_says_so_and_goes_away(served: Served, html: str) -> None:
    page = served(html, None)
    page.locator("#background").click()
    page.locator("#background-said", has_text="cannot be reached").wait_for()
    assert page.locator(".map img").count() == 0
    assert page.locator(".map .pin").count() == 4
    assert page.locator("#background").get_attribute("aria-pressed") == "false"


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("text", [HOSTILE, "W" * 10_000])
def test_hostile_text_in_every_field_is_inert(opened: Opener, width: int, text: str) -> None:
    private = {"mill bank": SitePrivate(text, text, text)}
    page = opened(helper_page(numbered(hostile_round(text)), 0, private), width)
    page.locator("#stop-A1 textarea").fill(text)
    page.locator("#stop-A1 [data-show]").click()
    page.locator(".leaflet-popup-content").wait_for()
    assert page.evaluate("typeof window.hurt") == "undefined"
    assert no_sideways_scroll(page)
    assert page.locator("img, iframe").count() == 0
    assert len(report(page).left) == 5
    if text == HOSTILE:
        assert SEEN in page.locator("#stop-A1").inner_text()


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("scheme", SCHEMES)
def test_axe_finds_nothing(opened: Opener, width: int, scheme: Literal["light", "dark"]) -> None:
    """Every rule that axe-core has on by default, WCAG 2.2 AA among them; with ticks, filter and a popup in use too.

    In the dark, where colours alone are others (no script and no size asks for it), every rule of colours.
    """
    page = opened(helper_page(ROUND, 0, PRIVATE), width, color_scheme=scheme)
    rules = COLOURS if scheme == "dark" else ()
    assert violations(page, rules=rules) == {}
    page.locator("#stop-A1 [data-job]").check()
    page.locator("#stop-A3 [data-show]").click()
    page.locator(".leaflet-popup-content").wait_for()
    page.locator("#background").click()
    page.locator("details").first.evaluate("element => element.open = true")
    expect(page.locator(".leaflet-popup")).to_have_css("opacity", "1")  # it fades in, pale at first
    assert violations(page, rules=rules) == {}
    page.locator("#stop-A2 label.note").evaluate("label => label.replaceWith(...label.querySelectorAll('textarea'))")
    page.locator("#stop-A3").evaluate(
        "(stop, pale) => { for (const each of stop.querySelectorAll('*')) each.style.color = pale; }", PALE[scheme]
    )
    bites = {"color-contrast"} if rules else {"color-contrast", "label"}
    assert violations(page, rules=rules).keys() >= bites  # axe does bite


@pytest.mark.parametrize("scheme", SCHEMES)
def test_text_stands_out_in_bright_sun(opened: Opener, html: str, scheme: Literal["light", "dark"]) -> None:
    """At least 7 to 1. Source: WCAG 2.2, success criterion 1.4.6, enhanced contrast."""
    page = opened(html, 360, color_scheme=scheme)
    page.locator("#stop-A1 [data-job]").check()
    for selector in ("body", ".soft", ".mark", ".button", ".urgent", ".bar a", "a.call", ".when", ".state", "dt"):
        assert contrast(page, selector) >= 7, selector


def test_every_target_is_big_enough_for_a_glove(opened: Opener, html: str) -> None:
    """44 by 44 CSS pixels. Source: WCAG 2.2, success criterion 2.5.5, target size (enhanced)."""
    page = opened(html, 360)
    page.locator("#stop-A1 [data-show]").click()
    page.locator(".leaflet-popup-content").wait_for()
    targets = page.locator(
        "a:visible:not(.skip), button:visible, summary:visible, label:visible, .map [role=button]:visible"
    ).all()
    assert len(targets) > 40
    for target in targets:
        box = target.bounding_box()
        assert box is not None
        assert box["height"] >= 44, target.evaluate("element => element.outerHTML")
        assert box["width"] >= 44, target.evaluate("element => element.outerHTML")


def test_the_keyboard_reaches_the_stops_first_and_every_control_after(opened: Opener, html: str) -> None:
    page = opened(html)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Go to the stops"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "all-stops"
    page.keyboard.press("ArrowRight")
    assert page.locator("#only-left").is_checked()
    seen = set()
    for _ in range(120):
        page.keyboard.press("Tab")
        seen.add(page.evaluate("document.activeElement.outerHTML.slice(0, 90)"))
    for part in (
        'data-job="4"',
        'href="geo:52.71,-2.93"',
        'id="copy"',
        'id="forget"',
        'href="tel:999"',
        "leaflet-marker",
    ):
        assert any(part in element for element in seen), part


def test_without_scripts_everything_can_still_be_read(opened: Opener, html: str) -> None:
    page = opened(html, 360, java_script_enabled=False)
    assert page.get_by_text("This page may not run its script here").is_visible()
    for name in NAMES:
        assert page.locator("h3").get_by_text(name, exact=True).is_visible()
    assert not page.locator("#did, #filter").first.is_visible()
    assert page.get_by_text("Call 999", exact=True).is_visible()


@pytest.mark.parametrize("width", [360, 1280])
def test_it_prints_on_a4_with_the_map_as_lines_and_no_row_cut(
    opened: Opener, html: str, tmp_path: Path, width: int
) -> None:
    page = opened(html, width)
    page.locator("#stop-A1 [data-job]").check()
    page.locator("#only-left").check()
    page.pdf(path=tmp_path / "print.pdf", prefer_css_page_size=True)
    content = (tmp_path / "print.pdf").read_bytes()
    # A4 is 210 mm by 297 mm, 595 by 842 points. Source: ISO 216. An image would be an XObject. Source: ISO 32000-1, 8.9.
    assert b"/MediaBox [0 0 594.95996 841.91998]" in content or b"/MediaBox [0 0 595" in content
    assert not re.search(rb"/Subtype\s*/Image", content)
    page.emulate_media(media="print")
    for selector in (".stop", ".places li", ".drawing", ".tick"):
        assert page.locator(selector).first.evaluate("element => getComputedStyle(element).breakInside") == "avoid"
    assert page.locator("#stop-A1").is_visible()  # paper holds the whole day, whatever the filter says
    for selector in (".bar", "#filter", ".actions", "#did", "#forget"):
        assert not page.locator(selector).first.is_visible()
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    box = page.locator(".drawing").bounding_box()
    assert box is not None
    assert box["width"] == pytest.approx(90 / 25.4 * 96, abs=1)  # CSS: 96 pixels an inch
    for pin in page.locator(".map .pin").all():
        at = pin.bounding_box()
        assert at is not None
        assert box["x"] <= at["x"]
        assert at["x"] + at["width"] <= box["x"] + box["width"]
        assert box["y"] <= at["y"]
        assert at["y"] + at["height"] <= box["y"] + box["height"]


def test_some_of_the_hives_are_told_by_their_number(opened: Opener, html: str) -> None:
    """3 of 8 hives are a part, kept over a reload; all 8 are a tick; and a tick or none takes the number away again."""
    page = opened(html, 360)
    card = page.locator("#stop-A2")
    job = next(job for job in ROUND.itineraries[0].stops[1].jobs if job.hives > 3)
    part = card.get_by_label(f"Hives done, if not all {job.hives}: {job.name}")
    part.fill("3")
    assert page.locator("#count").inner_text() == "0 of 5 jobs done"
    (told,) = report(page).parts
    assert (told[1].id, told[1].kind, told[1].hives, told[1].of_hives) == (job.id, job.kind, 3, job.hives)
    page.reload()
    assert part.input_value() == "3"
    part.fill(str(job.hives))
    assert page.locator("#count").inner_text() == "1 of 5 jobs done"
    assert [(one.id, one.hives) for _, one in report(page).done] == [(job.id, job.hives)]
    part.fill("0")
    assert report(page).done == report(page).parts == ()
    part.fill("2")
    card.locator("[data-job]:not(:checked)").first.check()
    assert len(report(page).done) == 1
    page.locator("#forget").click()
    page.locator("#forget").click()
    assert report(page).done == report(page).parts == ()


def test_a_heft_is_told_with_its_kilograms(opened: Opener) -> None:
    """The page asks for them where hives are hefted; without a tick they are not told."""
    first = ROUND.itineraries[0]
    heft = first.stops[0].jobs[0].model_copy(update={"kind": "heft", "name": "Heft and check stores"})
    stops = (first.stops[0].model_copy(update={"jobs": (heft,)}), *first.stops[1:])
    crews = (first.model_copy(update={"stops": stops}), *ROUND.itineraries[1:])
    page = opened(helper_page(ROUND.model_copy(update={"itineraries": crews}), 0))
    page.get_by_label("Stores of an average colony, kg: Heft and check stores").fill("11.5")
    assert [job.stores_kg for _, job in report(page).left if job.id == heft.id] == [None]
    page.locator("#stop-A1 [data-job]").check()
    assert [job.stores_kg for _, job in report(page).done] == [11.5]


def test_a_feed_of_another_size_is_told_for_the_hives_that_got_it(opened: Opener) -> None:
    """2 kg a hive at 3 hives are 6 kg, at all of them as many times 2; kept over a reload; no number, no amount told."""
    first = ROUND.itineraries[0]
    job = first.stops[0].jobs[0].model_copy(update={"kind": "fondant", "name": "Feed fondant", "hives": 12})
    stops = (first.stops[0].model_copy(update={"jobs": (job,)}), *first.stops[1:])
    crews = (first.model_copy(update={"stops": stops}), *ROUND.itineraries[1:])
    page = opened(helper_page(ROUND.model_copy(update={"itineraries": crews}), 0), 360)
    card = page.locator("#stop-A1")
    given = card.get_by_label(f"Fondant given to each hive, kg, if not as planned: {job.name}")
    given.fill("2")
    assert all(one.used == {} for _, one in report(page).left)
    card.get_by_label(f"Hives done, if not all {job.hives}: {job.name}").fill("3")
    page.reload()
    assert given.input_value() == "2"
    assert [(one.hives, one.used) for _, one in report(page).parts] == [(3, {"fondant": 6.0})]
    card.locator("[data-job]").first.check()
    assert {"fondant": 2.0 * job.hives} in [one.used for _, one in report(page).done]
    given.fill("")
    assert all(one.used == {} for _, one in report(page).done)
