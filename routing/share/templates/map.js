
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

/* Words give way to pins, and names to words: a tag goes below its pin, or above, right or left of it, or away. */
function placeWords(map) {
  "use strict";
  const gap = 2;
  const box = map.getContainer();
  function all(selector) {
    return Array.from(box.querySelectorAll(selector));
  }
  function placeOf(element) {
    const place = element.getBoundingClientRect();
    return { left: place.left, top: place.top, width: place.width, height: place.height };
  }
  const taken = all(".pin, .house").map(placeOf);
  function free(place) {
    return taken.every(function (other) {
      return (
        place.left >= other.left + other.width || other.left >= place.left + place.width ||
        place.top >= other.top + other.height || other.top >= place.top + place.height
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
    const pin = pins[number], size = below[number];
    if (!size.width) return;
    const middle = { left: pin.left + (pin.width - size.width) / 2, top: pin.top + (pin.height - size.height) / 2 };
    const choices = [
      { left: size.left, top: size.top },
      { left: middle.left, top: pin.top - gap - size.height },
      { left: pin.left + pin.width + gap, top: middle.top },
      { left: pin.left - gap - size.width, top: middle.top },
    ];
    const choice = choices.find(function (each) {
      return free({ left: each.left, top: each.top, width: size.width, height: size.height });
    });
    if (!choice) {
      tag.classList.add("crowded");
      return;
    }
    taken.push({ left: choice.left, top: choice.top, width: size.width, height: size.height });
    if (choice !== choices[0]) {
      tag.style.transform = "translate(" + (choice.left - size.left) + "px, " + (choice.top - size.top) + "px)";
    }
  });
  names.forEach(function (name, number) {
    if (!there[number].width) return;
    if (free(there[number])) taken.push(there[number]);
    else name.classList.add("crowded");
  });
}
