// Takes something due into the plan, or cancels it by name: a dialog asks for the reason, which the log keeps.
"use strict";
(function () {
  const dialog = document.getElementById("cancel");
  const form = document.getElementById("cancel-form");
  const on = form.elements.on.value;
  for (const button of document.querySelectorAll("button.take")) {
    const row = button.closest("tr").dataset;
    button.addEventListener("click", () => desk.post("/due/take", { on: on, rule: row.rule, by: row.by, sites: [row.site] }));
  }
  for (const button of document.querySelectorAll("button.take-all")) {
    const of = button.dataset;
    button.addEventListener("click", () => desk.post("/due/take", { on: on, rule: of.rule, by: of.by, sites: JSON.parse(of.sites) }));
  }
  for (const button of document.querySelectorAll("button.cancel")) {
    const row = button.closest("tr").dataset;
    button.addEventListener("click", function () {
      document.getElementById("cancel-name").textContent = `Cancel: ${row.name}`;
      form.elements.rule.value = row.rule;
      form.elements.site.value = row.site;
      form.elements.why.value = "";
      form.elements.everywhere.checked = false;
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
