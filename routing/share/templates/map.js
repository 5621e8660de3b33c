
function showWholeRound(map, corners, furthestIn) {
  "use strict";
  function fit() {
    map.invalidateSize({ animate: false });
    map.fitBounds(corners, { padding: [44, 44], maxZoom: furthestIn, animate: false });
  }
  window.addEventListener("beforeprint", function () {
    document.documentElement.classList.add("printing");
    fit();
  });
  window.addEventListener("afterprint", function () {
    document.documentElement.classList.remove("printing");
    fit();
  });
  map.on("zoomend resize", function () {
    placeWords(map);
  });
  fit();
  placeWords(map);
}

/* Words give way to pins, and names to words: a tag goes below its pin, or above, right or left of it, or away.
   Of the names, small ones show only from near. */
function placeWords(map) {
  "use strict";
  const gap = 2;
  const box = map.getContainer();
  function all(selector) {
    return Array.from(box.querySelectorAll(selector));
  }
  function placeOf(element) {
    return element.getBoundingClientRect();
  }
  box.classList.toggle("far", 12 > map.getZoom());
  box.classList.toggle("farther", 10 > map.getZoom());
  const taken = all(".pin, .house").map(placeOf);
  function free(place) {
    return taken.every(function (other) {
      return (
        place.left >= other.right || other.left >= place.right || place.top >= other.bottom || other.top >= place.bottom
      );
    });
  }
  const tags = all(".tag");
  const names = all(".place-name > bdi").sort(function (one, other) {
    return one.parentNode.className.localeCompare(other.parentNode.className);
  });
  for (const each of tags.concat(names)) each.classList.remove("crowded");
  for (const tag of tags) tag.style.transform = "";
  const pins = tags.map(function (tag) { return placeOf(tag.previousElementSibling); });
  const below = tags.map(placeOf);
  const there = names.map(placeOf);
  tags.forEach(function (tag, number) {
    const pin = pins[number], first = below[number];
    if (!first.width) return;
    const left = pin.left + (pin.width - first.width) / 2, top = pin.top + (pin.height - first.height) / 2;
    const above = new DOMRect(left, pin.top - gap - first.height, first.width, first.height);
    const right = new DOMRect(pin.right + gap, top, first.width, first.height);
    const before = new DOMRect(pin.left - gap - first.width, top, first.width, first.height);
    const choice = [first, above, right, before].find(free);
    if (!choice) {
      tag.classList.add("crowded");
      return;
    }
    taken.push(choice);
    if (choice !== first) {
      tag.style.transform = "translate(" + (choice.left - first.left) + "px, " + (choice.top - first.top) + "px)";
    }
  });
  names.forEach(function (name, number) {
    if (!there[number].width) return;
    if (free(there[number])) taken.push(there[number]);
    else name.classList.add("crowded");
  });
}
