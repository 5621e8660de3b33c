
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
  fit();
}
