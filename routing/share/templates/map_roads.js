
function drawRoads(map, lines, names) {
  "use strict";
  function points(text) {
    const found = [];
    let at = 0, up = 0, along = 0;
    function next() {
      let value = 0, shift = 0, part;
      do {
        part = text.charCodeAt(at) - 63;
        at += 1;
        value |= (part & 31) << shift;
        shift += 5;
      } while (part >= 32);
      return value & 1 ? ~(value >> 1) : value >> 1;
    }
    while (at < text.length) {
      up += next();
      along += next();
      found.push([up / 1e5, along / 1e5]);
    }
    return found;
  }
  map.createPane("roads").style.zIndex = "250";
  map.createPane("names").style.zIndex = "350";
  const renderer = L.svg({ pane: "roads", padding: 0.5 });
  for (const kind of ["track", "service", "lane", "road", "main"]) {
    if (lines[kind]) {
      L.polyline(lines[kind].map(points), { className: "road road-" + kind, interactive: false, pane: "roads", renderer: renderer }).addTo(map);
    }
  }
  for (const name of names) {
    const icon = L.divIcon({ className: "place-name size-" + name[2], html: name[3], iconSize: null });
    L.marker([name[0], name[1]], { icon: icon, interactive: false, keyboard: false, pane: "names" }).addTo(map);
  }
  placeWords(map);
}
