
/* Links the drawing with the list, shows the phone's position, and asks for a background only when told to. */
function linkMap(map, helper) {
  const { given, list } = helper;
  const markers = new Map();
  map.zoomControl.setPosition("bottomright"); // near the thumb, and out of the way of what a marker says
  placeWords(map); // which keep clear of the buttons
  map.eachLayer((layer) => {
    if (layer.options.stop) markers.set(layer.options.stop, layer);
  });

  function drawMarks() {
    for (const stop of given.stops.filter((each) => markers.has(each.mark))) {
      const element = markers.get(stop.mark).getElement();
      const finished = list.left(stop) === 0;
      element.classList.toggle("finished", finished);
      const words = element.title.replace(/^Done: /, "");
      element.title = finished ? `Done: ${words}` : words;
      element.setAttribute("aria-label", element.title);
    }
  }

  /* The drive to the next stop is thicker: where it is as planned, after all the stops before it and none beyond. */
  let way = null;
  let thick = null;
  map.eachLayer((layer) => {
    if (layer.options.legs) way = layer;
  });
  function drawNextLeg() {
    if (thick) thick.remove();
    thick = null;
    const stop = list.next();
    const order = given.stops.filter((each) => !each.near);
    const at = stop ? order.indexOf(stop) : order.length;
    const planned = at >= 0 && order.every((each, place) => (list.left(each) === 0) === (at > place));
    for (const [mark, marker] of markers) marker.getElement().classList.toggle("next", Boolean(stop) && mark === stop.mark);
    if (!way || !planned) return;
    const first = way.options.legs.slice(0, at).reduce((sum, points) => sum + points, 0);
    const points = way.getLatLngs().flat(2).slice(first, first + way.options.legs[at]);
    thick = L.polyline(points, { className: `${way.options.className} next-leg`, weight: 7, smoothFactor: 0, interactive: false }).addTo(map);
  }

  for (const button of all("[data-show]")) {
    button.addEventListener("click", () => {
      const marker = markers.get(button.dataset.show);
      one("#map").scrollIntoView({ block: "start" });
      map.panTo(marker.getLatLng(), { animate: false });
      marker.openPopup();
      marker.getElement().focus({ preventScroll: true });
    });
  }

  for (const [mark, marker] of markers) {
    addWayToList(marker, mark);
    marker.on("click", () => {
      all(".stop.chosen").forEach((card) => card.classList.remove("chosen"));
      const card = one(`.stop[data-stop="${mark}"]`);
      card.classList.add("chosen");
      if (window.matchMedia("(min-width: 60rem)").matches) card.scrollIntoView({ block: "nearest" });
    });
  }

  function addWayToList(marker, mark) {
    const box = document.createElement("div");
    box.innerHTML = marker.getPopup().getContent(); // made with the page, every text in it escaped
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = `Go to ${mark} in the list`;
    button.addEventListener("click", () => {
      map.closePopup();
      list.show(mark);
    });
    box.append(button);
    marker.getPopup().setContent(box);
  }

  /* The order that was found or kept in the field: straight broken lines from stop to stop, since its ways are not all known. */
  let kept = null;
  function drawOrder() {
    if (kept) kept.remove();
    kept = null;
    const plan = helper.order();
    if (!plan || plan.stops.length === 0) return;
    const point = (place) => [place.latitude, place.longitude];
    const { begin } = plan;
    const first = begin.kind === "here" ? begin : begin.from < 0 ? given.base : given.stops[begin.from];
    const rows = plan.stops.map((row) => ({ row, stop: given.stops.find((stop) => stop.mark === row.mark) }));
    const points = [first, ...rows.flatMap(({ row, stop }) => (row.base ? [given.base, stop] : [stop])), given.base].map(point);
    kept = L.layerGroup([L.polyline(points, { className: "kept-way", dashArray: "2 9", weight: 4, smoothFactor: 0, interactive: false })]).addTo(map);
    for (const { stop } of rows.filter((each) => each.stop.near)) {
      L.circleMarker(point(stop), { radius: 8, className: "kept-near", interactive: false }).bindTooltip(stop.mark, { permanent: true, direction: "top" }).addTo(kept);
    }
  }

  let here = null;
  helper.placed.push((place) => {
    const at = [place.latitude, place.longitude];
    if (here) here.remove();
    here = L.layerGroup([
      L.circle(at, { radius: place.accuracy, className: "around", interactive: false }),
      L.circleMarker(at, { radius: 9, className: "here", interactive: false }),
    ]).addTo(map);
    if (!map.getBounds().contains(at)) map.fitBounds(map.getBounds().extend(at), { animate: false });
  });

  new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(map.getContainer());
  helper.drawn.push(drawMarks, drawNextLeg, drawOrder);
  drawOrder();
  drawMarks();
  drawNextLeg();
}

function startBackground(map, tiles) {
  const said = one("#background-said");
  const button = one("#background");
  let layer = null;

  function off(words) {
    if (layer) layer.remove();
    layer = null;
    button.setAttribute("aria-pressed", "false");
    one("#credit").hidden = true;
    said.textContent = words;
  }

  function on() {
    let shown = 0;
    let failed = 0;
    layer = L.tileLayer(tiles.url, { maxZoom: 18, maxNativeZoom: tiles.deepest, referrerPolicy: "strict-origin-when-cross-origin" });
    layer.on("tileload", () => {
      shown += 1;
      said.textContent = "";
    });
    layer.on("tileerror", () => {
      failed += 1;
      if (shown === 0 && failed >= 2) off(tiles.failed);
    });
    button.setAttribute("aria-pressed", "true");
    one("#credit").hidden = false;
    said.textContent = tiles.asking;
    layer.addTo(map);
  }

  button.addEventListener("click", () => {
    if (layer) off("");
    else if (!/^https?:$/.test(location.protocol)) said.textContent = tiles.from_file;
    else on();
  });
}
