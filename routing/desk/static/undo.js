// Undo and redo of what was changed in the farm's files: the page is loaded again, and says what was done.
"use strict";
document.addEventListener("click", async function (event) {
  const button = event.target.closest("button[data-undo]");
  const found = button && (await desk.post(button.dataset.undo, { mark: button.dataset.mark }));
  if (found) desk.anew(found.lines);
});
