
function showWholeRound(map, corners, furthestIn, units) {
  "use strict";
  L.control.scale({ metric: units === "km", imperial: units !== "km", maxWidth: 120 }).addTo(map);
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
  map.on("zoomend moveend resize", function () {
    placeWords(map);
  });
  fit();
  placeWords(map);
}
