
/* An encoded line as pairs of degrees. */
function linePoints(text) {
  "use strict";
  const found = [];
  let at = 0, up = 0, along = 0;
  function next() {
    let value = 0, shift = 0, part;
    do {
      part = text.charCodeAt(at) - 63;
      at += 1;
      value += (part & 31) * Math.pow(2, shift);
      shift += 5;
    } while (part >= 32);
    return value % 2 ? -(value + 1) / 2 : value / 2;
  }
  while (text.length > at) {
    up += next();
    along += next();
    found.push([up / 1e5, along / 1e5]);
  }
  return found;
}

/* The national grid: lines under all signs, and at the edge of what is seen their numbers and the letters of the square. */
function drawGrid(map, grid) {
  "use strict";
  const enough = 34; // pixels from line to line, for a number at each
  const axes = ["east", "north"].map(function (name) {
    return grid[name].map(function (line) { return { km: line[0], points: linePoints(line[1]) }; });
  });
  const numbers = L.DomUtil.create("div", "grid-numbers", map.getContainer());
  numbers.setAttribute("aria-hidden", "true");
  function layer(wanted) {
    const lines = axes[0].concat(axes[1]).filter(wanted).map(function (line) { return line.points; });
    return L.polyline(lines, { className: "grid", weight: 1, interactive: false }).addTo(map).bringToBack();
  }
  const tens = layer(function (line) { return line.km % 10 === 0; });
  const ones = layer(function (line) { return line.km % 10 !== 0; });
  function fine() {
    const size = map.getSize();
    const here = map.containerPointToLatLng([size.x / 2, size.y / 2]);
    const there = map.containerPointToLatLng([size.x / 2 + enough, size.y / 2]);
    return 1000 >= map.distance(here, there);
  }
  /* Where a line crosses one that is `at` so many pixels down (axis 0) or across (axis 1); null where it does not. */
  function crossing(line, axis, at) {
    const points = line.points.map(function (point) { return map.latLngToContainerPoint(point); });
    const along = axis === 0 ? "y" : "x", over = axis === 0 ? "x" : "y";
    for (let n = 1; points.length > n; n += 1) {
      const one = points[n - 1], other = points[n];
      if ((one[along] - at) * (other[along] - at) > 0 || one[along] === other[along]) continue;
      return one[over] + ((at - one[along]) / (other[along] - one[along])) * (other[over] - one[over]);
    }
    return null;
  }
  function digits(km) { return String(((km % 100) + 100) % 100).padStart(2, "0"); }
  function put(className, text, x, y) {
    const number = L.DomUtil.create("span", className, numbers);
    number.textContent = text;
    number.style.transform = "translate(" + Math.round(x) + "px, " + Math.round(y) + "px)";
  }
  function squareAt(x, y) {
    const east = axes[0].filter(function (line) { const at = crossing(line, 0, y); return at !== null && x >= at; });
    const north = axes[1].filter(function (line) { const at = crossing(line, 1, x); return at !== null && at >= y; });
    if (!east.length || !north.length) return "";
    const [column, row] = [east, north].map(function (lines) { return Math.floor(Math.max.apply(null, lines.map(function (line) { return line.km; })) / 100); });
    return grid.squares[column + "," + row] || "";
  }
  function drawNumbers() {
    numbers.textContent = "";
    const size = map.getSize(), room = 24, small = fine();
    if (small !== map.hasLayer(ones)) {
      if (small) ones.addTo(map).bringToBack();
      else ones.remove();
    }
    const shown = axes.map(function (lines) { return lines.filter(function (line) { return small || line.km % 10 === 0; }); });
    for (const line of shown[0]) {
      const at = crossing(line, 0, size.y - 8);
      if (at !== null && at > room + 14 && size.x - room > at) put("grid-number", digits(line.km), at - 9, size.y - 16);
    }
    for (const line of shown[1]) {
      const at = crossing(line, 1, 8);
      if (at !== null && at > room && size.y - room > at) put("grid-number", digits(line.km), 1, at - 7);
    }
    const middle = squareAt(size.x / 2, size.y / 2);
    const corners = [[2, size.y - 17], [2, 2], [size.x - 26, 2], [size.x - 26, size.y - 17]].map(function (spot) {
      return [squareAt(spot[0] + 12, spot[1] + 8), spot];
    });
    const several = corners.some(function (each) { return each[0] !== middle; });
    for (const [letters, spot] of several ? corners : [[middle, corners[0][1]]]) {
      if (letters) put("grid-number grid-square", letters, spot[0], spot[1]);
    }
  }
  map.on("movestart", function () { numbers.classList.add("moving"); });
  map.on("moveend zoomend resize", function () {
    numbers.classList.remove("moving");
    drawNumbers();
    placeWords(map);
  });
  drawNumbers();
  placeWords(map);
}
