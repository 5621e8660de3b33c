// Changing one value of the farm in a dialog: a fault is told there, and what was changed elsewhere is shown beside.
"use strict";
(function () {
  const AT = "farm-at";
  const dialog = document.getElementById("set"), form = document.getElementById("set-form");
  const part = (name) => document.getElementById("set-" + name);
  let now = null, was = "";

  function told(lines, place) {
    const list = document.createElement("ul");
    list.className = "faults";
    for (const line of lines) {
      const item = document.createElement("li"), words = document.createElement("bdi");
      words.textContent = line;
      item.append(words);
      list.append(item);
    }
    place.replaceChildren(...(lines.length ? [list] : []));
  }

  function open(button) {
    const row = button.closest("tr"), words = (part) => row.querySelector(part).textContent;
    const data = Object.assign({ value: words("td bdi") }, button.dataset);
    now = button;
    was = data.value;
    part("title").textContent = button.closest("table").dataset.title + ": " + words("th bdi");
    part("source").textContent = words(".source bdi");
    part("own").value = data.from || "";
    part("from").hidden = data.from === undefined;
    part("out").hidden = !data.out;
    part("both").hidden = true;
    farmField.show(data);
    told([], part("faults"));
    farmField.mark(false);
    dialog.showModal();
    farmField.focus();
  }

  async function write(fields) {
    const key = { key: now.dataset.key, whose: now.dataset.whose || "", was: was };
    const found = await posted("/farm/set", Object.assign(key, { source: part("own").value }, fields));
    if (!found) return;
    if (found.faults) {
      told(found.faults, part("faults"));
      farmField.mark(true);
    } else if (found.both) {
      for (const name of ["was", "mine", "theirs"]) part(name).textContent = found.both[name] || "empty";
      was = found.both.theirs;
      part("both").hidden = false;
      part("write").focus();
    } else done(found.lines, now.dataset.key);
  }

  // What the desk refuses is told in the dialog too, which stands over the place where it is told else.
  async function posted(url, fields) {
    const found = await desk.post(url, fields);
    if (!found) told(Array.from(document.querySelectorAll("#messages p"), (line) => line.textContent), part("faults"));
    return found;
  }

  function done(lines, key) {
    sessionStorage.setItem(AT, key);
    desk.anew(lines);
  }

  form.addEventListener("submit", function (event) {
    event.preventDefault();
    write({ text: farmField.text() });
  });
  part("out").addEventListener("click", () => write({ text: "", out: true }));
  part("leave").addEventListener("click", () => dialog.close());
  dialog.addEventListener("close", () => now && now.focus());

  document.addEventListener("click", async function (event) {
    const button = event.target.closest("button.set, button.drop-table");
    if (!button) return;
    if (button.classList.contains("set")) return open(button);
    const found = await desk.post("/farm/drop", { key: button.dataset.key });
    if (found && found.faults) desk.tell(found.faults, true);
    else if (found) desk.anew(found.lines);
  });

  for (const adding of document.querySelectorAll("form.add-table")) {
    adding.addEventListener("submit", async function (event) {
      event.preventDefault();
      const found = await desk.post("/farm/add", Object.assign(desk.fields(adding), { what: adding.dataset.what }));
      if (found && found.faults) told(found.faults, adding.querySelector(".add-faults"));
      else if (found) desk.anew(found.lines);
    });
  }

  // Back to the value that was changed.
  const at = sessionStorage.getItem(AT);
  sessionStorage.removeItem(AT);
  const button = at && document.querySelector('button.set[data-key="' + CSS.escape(at) + '"]');
  if (button) {
    for (let box = button.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
    button.focus();
  }
})();
