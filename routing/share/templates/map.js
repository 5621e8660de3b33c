
function showWholeRound(map, corners, furthestIn, units) {
  "use strict";
  L.control.scale({ metric: units === "km", imperial: units !== "km", maxWidth: 120 }).addTo(map);
  function fit() {
    map.invalidateSize({ animate: false });
    const room = map.getSize().x > 500 ? 44 : 26; // a phone's box is small: what is in it is large
    map.fitBounds(corners, { padding: [room, room], maxZoom: furthestIn, animate: false });
  }
  window.addEventListener("beforeprint", function () {
    document.documentElement.classList.add("printing");
    fit();
  });
  window.addEventListener("afterprint", function () {
    document.documentElement.classList.remove("printing");
    fit();
  });
  map.on("zoomend moveend resize", function () {
    placeWords(map);
  });
  fit();
  if (!map.getSize().x) window.addEventListener("resize", fit, { once: true }); // in a frame that has no room yet
  placeWords(map);
}
