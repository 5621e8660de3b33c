// The map beside the table of sites: places are pointed at, looked up by name, and pins moved by mouse or by keys.
"use strict";
(function () {
  const byId = (id) => document.getElementById(id);
  const box = byId("map");
  if (!box || !window.grid) return;
  const map = L.map(box, { attributionControl: false, zoomControl: true, zoomSnap: 0.5, keyboard: true, fadeAnimation: false });
  const pins = L.layerGroup().addTo(map);
  let spot = null, spotPin = null, fitted = 0, moving = null, base = null, drawn = null, takeOff = null;
  map.setView([52, -2], 5);
  map.on("zoomend moveend resize", () => placeWords(map));

  function icon(words, className) {
    const face = document.createElement("span");
    face.className = `pin pin-0 ${className || ""}`;
    face.textContent = words;
    return L.divIcon({ className: "bare", html: face, iconSize: [32, 32], iconAnchor: [16, 16] });
  }
  const decimals = (place) => [place.lat.toFixed(5), place.lng.toFixed(5)];

  function put(row, place) {
    const [north, east] = decimals(place);
    if (grid.has("latitude") && grid.has("longitude") && !grid.text(row, "place")) {
      grid.put(row, "latitude", north);
      grid.put(row, "longitude", east);
    } else grid.put(row, "place", `${north}, ${east}`);
    grid.send();
  }

  // ---- pins of the table
  grid.onChange(function (state, rows) {
    const focused = box.contains(document.activeElement) ? document.activeElement.getAttribute("data-line") : null;
    stop(false);
    pins.clearLayers();
    const corners = [];
    base = state.base;
    if (base) { // first, so that it stands where it is and the others give way
      const pin = add([base[0], base[1]], "Base", `The base: ${base[2]}`, "base", moveBase);
      pin.getElement().firstElementChild.classList.add("base-pin");
      corners.push([base[0], base[1]]);
    }
    for (const [line, north, east] of state.places) {
      const row = rows.find((each) => each.line === line);
      if (!row) continue;
      const name = grid.text(row, "name") || grid.text(row, "id");
      const pin = add([north, east], String(rows.indexOf(row) + 1), `${name}, row ${rows.indexOf(row) + 1}`, String(line), (place) => put(row, place));
      pin.on("click", function () { grid.choose(row, false); chosen(row); pointed(pin.getLatLng()); });
      corners.push([north, east]);
    }
    chosen(grid.chosen());
    if (corners.length && (!fitted || (corners.length > fitted + 1 && !corners.every((one) => map.getBounds().contains(one))))) {
      map.fitBounds(corners, { padding: [40, 40], maxZoom: 14, animate: false });
    }
    if (corners.length && !(drawn && corners.every((one) => drawn.contains(one)))) {
      drawn = L.latLngBounds(corners).pad(0.3).extend(L.latLng(corners[0]).toBounds(4000));
      land();
    }
    fitted = Math.max(fitted, corners.length);
    placeWords(map); // pins that would lie on each other stand beside their places
    if (focused) {
      const again = box.querySelector(`[data-line="${focused}"]`);
      if (again) again.focus();
    }
  });

  function add(place, words, title, line, moved) {
    const pin = L.marker(place, { icon: icon(words), draggable: true, autoPan: true, keyboard: true }).addTo(pins);
    const element = pin.getElement();
    element.setAttribute("aria-label", title);
    element.title = title;
    element.dataset.line = line;
    pin.on("dragstart", () => where(pin));
    pin.on("dragend", () => moved(pin.getLatLng()));
    element.addEventListener("keydown", (event) => keys(event, pin, title, moved));
    element.addEventListener("blur", () => { if (moving && moving.pin === pin) stop(false); });
    return pin;
  }

  // A pin that stands beside its place for want of room is shown where it is while it is moved.
  function where(pin) {
    const element = pin.getElement();
    element.firstElementChild.style.transform = "";
    element.classList.remove("crowded", "aside");
    for (const leader of element.querySelectorAll(".leader")) leader.remove();
  }

  function chosen(row) {
    for (const face of box.querySelectorAll(".pin")) face.classList.remove("chosen-pin");
    const element = row && row.line ? box.querySelector(`[data-line="${row.line}"]`) : null;
    if (element) element.firstElementChild.classList.add("chosen-pin");
    byId("spot-move").disabled = !spot || !row || grid.isBlank(row);
  }
  byId("grid").addEventListener("row-chosen", (event) => chosen(event.detail.row));

  // ---- a pin moved by keys
  const STEPS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };
  function keys(event, pin, title, moved) {
    if (event.key === "Enter") {
      if (!moving) start(pin, title);
      else {
        const place = pin.getLatLng();
        moving = null;
        byId("moving").textContent = `${title}: put at ${decimals(place).join(", ")}.`;
        moved(place);
      }
    } else if (!moving) return;
    else if (event.key === "Escape") stop(true);
    else if (event.key in STEPS) {
      const far = event.shiftKey ? 1 : 10, [right, down] = STEPS[event.key];
      const point = map.latLngToContainerPoint(pin.getLatLng()).add([right * far, down * far]);
      pin.setLatLng(map.containerPointToLatLng(point));
      if (!map.getBounds().pad(-0.05).contains(pin.getLatLng())) map.panTo(pin.getLatLng(), { animate: false });
      byId("moving").textContent = `${title}: ${decimals(pin.getLatLng()).join(", ")}`;
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }
  function start(pin, title) {
    moving = { pin: pin, from: pin.getLatLng() };
    where(pin);
    pin.getElement().firstElementChild.classList.add("moving-pin");
    byId("moving").textContent = `Moving ${title}: arrows move it, Enter puts it there, Escape leaves it.`;
  }
  function stop(say) {
    if (!moving) return;
    moving.pin.setLatLng(moving.from);
    const element = moving.pin.getElement();
    if (element) element.firstElementChild.classList.remove("moving-pin");
    moving = null;
    byId("moving").textContent = say ? "Left where it was." : "";
  }

  // ---- a place that is pointed at
  async function pointed(place, name) {
    spot = L.latLng(place);
    if (spotPin) spotPin.remove();
    spotPin = L.marker(spot, { icon: icon("?", "spot-pin"), keyboard: false, interactive: false, zIndexOffset: 500 }).addTo(map);
    for (const id of ["spot-add", "spot-base"]) byId(id).disabled = false;
    byId("spot-move").disabled = !grid.chosen() || grid.isBlank(grid.chosen());
    const asked = spot;
    lines([name, decimals(spot).join(", ")].filter(Boolean));
    const found = await desk.post("/sites/spot", { latitude: spot.lat, longitude: spot.lng });
    if (found && asked === spot) lines([name, ...found.about].filter(Boolean));
  }
  function lines(words) {
    byId("spot").replaceChildren(...words.map(function (line) {
      const made = document.createElement("p"), inner = document.createElement("bdi");
      inner.textContent = line;
      made.append(inner);
      return made;
    }));
  }
  map.on("click", (event) => pointed(event.latlng));
  box.addEventListener("keydown", function (event) {
    if (event.target !== box || event.key !== "Enter") return;
    pointed(map.getCenter());
    event.preventDefault();
  });
  box.addEventListener("focus", () => box.classList.add("pointing"));
  box.addEventListener("blur", () => box.classList.remove("pointing"));

  byId("spot-add").addEventListener("click", function () {
    const row = grid.addRow({}, false);
    put(row, spot);
  });
  byId("spot-move").addEventListener("click", function () { if (grid.chosen()) put(grid.chosen(), spot); });
  byId("spot-base").addEventListener("click", () => moveBase(spot));
  async function moveBase(place) {
    await desk.post("/sites/base", { latitude: place.lat, longitude: place.lng });
    grid.reload();
  }

  // ---- by name
  async function find(url) {
    const text = byId("look-text").value.trim();
    const answer = await desk.post(url, { text: text });
    if (!answer) return;
    desk.tell([]);
    const list = byId("found");
    list.replaceChildren(...answer.found.map(function (one) {
      const item = document.createElement("li"), button = document.createElement("button"), words = document.createElement("bdi");
      button.type = "button";
      words.textContent = one.kind ? `${one.name} (${one.kind})` : one.name;
      button.append(words);
      button.addEventListener("click", function () {
        map.setView([one.latitude, one.longitude], Math.max(14, map.getZoom()), { animate: false });
        pointed([one.latitude, one.longitude], one.kind ? words.textContent : "");
      });
      item.append(button);
      return item;
    }));
    if (!answer.found.length) desk.tell([`Nothing here is called “${text}”. Write less of the name, or point on the map.`], true);
    if (answer.found.length === 1) list.querySelector("button").click();
  }
  byId("look").addEventListener("submit", function (event) {
    event.preventDefault();
    find("/sites/look");
  });
  if (byId("ask")) byId("ask").addEventListener("click", () => find("/sites/ask"));

  // ---- the land
  async function land(again) {
    let found;
    try {
      found = await (await fetch("/sites/land")).json();
    } catch { // no answer, or half of one: asked once more, then said
      if (again) lines(["The land is not drawn: the desk gave no answer. Load the page again."]);
      else setTimeout(() => land(true), 2000);
      return;
    }
    if (found.trouble) lines([found.trouble]);
    if (!found.land) return;
    for (const name of found.names) {
      const words = document.createElement("bdi");
      words.textContent = name[3];
      name[3] = words;
    }
    if (takeOff) takeOff();
    takeOff = drawLand(map, found.land, found.lines, found.names);
    byId("credit").textContent = found.credit;
    byId("credit").hidden = !found.credit;
  }
})();
