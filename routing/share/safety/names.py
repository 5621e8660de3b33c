"""Finds names in other texts, in whatever form somebody wrote them down: case, spacing, hyphens, accents, joined up.

Two names are the same here where the same letters and digits are left of them. What stands between these (spaces,
hyphens, dots, apostrophes, invisible characters, `%20` of a link) is passed over, letters are compared without case and
accents, and `&` is `and`. A plural or possessive ending goes with the name.

Where one name ends and the next word begins is told by the letters beside it, so that `Oak` is not found in `cloak`. A
name of `LONG` letters or more is found inside longer words too (`millbankgate`), and so are names in scripts without
capital letters, which are often written with no space around them.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

LONG = 8
"""Letters of a name that is looked for inside longer words as well; our own choice, no source."""

SHORT = 3
"""Letters below which a name is like too many words to be looked for in other forms; our own choice, no source."""

MOST_BETWEEN = 6
"""Characters that may stand between two letters of a name; more is something else in between. Our own choice."""

_APART = {"\u00f8": "o", "\u0111": "d", "\u0142": "l", "\u00e6": "ae", "\u0153": "oe", "\u0131": "i", "\u00fe": "th"}
_APART |= {"\u00f0": "d", "&": "and"}
"""Letters that Unicode does not take apart, in the spelling without them."""

_SPELLED = (("a\u0308", "ae"), ("o\u0308", "oe"), ("u\u0308", "ue"), ("a\u030a", "aa"))
"""Letters with marks, taken apart, and how they are written where the marks cannot be typed."""

_CODED = re.compile(r"%[0-9A-Fa-f]{2}")
_ENDING = re.compile(r"['\u2019\u02bc]?(?:es|s)(?![^\W\d_])['\u2019\u02bc]?|['\u2019\u02bc](?![^\W_])", re.IGNORECASE)
_SPACE = re.compile(r"\s+")


@dataclass(frozen=True)
class _Squashed:
    """A text's letters and digits alone, folded, and where each stands in the text, first and past the last."""

    letters: str
    begins: tuple[int, ...]
    ends: tuple[int, ...]


def squashed(text: str) -> str:
    """Return the letters and digits of a text, without case and accents: what two forms of one name share."""
    return _squash(text).letters


@dataclass(frozen=True)
class Finder:
    """Names by their letters alone, and what each is called instead."""

    calls: Mapping[str, str]
    literal: Mapping[str, str]
    """Names without a letter or digit: found only as they are written."""
    lengths: tuple[int, ...]
    written: Mapping[str, tuple[str, ...]]
    """The names as they are written, by their letters."""
    exact: Mapping[str, str]
    """What names are called by the names as they are written: goes before the letters where two names share them."""
    starts: frozenset[str]
    """The first two letters of each name: most places in a text begin none."""

    @classmethod
    def of(cls, called: Sequence[tuple[str, str]]) -> Finder:
        """Return a finder of names; of two names with the same letters the first one counts."""
        calls: dict[str, str] = {}
        literal: dict[str, str] = {}
        written: dict[str, list[str]] = {}
        for name, instead in called:
            for form in spellings(name):
                calls.setdefault(form, instead)
                written.setdefault(form, []).append(name.strip())
            if not squashed(name) and name.strip():
                literal.setdefault(name.strip(), instead)
        lengths = tuple(sorted({len(form) for form in calls}, reverse=True))
        starts = frozenset(form[:2] for form in calls)
        exact: dict[str, str] = {}
        for name, instead in called:
            exact.setdefault(inner(name), instead)
        return cls(calls, literal, lengths, {form: tuple(names) for form, names in written.items()}, exact, starts)

    def calling(self, instead: str) -> Finder:
        """Return a finder of the same names that calls all of them one word."""
        calls, literal, exact = (dict.fromkeys(names, instead) for names in (self.calls, self.literal, self.exact))
        return replace(self, calls=calls, literal=literal, exact=exact)

    def holds(self, text: str) -> bool:
        """Return whether any of the names stands in the text."""
        return next(self._found(text), None) is not None or any(name in text for name in self.literal)

    def hide(self, text: str, fits: Callable[[str, str], bool] = lambda _found, _form: True) -> str:
        """Return the text with what each name is called in its place, the longest names first.

        `fits` says of a piece of the text with its ending, and of the letters of the name, whether it is replaced.
        """
        parts: list[str] = []
        done = 0
        for begin, end, form in self._found(text):
            first, past = self._as_written(text, begin, end, form)
            past = _past_ending(text, past)
            if begin >= done and fits(text[begin:past], form):
                parts += (text[done : max(done, first)], self.exact.get(text[begin:end], self.calls[form]))
                done = past
        hidden = "".join((*parts, text[done:]))
        for name, instead in self.literal.items():
            hidden = hidden.replace(name, instead)
        return hidden

    def _found(self, text: str) -> Iterator[tuple[int, int, str]]:
        """Yield where each name begins and ends in the text, and its letters, the longest first at each place."""
        held = _squash(text)
        for at in range(len(held.letters)):
            if not self.starts & {held.letters[at : at + 1], held.letters[at : at + 2]}:
                continue
            for length in self.lengths:
                form = held.letters[at : at + length]
                if len(form) == length and form in self.calls and _whole(text, held, at, at + length):
                    begin, end = held.begins[at], held.ends[at + length - 1]
                    if self._likely(text[begin:end], form):
                        yield begin, end, form

    def _likely(self, piece: str, form: str) -> bool:
        """Return whether a piece of a text with the letters of a name means the name, and no words of its own."""
        if len(form) < SHORT or form.isdigit():
            return any(piece == inner(name) for name in self.written[form])
        parts = _SPACE.split(piece)
        if len(parts) == 1 or any(_SPACE.search(name) or not name.isalnum() for name in self.written[form]):
            return True
        capitals = all(not part[:1].islower() for part in parts)
        return capitals or (len(form) >= LONG and min(map(len, parts)) >= SHORT) or max(map(len, parts)) == 1

    def _as_written(self, text: str, begin: int, end: int, form: str) -> tuple[int, int]:
        """Return where the name stands with the signs that it begins and ends with: `Mill (top)`."""
        for name in self.written[form]:
            core = inner(name)
            before, after = name.split(core, 1) if core else ("", "")
            if text.endswith(before, 0, begin) and text.startswith(after, end) and (before or after):
                return begin - len(before), end + len(after)
        return begin, end


def inner(name: str) -> str:
    """Return a name without the signs that it begins and ends with."""
    held = _squash(name)
    return name[held.begins[0] : held.ends[-1]] if held.letters else ""


def spellings(name: str) -> tuple[str, ...]:
    """Return the letters of a name as it is written, and as it is written where marks on letters cannot be typed."""
    apart = unicodedata.normalize("NFD", name.casefold())
    spelled = apart
    for marked, plain in _SPELLED:
        spelled = spelled.replace(marked, plain)
    bare = squashed(name)
    for marked, plain in _SPELLED:
        bare = bare if squashed(spelled) != squashed(name) else bare.replace(plain, marked[0])
    return tuple(form for form in dict.fromkeys((squashed(name), squashed(spelled), bare)) if form)


def _squash(text: str) -> _Squashed:
    letters: list[str] = []
    begins: list[int] = []
    ends: list[int] = []
    coded = {place for found in _CODED.finditer(text) for place in range(*found.span())} if "%" in text else ()
    for place, letter in enumerate(text):
        if place in coded:
            continue
        for part in _folded(letter):
            letters.append(part)
            begins.append(place)
            ends.append(place + 1)
    return _Squashed("".join(letters), tuple(begins), tuple(ends))


def _folded(letter: str) -> str:
    """Return the letters and digits of one character, without case, marks and widths; none for all that separates."""
    if letter.isascii():
        return letter.lower() if letter.isalnum() else _APART.get(letter, "")
    apart = unicodedata.normalize("NFKD", letter.casefold())
    return "".join(_APART.get(part, part) for part in apart if part.isalnum() or part in _APART)


def _whole(text: str, held: _Squashed, first: int, past: int) -> bool:
    """Return whether the letters from `first` to before `past` are a name by themselves, with little in between."""
    begin, end = held.begins[first], held.ends[past - 1]
    between = zip(held.ends[first:past], held.begins[first + 1 : past], strict=False)
    if any(later - earlier > MOST_BETWEEN for earlier, later in between):
        return False
    if past - first >= LONG and not text[begin:end].isdigit():
        return True
    after = _past_ending(text, end)
    return _apart(text, begin - 1, begin) and (_apart(text, end - 1, end) or (after > end and _ends_at(text, after)))


def _ends_at(text: str, place: int) -> bool:
    return place >= len(text) or _apart(text, place - 1, place)


def _apart(text: str, left: int, right: int) -> bool:
    """Return whether two characters beside each other belong to two words."""
    if left < 0 or right >= len(text):
        return True
    one, other = text[left], text[right]
    if not one.isalnum() or not other.isalnum():
        return not (unicodedata.combining(other) and one.isalnum() and _after_marks(text, right))
    if one.isdigit() != other.isdigit():
        return True
    if not one.isdigit() and (one.lower() == one.upper() or other.lower() == other.upper()):
        return True  # a script without capital letters
    return one.islower() and other.isupper()


def _after_marks(text: str, place: int) -> bool:
    """Return whether a letter goes on after the marks that begin at `place`."""
    while place < len(text) and unicodedata.combining(text[place]):
        place += 1
    return place < len(text) and text[place].isalpha()


def _past_ending(text: str, end: int) -> int:
    """Return the place past a plural or possessive ending, or `end` where there is none."""
    while end < len(text) and unicodedata.combining(text[end]):
        end += 1
    found = _ENDING.match(text, end)
    return found.end() if found else end
