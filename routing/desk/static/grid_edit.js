// Writing in one cell of the grid, and adding rows.
"use strict";
(function () {
  const g = gridParts;
  if (!g) return;
  const { text, isNew, columns, idOf, element } = g;

  function mayEdit(column) {
    if (g.state.closed) desk.tell([g.state.closed], true);
    else if (column.private && !g.shownPrivate) desk.tell(["Private details are hidden: press “Show private details” first."], true);
    else return true;
    return false;
  }

  function edit(first) {
    const row = g.rows[g.at.row], column = columns()[g.at.column];
    if (!row || row.dropped || !mayEdit(column)) return;
    const cell = g.cellAt(g.at.row, g.at.column), value = text(row, column.name);
    const field = column.choices.length ? chooser(column, value, first) : column.name.includes("note") ? element("textarea") : element("input");
    if (!column.choices.length) field.value = first === undefined ? value : first;
    field.setAttribute("aria-label", `${column.label} of ${idOf(row) || "the new row"}`);
    const described = cell.getAttribute("aria-describedby");
    if (described) field.setAttribute("aria-describedby", described);
    if (cell.getAttribute("aria-invalid")) field.setAttribute("aria-invalid", "true");
    field.maxLength = 5000;
    field.spellcheck = false;
    field.autocomplete = "off";
    cell.querySelector(".value").replaceWith(field);
    cell.classList.add("open");
    cell.removeAttribute("tabindex"); // the field in it is what has the focus
    g.editing = { field: field, row: row, column: column, cell: cell, was: value };
    field.focus();
    if (field.select && first === undefined) field.select();
    field.addEventListener("blur", function () { if (g.editing && g.editing.field === field) closeEditor(true); });
  }

  function chooser(column, value, first) {
    const field = element("select");
    const known = column.choices.some((one) => one[0] === value);
    for (const [choice, words] of [["", ""], ...(known || !value ? [] : [[value, value]]), ...column.choices]) {
      const option = element("option", "", words || "(blank)");
      option.value = choice;
      field.append(option);
    }
    field.value = value;
    if (first) {
      const wanted = column.choices.find((one) => one[1].toLowerCase().startsWith(first.toLowerCase()) || one[0].toLowerCase().startsWith(first.toLowerCase()));
      if (wanted) field.value = wanted[0];
    }
    return field;
  }

  function closeEditor(keep) {
    if (!g.editing) return;
    const { field, row, column, cell } = g.editing;
    const value = field.value;
    g.editing = null;
    cell.tabIndex = -1;
    if (keep) put(row, column, value);
    g.redraw(row);
    g.mark();
    if (g.waiting) {
      const takeIn = g.waiting;
      g.waiting = null;
      takeIn();
    }
    if (keep) g.send();
  }

  function put(row, column, value) {
    if (column.private && !g.shownPrivate) return false;
    const now = row.cells[column.name] === undefined ? "" : row.cells[column.name];
    if (value === text(row, column.name)) return false;
    if (value === now && !isNew(row)) delete row.mine[column.name];
    else row.mine[column.name] = value;
    row.faults = row.faults.filter((fault) => !fault.draft || (fault.column && fault.column !== column.name));
    return true;
  }

  function addRow(cells, quiet) {
    const anchor = g.rows[g.at.row], free = g.rows.find(g.isBlank), row = free || g.blankRow();
    Object.assign(row.mine, cells);
    if (!free) {
      row.after = anchor ? anchor.line || anchor.after : 0;
      g.rows.splice(anchor ? g.at.row + 1 : g.rows.length, 0, row);
    }
    g.draw();
    if (!quiet) g.focusCell(g.rows.indexOf(row), g.firstColumn());
    return row;
  }

  function dropRows() {
    const part = g.box();
    for (const row of g.rows.slice(part.top, part.bottom + 1)) {
      if (isNew(row)) g.rows.splice(g.rows.indexOf(row), 1);
      else {
        row.mine = {};
        row.faults = [];
        row.dropped = true;
      }
    }
    g.from = null;
    g.draw();
    g.focusCell(g.at.row, g.at.column);
    g.send();
  }

  Object.assign(g, { addRow, chooser, closeEditor, dropRows, edit, mayEdit, put });
})();
