// Says what will be in what is ticked, and makes it only after that was said.
"use strict";
(function () {
  const form = document.getElementById("wanted");
  if (!form) return;
  const make = document.getElementById("make");
  const will = document.getElementById("will");
  const place = document.getElementById("will-be");
  const fields = form.elements;
  let asked = 0;

  async function look() {
    const mine = ++asked;
    document.getElementById("locking").hidden = !fields.lock.checked;
    make.disabled = true;
    const wanted = desk.fields(form);
    delete wanted.passphrase; // what is looked at needs none
    const found = await desk.post("/send/look", wanted);
    if (mine !== asked || !found) return; // something else was ticked meanwhile
    will.replaceChildren(
      ...found.will.map(function (line) {
        const item = document.createElement("li");
        item.textContent = line;
        return item;
      }),
    );
    place.hidden = !found.will.length;
    make.disabled = !found.will.length;
  }

  form.addEventListener("change", (event) => event.target.type === "checkbox" && look());
  form.addEventListener("submit", async function (event) {
    event.preventDefault();
    if (fields.lock.checked && fields.passphrase.value !== document.getElementById("again").value) {
      desk.tell(["The two passphrases differ; nothing was made."], true);
      return;
    }
    make.disabled = true;
    const made = await desk.post("/send/make", desk.fields(form));
    make.disabled = Boolean(made);
  });
  if (form.querySelector("input[type=checkbox]:checked")) look(); // as the browser left it
})();
