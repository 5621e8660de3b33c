
/* Land and roads on one canvas under everything else; on paper as lines, so that they stay sharp. */
function drawLand(map, land, lines, names) {
  "use strict";
  const kinds = [
    "field", "rough", "built", "yard", "wood", "marsh", "water", "edge", "stream", "river", "rail", "sleeper", "hedge", "path",
    "casing", "main", "road", "lane", "service", "track", "contour",
  ];
  /* The colours of the land as tokens.css has them: those of the screen, or of a map that is drawn for paper. */
  function paints(set) {
    const given = window.getComputedStyle(document.documentElement);
    return Object.fromEntries(kinds.map((kind) => [kind, given.getPropertyValue("--" + set + "-" + kind).trim()]));
  }
  const widths = { main: 5, road: 4, lane: 2.8, service: 1.4, track: 1.3 };
  const shownFrom = { contour: 11.5, service: 12.5, track: 11.5, path: 13.5, hedge: 14, stream: 10.5 };

  function all(texts) { return (texts || []).map(linePoints); }
  const areas = ["field", "rough", "built", "yard", "wood", "marsh", "water"].map(function (kind) {
    return [kind, (land.areas[kind] || []).map(all)];
  });
  const drawn = {};
  for (const kind of ["contour", "hedge", "path", "stream", "river", "rail"]) drawn[kind] = all(land.lines[kind]);
  const roads = {};
  for (const kind of ["track", "service", "lane", "road", "main"]) roads[kind] = all(lines[kind]);

  (map.getPane("roads") || map.createPane("roads")).style.zIndex = "250";
  Object.assign((map.getPane("names") || map.createPane("names")).style, { zIndex: "450", pointerEvents: "none" }); // above the day's line
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  let layers = [], group = null;

  function add(kind, shapes, style, area, weight) {
    if (!shapes.length) return;
    const options = Object.assign({ interactive: false, pane: "roads", className: "land land-" + kind }, style);
    const layer = area ? L.polygon(shapes, options) : L.polyline(shapes, options);
    layers.push({ layer: layer, weight: weight, from: shownFrom[kind] || 0 });
  }
  /* Twice as wide for each step nearer, but never as wide as a field. */
  function thick(base, more) {
    const scale = Math.min(1.9, Math.max(0.28, Math.pow(1.32, map.getZoom() - 13)));
    return Math.max(0.5, base * scale) + (more || 0) * Math.min(1, scale + 0.3);
  }
  function build(renderer, paint) {
    if (group) group.remove();
    layers = [];
    const base = { renderer: renderer };
    for (const [kind, shapes] of areas) {
      const edged = kind === "water" || kind === "marsh";
      add(kind, shapes, { ...base, stroke: edged, color: paint.edge, weight: 0.8, fillColor: paint[kind], fillOpacity: 1, fillRule: "nonzero" }, true);
    }
    add("contour", drawn.contour, { ...base, color: paint.contour }, false, () => thick(0.8));
    add("hedge", drawn.hedge, { ...base, color: paint.hedge }, false, () => thick(1.2));
    add("stream", drawn.stream, { ...base, color: paint.stream }, false, () => thick(1.1));
    add("river", drawn.river, { ...base, color: paint.river }, false, () => thick(2.6));
    add("path", drawn.path, { ...base, color: paint.path, dashArray: "2 4" }, false, () => thick(0.9));
    add("track", roads.track, { ...base, color: paint.track, dashArray: "7 3" }, false, () => thick(widths.track));
    for (const kind of ["service", "lane", "road", "main"]) {
      add(kind, roads[kind], { ...base, color: paint.casing }, false, () => thick(widths[kind], kind === "service" ? 0.8 : 1.6));
    }
    for (const kind of ["service", "lane", "road", "main"]) {
      add(kind, roads[kind], { ...base, color: paint[kind] }, false, () => thick(widths[kind]));
    }
    add("rail", drawn.rail, { ...base, color: paint.rail }, false, () => thick(2.2, 0.6));
    add("rail", drawn.rail, { ...base, color: paint.sleeper, dashArray: "6 6", lineCap: "butt" }, false, () => thick(1.2));
    group = L.layerGroup().addTo(map);
    sized();
  }
  /* What is too small from afar is not drawn at all; the order stays that in which the layers were made. */
  function sized() {
    const zoom = map.getZoom();
    for (const each of layers) if (each.weight) each.layer.options.weight = each.weight();
    group.clearLayers();
    for (const each of layers) if (zoom >= each.from) group.addLayer(each.layer);
  }
  const canvas = L.canvas({ pane: "roads", padding: 0.4 });
  function onScreen() { build(canvas, paints("land")); }
  onScreen();
  let before = map.getZoom();
  function onZoom() {
    if (map.getZoom() !== before) sized();
    before = map.getZoom();
  }
  function onPaper() { build(L.svg({ pane: "roads", padding: 0.1 }), paints("printed")); }
  map.on("zoomend", onZoom);
  dark.addEventListener("change", onScreen);
  window.addEventListener("beforeprint", onPaper);
  window.addEventListener("afterprint", onScreen);

  const places = L.layerGroup().addTo(map);
  for (const name of names) {
    const icon = L.divIcon({ className: "place-name size-" + name[2], html: name[3], iconSize: null });
    L.marker([name[0], name[1]], { icon: icon, interactive: false, keyboard: false, pane: "names" }).addTo(places);
  }
  map.landNames = { marks: land.marks, roads: land.roads };
  placeWords(map);
  return function () {
    map.off("zoomend", onZoom);
    dark.removeEventListener("change", onScreen);
    window.removeEventListener("beforeprint", onPaper);
    window.removeEventListener("afterprint", onScreen);
    group.remove();
    places.remove();
    canvas.remove();
  };
}
