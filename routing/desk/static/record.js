// Writes down what was done, and shows what a helper's report will write before it does.
"use strict";
(function () {
  const one = (id) => document.getElementById(id);
  const report = one("report");
  let looked = "";

  one("entry").addEventListener("submit", function (event) {
    event.preventDefault();
    desk.post("/record/add", desk.fields(event.target));
  });
  if (one("undo")) one("undo").addEventListener("click", () => desk.post("/record/undo"));
  if (one("begin")) {
    one("begin").addEventListener("submit", function (event) {
      event.preventDefault();
      desk.post("/record/begin", desk.fields(event.target));
    });
  }

  function list(place, lines) {
    place.replaceChildren(
      ...lines.map(function (line) {
        const item = document.createElement("li");
        const words = document.createElement("bdi");
        words.textContent = line;
        item.append(words);
        return item;
      }),
    );
  }

  async function look() {
    one("said").hidden = true;
    const text = report.value;
    const found = await desk.post("/record/report/look", { report: text });
    if (!found) return;
    looked = text;
    desk.tell([], false);
    one("said-title").textContent = found.title;
    list(one("told"), found.told);
    list(one("will"), found.will.length ? found.will : ["Nothing: the log has all of it, or nothing was done."]);
    one("keep").disabled = !found.will.length;
    one("said").hidden = false;
    one("said-title").focus();
  }

  async function take(file) {
    report.value = await file.text();
    look();
  }

  one("look").addEventListener("click", look);
  one("keep").addEventListener("click", () => desk.post("/record/report/keep", { report: looked }));
  one("file").addEventListener("change", (event) => event.target.files.length && take(event.target.files[0]));
  report.addEventListener("input", () => (one("said").hidden = true)); // what was said is of another text
  const drop = one("drop");
  for (const name of ["dragover", "dragleave", "drop"]) {
    drop.addEventListener(name, function (event) {
      event.preventDefault();
      drop.classList.toggle("over", name === "dragover");
      if (name === "drop" && event.dataTransfer.files.length) take(event.dataTransfer.files[0]);
    });
  }
})();
