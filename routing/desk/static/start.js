"use strict";
for (const button of document.querySelectorAll(".open-farm")) {
  button.addEventListener("click", function () {
    desk.post("/start/open", { number: Number(button.dataset.number), name: button.dataset.name });
  });
}
document.getElementById("close-desk").addEventListener("click", async function () {
  const closed = await desk.post("/close");
  if (closed) for (const button of document.querySelectorAll("button")) button.disabled = true;
});
