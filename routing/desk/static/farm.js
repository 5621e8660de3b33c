// Changing one value of the farm in a dialog: a fault is told there, and what was changed elsewhere is shown beside.
"use strict";
(function () {
  const AT = "farm-at";
  const dialog = document.getElementById("set"), form = document.getElementById("set-form");
  const part = (name) => document.getElementById("set-" + name);
  const HELP = {
    time: "Hours and minutes: 07:15",
    words: "With commas between them; empty for none.",
    number: "A number, with a decimal point.",
    figure: "A number, with a decimal point.",
  };
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
    part("text").setAttribute("aria-invalid", String(lines.length > 0));
  }

  function open(button) {
    const data = button.dataset;
    const choices = data.kind === "truth" ? ["yes", "no"] : JSON.parse(data.choices);
    now = button;
    was = data.value;
    part("title").textContent = data.title;
    part("source").textContent = data.source;
    part("text").hidden = choices.length > 0;
    part("choice").hidden = !choices.length;
    part("choice").replaceChildren(...choices.map((one) => new Option(one, one, false, one === data.value)));
    part("text").value = data.value;
    part("own").value = "";
    part("from").hidden = data.kind !== "figure";
    part("help").textContent = HELP[data.kind] || "";
    part("out").hidden = !data.out;
    part("both").hidden = true;
    told([], part("faults"));
    dialog.showModal();
    const field = choices.length ? part("choice") : part("text");
    field.focus();
    if (field.select) field.select();
  }

  async function write(text) {
    const found = await posted("/farm/set", { key: now.dataset.key, text: text, source: part("own").value, was: was });
    if (!found) return;
    if (found.faults) {
      told(found.faults, part("faults"));
      part("text").focus();
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
    write(part("choice").hidden ? part("text").value : part("choice").value);
  });
  part("out").addEventListener("click", () => write(""));
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
