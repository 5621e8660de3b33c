"use strict";
document.getElementById("keep").addEventListener("click", function (event) {
  desk.post("/season/keep", { on: event.target.dataset.on, replace: document.getElementById("replace").checked });
});
