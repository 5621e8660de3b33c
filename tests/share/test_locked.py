"""The locked page opens with its passphrase by an independent reading, and tells nothing without it."""

import base64
import hashlib
import json
import re
import zlib

import pytest
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from routing.errors import AskedError
from routing.round import Round
from routing.share.map.map import round_map
from routing.share.pages.locked import ROUNDS, lock_page
from routing.share.pages.page import round_page
from routing.share.safety.passphrase import sound_passphrase
from tests.share.hostile import TEXTS, rounds
from tests.share.html_reader import Page
from tests.share.sample import sample_round

pytestmark = pytest.mark.usefixtures("few_key_rounds")

PASSPHRASE = "heather lorry ninety spoon"  # noqa: S105 -- opens test pages only


def parts(locked: str) -> dict[str, str]:
    found = re.search(r'id="locked">(.*?)</script>', locked)
    assert found
    values: dict[str, str] = json.loads(found[1])
    return values


def unlocked(locked: str, passphrase: str) -> str:
    """Open a locked page with the standard library's PBKDF2, another one than the page was locked with."""
    values = parts(locked)
    salt, nonce, content = (base64.b64decode(values[name]) for name in ("salt", "nonce", "content"))
    key = hashlib.pbkdf2_hmac("sha256", passphrase.encode(), salt, int(values["rounds"]), 32)
    inside = AESGCM(key).decrypt(nonce, content, None)
    length = int.from_bytes(inside[:4], "big")
    assert not inside[4 + length :].strip(b"\0")
    return zlib.decompress(inside[4 : 4 + length]).decode()


def without_marks(html: str) -> str:
    return re.sub(r' nonce="[-\w]{24}"', "", html)


@pytest.mark.parametrize("html", [round_page(sample_round()), round_map(sample_round())])
def test_the_passphrase_brings_the_page_back_unchanged_but_for_the_marks(html: str) -> None:
    inside = unlocked(lock_page(html, PASSPHRASE), PASSPHRASE)
    assert without_marks(inside) == html
    assert inside.count(' nonce="') == len(re.findall(r"<(?:style|script)>", html))


def test_another_passphrase_does_not_open_it() -> None:
    with pytest.raises(InvalidTag):
        unlocked(lock_page("<p>inside</p>", PASSPHRASE), PASSPHRASE + "s")


def test_a_changed_byte_is_noticed() -> None:
    locked = lock_page("<p>inside</p>", PASSPHRASE)
    content = parts(locked)["content"]
    changed = locked.replace(content, ("B" if content[0] == "A" else "A") + content[1:])
    with pytest.raises(InvalidTag):
        unlocked(changed, PASSPHRASE)


def test_the_work_factor_is_the_published_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Source: OWASP Password Storage Cheat Sheet: PBKDF2-HMAC-SHA-256 with 600,000 or more."""
    assert ROUNDS >= 600_000
    monkeypatch.setattr("routing.share.pages.locked.ROUNDS", ROUNDS)  # as it was before the other tests' fewer
    assert int(parts(lock_page("x", PASSPHRASE))["rounds"]) == ROUNDS


def secrets_of(round_: Round) -> set[str]:
    """Return every name, and every position in the forms in which one is usually written."""
    names = {round_.farm, round_.base_name}
    places = {(round_.base_latitude, round_.base_longitude)}
    for day in round_.itineraries:
        names |= {day.crew_name, day.vehicle_name}
    stops = [stop for day in round_.itineraries for stop in day.stops]
    sites = [*((stop.name, stop.jobs, stop.latitude, stop.longitude) for stop in stops)]
    sites += ((left.name, left.jobs, left.latitude, left.longitude) for left in round_.left_out)
    for name, jobs, latitude, longitude in sites:
        names |= {name, name.lower(), name.replace(" ", "-").lower(), *(job.name for job in jobs)}
        places.add((latitude, longitude))
    forms = {
        form
        for place in places
        for value in place
        for form in (
            f"{abs(value):.2f}",
            f"{abs(value):.5f}",
            f"{abs(value):.6f}",
            f"{int(abs(value))}°",
            degrees(value),
        )
    }
    return names | {form for form in forms if form} | {"SO4", "SJ3", "2024", "18 December", "Wednesday"}


def degrees(value: float) -> str:
    whole, rest = divmod(round(abs(value) * 3600), 3600)
    return f"{whole}°{rest // 60:02}'{rest % 60:02}"


def test_no_secret_byte_is_in_the_locked_file() -> None:
    """Searched as text, and in the base64 and hexadecimal of it at every alignment; the inside holds most of them."""
    round_ = sample_round()
    html = round_map(round_) + round_page(round_)
    locked = lock_page(html, PASSPHRASE)
    open_part = locked.replace(parts(locked)["content"], "").encode()
    raw = base64.b64decode(parts(locked)["content"])
    held = 0
    for secret in secrets_of(round_) | {PASSPHRASE}:
        assert secret.encode() not in open_part
        assert secret.encode().hex().encode() not in open_part
        for shift in range(3):
            coded = base64.b64encode(b"\0" * shift + secret.encode())[4 if shift else 0 :].rstrip(b"=")[:-1]
            assert len(coded) < 6 or coded not in locked.encode()
        if len(secret) >= 6:  # shorter ones come up by chance in so many random bytes
            assert secret.encode() not in raw
        held += secret in html
    assert held > 20


def test_the_open_part_is_the_same_for_any_farm() -> None:
    """But for the fresh marks, salt, nonce and content: so it cannot tell of one."""

    def open_part(html: str) -> str:
        locked = lock_page(html, PASSPHRASE)
        for value in sorted(
            map(str, parts(locked).values()), key=len, reverse=True
        ):  # a short one may lie in a long one
            locked = locked.replace(value, "")
        return re.sub(r"nonce(=\"|-)[-\w]{24}", "", locked)

    other = sample_round(farm="Other Bees", base_name="Elsewhere", itineraries=(), left_out=())
    assert open_part(round_page(sample_round())) == open_part(round_page(other)) == open_part("x")


def test_sizes_come_in_classes() -> None:
    """Pages of 1 byte and of thousands are as long as each other; what cannot be packed doubles the class."""
    noise = "".join(hashlib.sha256(str(number).encode()).hexdigest() for number in range(2_000))  # packs to about half
    sizes = [len(parts(lock_page(html, PASSPHRASE))["content"]) for html in ("", round_page(sample_round()), noise)]
    assert [size * 3 // 4 // 65_536 for size in sizes] == [1, 1, 2]
    assert sizes[0] == sizes[1]


def test_every_locking_is_fresh() -> None:
    first, second = (parts(lock_page("x", PASSPHRASE)) for _ in range(2))
    assert all(first[name] != second[name] for name in ("salt", "nonce", "content"))
    assert len(base64.b64decode(first["salt"])) == 16
    assert len(base64.b64decode(first["nonce"])) == 12


def policy_of(locked: str) -> str:
    found = re.search(r'Content-Security-Policy" content="([^"]*)"', locked)
    assert found
    return found[1].replace("&#39;", "'")


def test_the_policy_lets_in_nothing_from_outside() -> None:
    policy = policy_of(lock_page(round_map(sample_round()), PASSPHRASE))
    assert re.fullmatch(
        r"default-src 'none'; script-src 'nonce-[-\w]{24}'; style-src 'nonce-[-\w]{24}'; worker-src blob:; "
        r"img-src data: blob:; "
        r"base-uri 'none'; form-action 'none'",
        policy,
    )


def test_pictures_from_hosts_are_let_in_only_for_a_page_that_asks_and_without_naming_them() -> None:
    html = '<meta http-equiv="Content-Security-Policy" content="img-src data: https://tiles.example"><p>x</p>'
    policy = policy_of(lock_page(html, PASSPHRASE))
    assert "img-src data: blob: https:;" in policy
    assert "tiles.example" not in policy


def test_it_says_that_a_forgotten_passphrase_is_lost_and_has_a_name_for_every_control() -> None:
    page = Page(lock_page("x", PASSPHRASE))
    assert "A forgotten passphrase cannot be recovered by anyone" in page.text
    assert "<title>Locked page</title>" in lock_page("x", PASSPHRASE)


def test_marks_go_on_real_script_and_style_elements_only() -> None:
    html = (
        '<!-- <script>no</script> --><title><style></title><p title="<script>">&lt;script&gt;</p>\n\n'
        "<style>a::after { content: '<script>' }</style><SCRIPT type=module>let a = '<style>';</SCRIPT>"
    )
    inside = unlocked(lock_page(html, PASSPHRASE), PASSPHRASE)
    assert without_marks(inside) == html
    assert re.findall(r'<\w+ nonce="', inside) == ['<style nonce="', '<SCRIPT nonce="']


@pytest.mark.parametrize(("name", "round_", "seen"), rounds()[:3])
def test_hostile_text_comes_back_as_it_was(name: str, round_: Round, seen: str) -> None:
    html = round_page(round_)
    locked = lock_page(html, PASSPHRASE)
    assert without_marks(unlocked(locked, PASSPHRASE)) == html
    assert seen in unlocked(locked, PASSPHRASE).replace("&lt;", "<").replace("&gt;", ">").replace("&#39;", "'")
    assert TEXTS[name][0] not in locked


def test_what_keyboards_do_to_a_passphrase_does_not_matter() -> None:
    """Spaces at the ends or doubled, and letters with accents in one piece or two. Source: Unicode Annex 15, NFKC."""
    assert (
        sound_passphrase("  bláth  an\tearraigh ")
        == sound_passphrase("bla\u0301th an\u00a0earraigh")
        == "bláth an earraigh"
    )


def test_a_page_is_not_locked_with_a_passphrase_that_protects_nothing() -> None:
    with pytest.raises(AskedError, match="too weak"):
        lock_page("x", "password1")
