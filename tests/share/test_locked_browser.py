"""The locked page in a real browser, from disk and with no network: wrong passphrase, right one, and the page inside."""

import base64
import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page, expect

from routing.share.map.map import round_map
from routing.share.pages.inline import content_policy
from routing.share.pages.locked import lock_page
from tests.share.browser import CHROMIUM, Opener, luminance, no_sideways_scroll
from tests.share.sample import hostile_round, sample_round

PASSPHRASE = "heather lorry ninety spoon"  # noqa: S105 -- opens test pages only
REFUSED = "Content Security Policy"

pytestmark = [
    pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer"),
    pytest.mark.usefixtures("few_key_rounds"),
]


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Opener]:
    opener = Opener(browser, tmp_path)
    yield opener
    opener.close()


def unlock(page: Page, passphrase: str) -> None:
    page.get_by_label("Passphrase").fill(passphrase)
    page.get_by_role("button", name="Unlock").click()


def ticking_page() -> str:
    """Return a page as a helper might get: ticks kept on the device, a link to `geo:`, a script that fails loudly."""
    style = "@media print { .screen { display: none } } .tick { color: rgb(1, 2, 3) }"
    script = """
const box = document.getElementById("done");
const secret = 1, find = 2, say = 3, bytes = 4;
box.checked = localStorage.getItem("done") === "yes";
box.addEventListener("change", () => localStorage.setItem("done", box.checked ? "yes" : "no"));
window.addEventListener("load", () => { document.title += " ready"; });
window.addEventListener("beforeprint", () => { document.body.dataset.printed = "yes"; });
"""
    return (
        '<!DOCTYPE html><html lang="en-GB"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{content_policy([style], [script])}">'
        f"<title>Inside</title><style>{style}</style></head><body><h1 class=tick>Drover's Mill \U0001f41d</h1>"
        '<label><input id="done" type="checkbox"> Fed</label><a href="geo:52.22,-2.91">Drive there</a>'
        f"<script>{script}</script><script>window.hurt = 1</script></body></html>"
    )


def test_a_wrong_passphrase_says_so_and_the_right_one_opens_the_map(opened: Opener) -> None:
    page = opened(lock_page(round_map(sample_round()), PASSPHRASE), 360)
    assert page.title() == "Locked page"
    unlock(page, "heather lorry ninety fork")
    page.get_by_text("That is not the passphrase of this file").wait_for()
    assert page.get_by_role("button", name="Unlock").is_enabled()
    assert page.locator(".map").count() == 0
    unlock(page, f"  {PASSPHRASE.replace(' ', '  ')} ")
    page.locator(".map .pin").first.wait_for()
    assert page.locator(".map .pin", has_text="A3").count() == 1
    assert "Harebell Bees" in page.title()
    page.locator('.map [title*="Hollow Farm"]').focus()
    page.keyboard.press("Enter")
    page.locator(".leaflet-popup-content").wait_for()
    assert opened.troubles == []


def test_inside_scripts_ticks_and_printing_work_and_both_policies_hold(opened: Opener, tmp_path: Path) -> None:
    page = opened(lock_page(ticking_page(), PASSPHRASE), 360)
    unlock(page, PASSPHRASE)
    page.get_by_label("Fed").check()
    expect(page).to_have_title("Inside ready")
    assert page.get_by_text("Drover's Mill \U0001f41d").is_visible()
    assert page.locator(".tick").evaluate("element => getComputedStyle(element).color") == "rgb(1, 2, 3)"
    page.pdf(path=tmp_path / "print.pdf")
    assert (tmp_path / "print.pdf").read_bytes().startswith(b"%PDF-")
    assert page.locator("body").get_attribute("data-printed") == "yes"
    assert page.evaluate("typeof window.hurt") == "undefined"
    assert len(opened.troubles) == 1  # the one script that the inner policy does not know
    assert REFUSED in opened.troubles[0]
    page.reload()
    assert page.title() == "Locked page"
    unlock(page, PASSPHRASE)
    expect(page).to_have_title("Inside ready")
    assert page.get_by_label("Fed").is_checked()


def test_the_outer_policy_stays_in_force_once_the_page_is_open(opened: Opener) -> None:
    """A script added later, even one that the inner page would allow, has no mark and does not run."""
    page = opened(lock_page("<!DOCTYPE html><title>Inside</title><p id=p>x</p>", PASSPHRASE))
    unlock(page, PASSPHRASE)
    expect(page).to_have_title("Inside")
    page.evaluate("""() => { const late = document.createElement("script"); late.textContent = "window.hurt = 1";
        document.body.append(late); const image = new Image(); image.src = "https://host.example/x.png"; }""")
    page.wait_for_timeout(200)
    assert page.evaluate("typeof window.hurt") == "undefined"
    assert sum(REFUSED in trouble for trouble in opened.troubles) == 2  # the script and the picture


def test_hostile_names_do_not_run_after_unlocking(opened: Opener) -> None:
    page = opened(lock_page(round_map(hostile_round()), PASSPHRASE))
    unlock(page, PASSPHRASE)
    page.locator(".map .pin").first.wait_for()
    assert page.evaluate("typeof window.hurt") == "undefined"
    assert opened.troubles == []


def test_a_damaged_file_says_so(opened: Opener) -> None:
    locked = lock_page("<p>x</p>", PASSPHRASE)
    page = opened(locked.replace('"salt": "', '"salt": "?'))
    unlock(page, PASSPHRASE)
    page.get_by_text("The file is damaged").wait_for()


@pytest.mark.parametrize("missing", ["crypto", "DecompressionStream"])
def test_a_browser_that_cannot_unlock_says_so(browser: Browser, tmp_path: Path, missing: str) -> None:
    (tmp_path / "locked.html").write_text(lock_page("x", PASSPHRASE), encoding="utf-8")
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.add_init_script(f"Object.defineProperty(window, '{missing}', {{ value: undefined }})")
    page.goto((tmp_path / "locked.html").as_uri())
    assert page.get_by_text("This browser cannot unlock a page").is_visible()
    assert page.get_by_role("button", name="Unlock").is_disabled()
    context.close()


def test_it_works_by_keyboard_alone_and_shows_what_is_typed_when_asked(opened: Opener) -> None:
    page = opened(lock_page("<title>Inside</title>", PASSPHRASE), 360)
    page.keyboard.type(PASSPHRASE)  # the field has the focus from the start
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    assert page.get_by_label("Passphrase").get_attribute("type") == "text"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page).to_have_title("Inside")


@pytest.mark.parametrize("width", [360, 1280])
def test_targets_are_large_and_the_text_reads_well(opened: Opener, width: int) -> None:
    """Source: WCAG 2.2, 2.5.5 (44 by 44 CSS pixels), 1.4.6 (7 to 1 for text), 1.4.10 (no sideways scrolling)."""
    page = opened(lock_page("x", PASSPHRASE), width)
    assert no_sideways_scroll(page)
    for target in ("#passphrase", "#open", ".show"):
        box = page.locator(target).bounding_box()
        assert box is not None
        assert box["height"] >= 44
    schemes: tuple[Literal["light", "dark"], ...] = ("light", "dark")
    for scheme in schemes:
        page.emulate_media(color_scheme=scheme)
        for target in ("body", ".soft", "button"):
            ink, paper = page.locator(target).first.evaluate(
                """element => [getComputedStyle(element).color, getComputedStyle(
                  element.matches("button") ? element : document.body).backgroundColor]"""
            )
            light, dark = sorted((luminance(ink), luminance(paper)), reverse=True)
            assert (light + 0.05) / (dark + 0.05) >= 7


def test_the_key_derivation_is_the_same_in_the_browser_and_here(opened: Opener) -> None:
    """Source of PBKDF2: RFC 8018; both sides are held to Python's standard library."""
    page = opened(lock_page("x", PASSPHRASE))
    expected = base64.b64encode(
        hashlib.pbkdf2_hmac("sha256", PASSPHRASE.encode(), b"0123456789abcdef", 1000, 32)
    ).decode()
    found = page.evaluate(
        """async (words) => { const raw = new TextEncoder().encode(words);
          const key = await crypto.subtle.importKey("raw", raw, "PBKDF2", false, ["deriveBits"]);
          const how = { name: "PBKDF2", hash: "SHA-256", salt: new TextEncoder().encode("0123456789abcdef"), iterations: 1000 };
          return btoa(String.fromCharCode(...new Uint8Array(await crypto.subtle.deriveBits(how, key, 256)))); }""",
        PASSPHRASE,
    )
    assert found == expected
