"""From what people write for a place to a point on the earth.

Understood: decimal degrees (52.1, -2.7), degrees and minutes or seconds (52°06'30"N 2°42'00"W), a British grid
reference (SO 512 402) and an Irish one (O 159 346). For a grid reference the place is the centre of its square.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from routing.errors import PlaceError
from routing.farm.faults import quoted
from routing.farm.grid_to_place import grid_place, looks_like_grid
from routing.farm.models import Place

BOTH = 2
"""A latitude and a longitude."""
FORMS = (
    "write decimal degrees (52.1, -2.7), degrees and minutes (52°06'30\"N 2°42'00\"W), "
    "a British grid reference (SO 512 402) or an Irish one (O 159 346)"
)
LONGEST = 100
MOST_LATITUDE, MOST_LONGITUDE = 90.0, 180.0
SIXTY = 60.0
SIGNS = "°'\""
"""The sign after degrees, minutes and seconds, in this order."""
SPELLINGS = str.maketrans(
    {
        **dict.fromkeys("\u00ba\u02da", "°"),
        **dict.fromkeys("\u2032\u2019\u2018\u00b4`", "'"),
        **dict.fromkeys("\u2033\u201d\u201c", '"'),
        "\u2212": "-",
    }
)
"""The many ways of writing degree signs, primes and the minus."""
TOKEN = re.compile(
    r"(?P<number>[0-9]+(?:\.[0-9]+)?)|(?P<sign>[+-])|(?P<letter>[NSEW])|(?P<unit>[°'\"])|(?P<split>[,;/])"
)


@dataclass(frozen=True)
class Token:
    """A number, a plus or minus, a hemisphere letter, a unit sign or a separator."""

    kind: str
    text: str


def parse_place(text: str) -> Place:
    """Return the place that the text names. Raises PlaceError with the reason and the accepted forms.

    A grid reference gives the centre of its square. A comma between two digits is a decimal comma where something else
    parts the two numbers (52,1 -2,7); where it could be either (52,1) the text is refused.
    """
    try:
        return _parsed(text)
    except PlaceError as error:
        raise PlaceError(f"{quoted(text)} is not a place: {error}; {FORMS}") from error


def _parsed(text: str) -> Place:
    if len(text) > LONGEST:
        raise PlaceError("it is too long")
    tidy = " ".join(text.translate(SPELLINGS).replace("''", '"').split()).upper()
    if not tidy:
        raise PlaceError("it is empty")
    if looks_like_grid(tidy):
        return grid_place(tidy)
    if re.search(r"[0-9],[0-9]", tidy) and "." not in tidy:
        return _with_decimal_commas(tidy)
    return _from_tokens(_tokens(tidy))


def _with_decimal_commas(tidy: str) -> Place:
    try:
        return _from_tokens(_tokens(re.sub(r"(?<=[0-9]),(?=[0-9])", ".", tidy)))
    except PlaceError as error:
        raise PlaceError(f"its commas may part numbers or be decimal commas ({error})") from error


def _tokens(tidy: str) -> list[Token]:
    tokens = []
    at = 0
    while at < len(tidy):
        found = TOKEN.match(tidy, at)
        if found:
            tokens.append(Token(str(found.lastgroup), found.group()))
        elif tidy[at] != " ":
            raise PlaceError(f"{quoted(tidy[at])} was not understood")
        at = found.end() if found else at + 1
    return tokens


def _from_tokens(tokens: list[Token]) -> Place:
    letters = "".join(token.text for token in tokens if token.kind == "letter")
    first, second = _halves(tokens, letters)
    if letters and letters[0] in "EW":
        first, second = second, first
    latitude = _angle(first, "NS", lettered=bool(letters))
    longitude = _angle(second, "EW", lettered=bool(letters))
    if abs(latitude) > MOST_LONGITUDE and abs(longitude) > MOST_LONGITUDE:
        raise PlaceError("an easting and northing need the letters of their grid square before them")
    if abs(latitude) > MOST_LATITUDE and abs(longitude) <= MOST_LATITUDE:
        raise PlaceError("the latitude, which stands first, is beyond 90 degrees; are the two swapped?")
    if abs(latitude) > MOST_LATITUDE or abs(longitude) > MOST_LONGITUDE:
        raise PlaceError("latitude ends at 90 degrees and longitude at 180")
    return Place(latitude=latitude, longitude=longitude)


def _halves(tokens: list[Token], letters: str) -> tuple[list[Token], list[Token]]:
    """Part the tokens into two angles: at a separator, else by letters, degree signs, or as two numbers."""
    splits = [index for index, token in enumerate(tokens) if token.kind == "split"]
    if len(splits) == 1:
        return tokens[: splits[0]], tokens[splits[0] + 1 :]
    if splits:
        raise PlaceError("it has more than two parts")
    if letters:
        starts = [index for index, token in enumerate(tokens) if token.kind == "letter"]
        at = starts[-1] if tokens[0].kind == "letter" else starts[0] + 1
    else:
        degrees = [index - 1 for index, token in enumerate(tokens) if token.text == "°"]
        numbers = [index for index, token in enumerate(tokens) if token.kind == "number"]
        starts = degrees or numbers
        if len(starts) != BOTH:
            raise PlaceError("it is not two numbers, a latitude and a longitude")
        at = starts[-1]
        at -= at > 0 and tokens[at - 1].kind == "sign"
    return tokens[:at], tokens[at:]


def _angle(tokens: list[Token], letters: str, *, lettered: bool) -> float:
    """Return signed degrees from one half of the tokens."""
    found = [token.text for token in tokens if token.kind == "letter"]
    if lettered and (len(found) != 1 or found[0] not in letters):
        raise PlaceError("it needs one of N or S and one of E or W")
    if found and tokens[0].kind != "letter" and tokens[-1].kind != "letter":
        raise PlaceError("a letter N, S, E or W stands in the middle of a number")
    rest = [token for token in tokens if token.kind != "letter"]
    negative = bool(rest) and rest[0].text == "-"
    if rest and rest[0].kind == "sign":
        if found:
            raise PlaceError("it has both a sign and a letter N, S, E or W")
        rest = rest[1:]
    degrees = _sexagesimal(rest)
    return -degrees if negative or found in (["S"], ["W"]) else degrees


def _sexagesimal(tokens: list[Token]) -> float:
    """Return degrees from one to three numbers, each with its sign or none, decimals only in the last."""
    values: list[str] = []
    for token in tokens:
        if token.kind == "number":
            values.append(token.text)
        elif token.kind != "unit" or not values or token.text != SIGNS[min(len(values), len(SIGNS)) - 1]:
            raise PlaceError(f"{quoted(token.text)} stands in the wrong place")
    if not 1 <= len(values) <= len(SIGNS):
        raise PlaceError("it is not two numbers, a latitude and a longitude")
    if any("." in value for value in values[:-1]):
        raise PlaceError("only the last of degrees, minutes and seconds may have decimals")
    numbers = [float(value) for value in values]
    if any(number >= SIXTY for number in numbers[1:]):
        raise PlaceError("minutes and seconds end below 60")
    return sum(number / SIXTY**power for power, number in enumerate(numbers))
