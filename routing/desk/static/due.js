// Cancels a due date by name: a dialog asks for the reason, which the log keeps.
"use strict";
(function () {
  const dialog = document.getElementById("cancel");
  const form = document.getElementById("cancel-form");
  for (const button of document.querySelectorAll("button.cancel")) {
    button.addEventListener("click", function () {
      document.getElementById("cancel-name").textContent = `Cancel: ${button.dataset.name}`;
      form.elements.rule.value = button.dataset.rule;
      form.elements.site.value = button.dataset.site;
      form.elements.why.value = "";
      dialog.showModal();
      form.elements.why.focus();
    });
  }
  document.getElementById("leave-it").addEventListener("click", () => dialog.close());
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    dialog.close();
    desk.post("/due/cancel", desk.fields(form));
  });
})();
