
/* Nothing on the map covers anything. Pins first: one that would lie on another stands beside its place, on a line to it,
   or is a small dot until there is room. Then the words at pins, on the first free of eight sides, with the light left
   where that fits too; then names of towns and villages, landmarks, and the names of roads along them. */
function placeWords(map) {
  "use strict";
  const gap = 2;
  const box = map.getContainer();
  function all(selector) { return Array.from(box.querySelectorAll(selector)).filter((each) => !each.closest(".off-day")); }
  function placeOf(element) { return element.getBoundingClientRect(); }
  const zoom = map.getZoom();
  box.classList.toggle("near", zoom >= 14);
  box.classList.toggle("far", 12 > zoom);
  box.classList.toggle("farther", 10 > zoom);
  const taken = [];
  function free(place) {
    return taken.every((other) => place.left >= other.right + 1 || other.left >= place.right + 1 || place.top >= other.bottom + 1 || other.top >= place.bottom + 1);
  }
  const frame = placeOf(box);
  /* Whole in sight, or beside a pin that is out of sight anyway. */
  function fits(pin, place) {
    const seen = pin.right > frame.left && frame.right > pin.left && pin.bottom > frame.top && frame.bottom > pin.top;
    const whole = place.left >= frame.left && frame.right >= place.right && place.top >= frame.top && frame.bottom >= place.bottom;
    return free(place) && (whole || !seen);
  }
  function moved(place, right, down) { return new DOMRect(place.left + right, place.top + down, place.width, place.height); }

  /* The base stands where it is, and so do the buttons: numbers of the grid give way to both, and all else to the three. */
  const fixed = Array.from(box.querySelectorAll(".leaflet-control, .house")).map(placeOf).filter((place) => place.width);
  taken.push(...fixed);
  for (const number of box.querySelectorAll(".grid-number")) {
    const place = placeOf(number);
    number.classList.toggle("crowded", !free(place));
    if (free(place)) taken.push(place);
  }
  placePins();
  placeArrows();
  placeTags();
  placeTowns();
  placeLand(map, free, taken);

  function placePins() {
    const rank = (each) => (each.matches(".pin-out") ? 2 : each.matches(".van") ? 3 : 1);
    const pins = all(".pin, .van");
    for (const pin of pins) {
      pin.style.transform = "";
      pin.parentNode.classList.remove("crowded", "aside");
    }
    for (const old of box.querySelectorAll(".leader")) old.remove();
    const order = pins.map((pin, number) => ({ pin, number, rank: rank(pin), first: placeOf(pin) }));
    order.sort((one, other) => one.rank - other.rank || one.number - other.number);
    for (const each of order) {
      const choice = spotFor(each.first, each.rank);
      if (!choice) {
        each.pin.parentNode.classList.add("crowded");
        continue;
      }
      taken.push(moved(each.first, choice[0], choice[1]));
      if (choice[0] || choice[1]) setAside(each.pin, choice);
    }
    /* A dot marks the very place of a sign that stands beside it or has no room, unless another sign stands there. */
    for (const marker of all(".bare.aside, .bare.crowded:not(:has(.van))")) {
      const place = placeOf(marker);
      const dot = new DOMRect((place.left + place.right) / 2 - 5, (place.top + place.bottom) / 2 - 5, 10, 10);
      marker.classList.toggle("no-dot", !free(dot));
      if (free(dot)) taken.push(dot);
    }
  }
  function spotFor(first, rank) {
    if (free(first)) return [0, 0];
    if (rank > 1) return null;
    for (const far of [26, 36, 48, 62]) {
      for (let turn = 0; 12 > turn; turn += 1) {
        const choice = [Math.round(far * Math.cos((turn * Math.PI) / 6)), Math.round(far * Math.sin((turn * Math.PI) / 6))];
        if (fits(first, moved(first, choice[0], choice[1]))) return choice;
      }
    }
    return null;
  }
  function setAside(pin, choice) {
    pin.style.transform = "translate(" + choice[0] + "px, " + choice[1] + "px)";
    pin.parentNode.classList.add("aside");
    const leader = document.createElement("i");
    leader.className = "leader";
    leader.style.width = Math.hypot(choice[0], choice[1]) + "px";
    leader.style.transform = "rotate(" + Math.atan2(choice[1], choice[0]) + "rad)";
    pin.parentNode.prepend(leader);
  }

  function placeArrows() {
    for (const arrow of all(".arrow")) {
      const place = placeOf(arrow), room = free(place);
      arrow.classList.toggle("crowded", !room);
      if (room) taken.push(place);
    }
  }

  function placeTags() {
    const tags = all(".tag");
    for (const tag of tags) {
      tag.classList.remove("crowded", "short");
      tag.style.transform = "";
    }
    const seen = tags.map((tag) => ({ tag, pin: placeOf(tag.parentNode.querySelector(".pin, .house")), whole: placeOf(tag), gone: tag.parentNode.classList.contains("crowded") }));
    for (const tag of tags) tag.classList.add("short");
    seen.forEach((each) => { each.part = placeOf(each.tag); });
    seen.sort((one, other) => rankOf(one.tag) - rankOf(other.tag));
    for (const each of seen) {
      if (!each.whole.width || each.gone) {
        each.tag.classList.toggle("crowded", each.gone);
        continue;
      }
      const whole = sideOf(each.pin, each.whole);
      const choice = whole || sideOf(each.pin, each.part);
      each.tag.classList.toggle("short", !whole);
      each.tag.classList.toggle("crowded", !choice);
      if (!choice) continue;
      taken.push(choice);
      const now = whole ? each.whole : each.part;
      each.tag.style.transform = "translate(" + (choice.left - now.left) + "px, " + (choice.top - now.top) + "px)";
    }
  }
  function rankOf(tag) { return tag.previousElementSibling.matches(".house") ? 0 : tag.matches(".quiet") ? 2 : 1; }
  function sideOf(pin, tag) {
    const middle = pin.left + (pin.width - tag.width) / 2, level = pin.top + (pin.height - tag.height) / 2;
    const [left, right, above, below] = [pin.left - gap - tag.width, pin.right + gap, pin.top - gap - tag.height, pin.bottom + gap];
    const sides = [
      [right, level], [left, level], [middle, below], [middle, above],
      [right - 4, above + 6], [right - 4, below - 6], [left + 4, above + 6], [left + 4, below - 6],
    ];
    return sides.map((side) => new DOMRect(side[0], side[1], tag.width, tag.height)).find((place) => fits(pin, place));
  }

  function placeTowns() {
    const names = all(".place-name > bdi").sort((one, other) => one.parentNode.className.localeCompare(other.parentNode.className));
    for (const each of names) each.classList.remove("crowded");
    const places = names.map(placeOf);
    names.forEach((name, number) => {
      if (!places[number].width) return;
      if (free(places[number])) taken.push(places[number]);
      else name.classList.add("crowded");
    });
  }
}

/* Landmarks and names of roads: only those in sight are made, as many as have room. */
function placeLand(map, free, taken) {
  "use strict";
  const pane = map.getPane("names");
  if (!pane || !map.landNames) return;
  for (const old of pane.querySelectorAll(".landmark, .road-name")) old.remove();
  const frame = map.getContainer().getBoundingClientRect();
  const size = map.getSize(), zoom = map.getZoom();
  const ruler = document.createElement("canvas").getContext("2d");
  const signs = {
    church: "M7 0v4M5 2h4M3 14V7l4-3 4 3v7Z", peak: "M1 13 7 2l6 11Z", tower: "M5 14 6 3h2l1 11ZM4 3h6",
    castle: "M2 14V3h2v2h2V3h2v2h2V3h2v11Z", station: "M2 4h10v7H2ZM4 13l-1 1M10 13l1 1", inn: "M4 3h6l-1 10H5ZM4 6h6", gate: "M2 3v9M12 3v9M2 5h10M2 9h10",
  };
  function spotOf(up, along) {
    const at = map.latLngToContainerPoint([up, along]);
    const inSight = at.x > 8 && at.y > 8 && size.x - 8 > at.x && size.y - 8 > at.y;
    return inSight ? at : null;
  }
  function boxAt(x, y, width, height) { return new DOMRect(frame.left + x, frame.top + y, width, height); }
  function put(element, x, y, turn) {
    const at = map.containerPointToLayerPoint([x, y]);
    element.style.transform = "translate(" + at.x + "px, " + at.y + "px) translate(-50%, -50%) rotate(" + turn + "deg)";
    pane.append(element);
  }
  function made(className, text) {
    const element = document.createElement("span");
    element.className = className;
    if (text) {
      const inner = document.createElement("bdi");
      inner.textContent = text;
      element.append(inner);
    }
    return element;
  }
  function signOf(kind) {
    const element = made("landmark landmark-" + kind);
    const svg = L.SVG.create("svg");
    const path = L.SVG.create("path");
    svg.setAttribute("viewBox", "0 0 14 15");
    svg.setAttribute("width", "14");
    svg.setAttribute("height", "15");
    svg.setAttribute("aria-hidden", "true");
    path.setAttribute("d", signs[kind]);
    svg.append(path);
    element.append(svg);
    return element;
  }
  function placeMark(mark) {
    const [up, along, kind, name] = mark;
    const at = spotOf(up, along);
    if (!at) return;
    const place = boxAt(at.x - 8, at.y - 8, 16, 16);
    if (!free(place)) return;
    taken.push(place);
    put(signOf(kind), at.x, at.y, 0);
    if (!name || (kind === "church" && 15 > zoom) || (kind === "inn" && 15 > zoom)) return;
    ruler.font = "500 11px system-ui, sans-serif";
    const width = ruler.measureText(name).width + 6;
    const side = [[at.x + 10 + width / 2, at.y], [at.x - 10 - width / 2, at.y], [at.x, at.y + 16], [at.x, at.y - 16]].find((each) => free(boxAt(each[0] - width / 2, each[1] - 7, width, 14)));
    if (!side || width > 190) return;
    taken.push(boxAt(side[0] - width / 2, side[1] - 7, width, 14));
    put(made("landmark landmark-name", name), side[0], side[1], 0);
  }
  const placed = [];
  function placeRoad(road) {
    const [up, along, text, turn, metres, rank, numbered] = road;
    if (numbered ? (rank > 0 && 11.5 > zoom) : 13.5 - (rank === 2 ? 0 : 0.75) > zoom) return;
    const at = spotOf(up, along);
    if (!at || placed.some((each) => each.text === text && 240 > Math.hypot(each.x - at.x, each.y - at.y))) return;
    ruler.font = numbered ? "700 10px system-ui, sans-serif" : "500 11px system-ui, sans-serif";
    const width = ruler.measureText(text).width + (numbered ? 8 : 4), height = numbered ? 14 : 13;
    const long = (metres / 40075016.7) * 256 * Math.pow(2, zoom) / Math.cos((up * Math.PI) / 180);
    if (!numbered && width > long * 1.15) return;
    const angle = (turn * Math.PI) / 180;
    const wide = Math.abs(width * Math.cos(angle)) + Math.abs(height * Math.sin(angle));
    const high = Math.abs(width * Math.sin(angle)) + Math.abs(height * Math.cos(angle));
    const place = boxAt(at.x - wide / 2, at.y - high / 2, wide, high);
    if (!free(place)) return;
    taken.push(place);
    placed.push({ text: text, x: at.x, y: at.y });
    put(made("road-name" + (numbered ? " road-number" : ""), text), at.x, at.y, turn);
  }
  if (zoom >= 11.5) map.landNames.marks.filter((mark) => (mark[2] !== "inn" && mark[2] !== "gate") || zoom >= 14).forEach(placeMark);
  map.landNames.roads.forEach(placeRoad);
}
