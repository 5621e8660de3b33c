// A value that is a table of numbers, in a dialog: rows of fields; a block from a spreadsheet may be pasted into it.
"use strict";
const farmTable = (function () {
  const place = document.getElementById("set-table");
  let columns = [], names = [];

  const inputs = (row) => Array.from(row.querySelectorAll("input"));
  const rows = () => Array.from(place.querySelectorAll("tbody tr"));

  function cell(text) {
    const made = document.createElement("td"), input = document.createElement("input");
    input.value = text;
    input.defaultValue = text;
    input.autocomplete = "off";
    input.inputMode = "decimal";
    input.setAttribute("aria-describedby", "set-faults");
    made.append(input);
    return made;
  }

  function rowOf(texts) {
    const row = document.createElement("tr");
    if (names.length) {
      const head = document.createElement("th");
      head.scope = "row";
      row.append(head);
    }
    row.append(...texts.map(cell));
    if (!names.length) {
      const out = document.createElement("td"), button = document.createElement("button");
      button.type = "button";
      button.className = "quiet";
      button.textContent = "Out";
      button.addEventListener("click", () => leaveOut(row));
      out.append(button);
      row.append(out);
    }
    return row;
  }

  // Names each field by its row and its column, as they stand now.
  function named() {
    rows().forEach(function (row, number) {
      const whose = names[number] || "Row " + (number + 1), button = row.querySelector("button");
      if (names.length) row.querySelector("th").textContent = whose;
      inputs(row).forEach((input, at) => input.setAttribute("aria-label", whose + ", " + columns[at]));
      if (button) button.setAttribute("aria-label", "Leave out row " + (number + 1));
    });
  }

  function leaveOut(row) {
    const next = row.nextElementSibling || row.previousElementSibling;
    row.remove();
    named();
    (next ? inputs(next)[0] : place.querySelector("button.more")).focus();
  }

  function add() {
    const row = rowOf(columns.map(() => ""));
    place.querySelector("tbody").append(row);
    named();
    inputs(row)[0].focus();
  }

  function head() {
    const made = document.createElement("thead"), row = document.createElement("tr");
    for (const words of [...(names.length ? ["Month"] : []), ...columns]) {
      const one = document.createElement("th");
      one.scope = "col";
      one.textContent = words;
      row.append(one);
    }
    if (!names.length) row.append(document.createElement("td"));
    made.append(row);
    return made;
  }

  function show(found) {
    columns = found.columns;
    names = found.names;
    const table = document.createElement("table"), body = document.createElement("tbody");
    body.append(...found.rows.map(rowOf));
    table.append(head(), body);
    place.replaceChildren(table);
    named();
    if (names.length) return;
    const more = document.createElement("button");
    more.type = "button";
    more.className = "quiet more";
    more.textContent = "One row more";
    more.addEventListener("click", add);
    place.append(more);
  }

  const texts = () => rows().map((row) => inputs(row).map((input) => input.value.trim()));

  // Marks the fields that are no number, else those that were changed: one of them is what a fault is of.
  function mark(faulty) {
    const all = rows().flatMap(inputs), changed = all.filter((input) => input.value !== input.defaultValue);
    const odd = all.filter((input) => !/^[+-]?\d+([.,]\d+)?$/.test(input.value.trim()));
    const wrong = odd.length ? odd : changed;
    for (const input of all) input.setAttribute("aria-invalid", String(faulty && wrong.includes(input)));
    if (faulty && all.length) (wrong[0] || all[0]).focus();
  }

  // A block goes into the fields from the one it is pasted into; one line goes down where there is one column.
  place.addEventListener("paste", function (event) {
    const lines = event.clipboardData.getData("text/plain").replace(/\r?\n$/, "").split(/\r?\n/).map((line) => line.split("\t"));
    if (lines.length < 2 && lines[0].length < 2) return;
    event.preventDefault();
    const block = columns.length === 1 && lines.length === 1 ? lines[0].map((text) => [text]) : lines;
    const row = event.target.closest("tr"), at = inputs(row).indexOf(event.target), first = rows().indexOf(row);
    while (!names.length && rows().length < first + block.length) add();
    block.forEach((line, down) => line.forEach(function (text, along) {
      const input = rows()[first + down] && inputs(rows()[first + down])[at + along];
      if (input) input.value = text.trim();
    }));
    event.target.focus();
  });

  return { show, texts, mark, focus: () => place.querySelector("input, button").focus() };
})();
