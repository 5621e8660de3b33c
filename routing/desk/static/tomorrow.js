// Choosing a stop marks it in the list, on the day line and on the map, wherever it was chosen.
"use strict";
(function () {
  const frame = document.getElementById("map"), crews = document.getElementById("crews");
  if (!crews) return;

  let chosen = "";
  function choose(mark, tellMap) {
    chosen = mark;
    for (const part of document.querySelectorAll("tr[data-stop], .day-line g[data-stop]")) {
      part.classList.toggle("chosen", part.dataset.stop === mark);
    }
    for (const button of document.querySelectorAll("button.choose")) {
      button.setAttribute("aria-pressed", String(button.dataset.stop === mark));
    }
    if (tellMap) frame.contentWindow.postMessage({ stop: mark }, "*"); // a number on a list, to a frame of no origin
  }

  crews.addEventListener("click", function (event) {
    const at = event.target.closest("button.choose, .day-line g[data-stop]");
    if (at) choose(at.dataset.stop, true);
  });
  window.addEventListener("message", function (event) {
    if (event.source !== frame.contentWindow || event.data.stop === chosen) return;
    choose(String(event.data.stop), false);
    const row = document.querySelector("tr.chosen");
    if (row) row.scrollIntoView({ block: "nearest" });
  });
})();
