
/* A page that holds this map in a frame is told which stop is chosen here, and may choose one: marks alone, no place. */
function isHeld() {
  return window.parent !== window;
}
function linkHolder(map) {
  "use strict";
  if (!isHeld()) return;
  const markers = new Map();
  map.eachLayer(function (layer) {
    if (layer.options.stop) markers.set(layer.options.stop, layer);
  });
  for (const [mark, marker] of markers) {
    marker.on("click", function () {
      window.parent.postMessage({ stop: mark }, "*");
    });
  }
  window.addEventListener("message", function (event) {
    const marker = event.source === window.parent && markers.get(event.data.stop);
    if (!marker) return;
    map.panTo(marker.getLatLng(), { animate: false });
    marker.openPopup();
  });
}
