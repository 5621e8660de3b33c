// Undo and redo of what was changed in the farm's files: the page is loaded again, and says what was done.
"use strict";
for (const button of document.querySelectorAll("button[data-undo]")) {
  button.addEventListener("click", async function () {
    const found = await desk.post(button.dataset.undo, { mark: button.dataset.mark });
    if (found) desk.anew(found.lines);
  });
}
