// The part of the dialog that one value is typed, chosen, ticked or listed in.
"use strict";
const farmField = (function () {
  const part = (name) => document.getElementById("set-" + name);
  const LISTS = JSON.parse(document.getElementById("lists").dataset.lists);
  const HELP = {
    time: "Hours and minutes: 07:15",
    day: "Month and day: 10-31",
    words: "With commas between them; empty for none.",
    lines: "Each on a line of its own; empty for none. A short name, such as stings, stands for the program's own words.",
    number: "A number, with a decimal point.",
    figure: "A number, with a decimal point.",
    rows: "Numbers, with a decimal point. A block from a spreadsheet may be pasted.",
  };
  let shown = "text";

  function ticks(choices, value) {
    const ticked = value ? value.split(", ") : [];
    part("ticks").replaceChildren(part("ticks").querySelector("legend"), ...choices.map(function (choice) {
      const label = document.createElement("label"), box = document.createElement("input"), words = document.createElement("bdi");
      box.type = "checkbox";
      box.value = choice;
      box.checked = ticked.includes(choice);
      words.textContent = choice;
      label.append(box, words);
      return label;
    }));
  }

  function partOf(kind) {
    if (kind === "rows") return "table";
    if (kind === "truth" || kind === "choice") return "choice";
    return kind === "ticks" || kind === "lines" ? kind : "text";
  }

  function show(data) {
    const choices = data.kind === "truth" ? ["yes", "no"] : data.list === undefined ? [] : LISTS[Number(data.list)];
    shown = partOf(data.kind);
    for (const name of ["text", "choice", "lines", "ticks", "table"]) part(name).hidden = name !== shown;
    part("one").hidden = shown === "ticks" || shown === "table";
    part("help").textContent = HELP[data.kind] || "";
    if (shown === "choice") part("choice").replaceChildren(...choices.map((one) => new Option(one || "(none)", one, false, one === data.value)));
    else if (shown === "ticks") ticks(choices, data.value);
    else if (shown === "table") farmTable.show(JSON.parse(data.table));
    else part(shown).value = data.value;
  }

  function focus() {
    if (shown === "table") farmTable.focus();
    else if (shown === "ticks") (part("ticks").querySelector("input") || part("write")).focus();
    else part(shown).focus();
    if (shown === "text") part("text").select();
  }

  function text() {
    if (shown === "table") return JSON.stringify(farmTable.texts());
    if (shown === "ticks") return Array.from(part("ticks").querySelectorAll("input:checked"), (box) => box.value).join(", ");
    return part(shown).value;
  }

  // Tells the field that what is in it has a fault, or none.
  function mark(faulty) {
    if (shown === "table") return farmTable.mark(faulty);
    if (shown === "ticks") return faulty && focus();
    part(shown).setAttribute("aria-invalid", String(faulty));
    if (faulty) part(shown).focus();
  }

  return { show, focus, text, mark };
})();
