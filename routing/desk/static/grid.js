// A table of the farm as a grid: what was read, how it is shown, and which cell has the focus. What is written stands in the
// files beside this one: grid_edit.js a cell, grid_write.js what is sent, grid_block.js copy and paste, grid_keys.js keys and mouse.
"use strict";
const gridParts = (function () {
  const table = document.getElementById("grid");
  if (!table) return null;
  const byId = (id) => document.getElementById(id);
  const name = table.dataset.name, about = byId("grid-about"), heads = table.tHead, body = table.tBodies[0];
  const listeners = [];
  const g = {
    state: null, // the table as it was read last
    rows: [], // {line, after, cells, mine: {column: text}, dropped, faults, ui}
    at: { row: 0, column: 0 }, // the cell that has the focus
    from: null, // the other corner of what is marked
    editing: null, sending: false, again: false, shownPrivate: false, loaded: "",
    waiting: null, // an answer that came while a cell was written in
    afterwards: [], // what is to be said of a block when it is written
  };
  const text = (row, column) => (column in row.mine ? row.mine[column] : row.cells[column] === undefined ? "" : row.cells[column]);
  const isNew = (row) => row.line === 0;
  const isBlank = (row) => isNew(row) && !Object.keys(row.mine).length;
  const columns = () => g.state.columns;
  const firstColumn = () => Math.max(0, columns().findIndex((column) => column.name === "name")); // an id is made of the name
  const idOf = (row) => text(row, "id") || text(row, "site") || "";
  const pending = () => g.rows.some((row) => row.dropped || Object.keys(row.mine).length);

  async function load() {
    let answer;
    try {
      answer = await fetch(`/tables/${name}?private=${g.shownPrivate ? "yes" : "no"}`, { headers: { "Desk-Farm": document.body.dataset.farm } });
      if (!answer.ok || !(answer.headers.get("Content-Type") || "").startsWith("application/json")) throw new Error();
    } catch {
      desk.tell(["This table could not be read. Load the page again."], true);
      return;
    }
    take(await answer.json(), {}, null);
  }

  function take(fresh, lines, outcome) {
    const focused = table.contains(document.activeElement);
    const before = g.rows, keeper = before[g.at.row];
    g.state = fresh;
    g.loaded = fresh.digest;
    const byLine = new Map();
    g.rows = fresh.rows.map((row) => {
      const made = { line: row.line, after: 0, cells: row.cells, mine: {}, dropped: false, faults: [] };
      byLine.set(row.line, made);
      return made;
    });
    for (const old of before) {
      if (!Object.keys(old.mine).length || old.gone) continue;
      const now = isNew(old) ? null : byLine.get(lines[old.line] || (outcome ? 0 : old.line));
      if (now) {
        now.mine = old.mine;
        now.faults = old.faults;
      } else {
        const place = g.rows.indexOf(byLine.get(lines[old.after] || old.after));
        const kept = { line: 0, after: lines[old.after] || old.after, cells: {}, mine: isNew(old) ? old.mine : Object.assign({}, old.cells, old.mine), dropped: false, faults: old.faults };
        g.rows.splice(place < 0 ? g.rows.length : place + 1, 0, kept);
        if (old === keeper) g.at.row = g.rows.indexOf(kept);
      }
    }
    for (const fault of fresh.faults) {
      const row = byLine.get(fault.line);
      if (row) row.faults = row.faults.filter((one) => one.draft).concat(row.faults.filter((one) => !one.draft), [fault]);
    }
    if (keeper && keeper.line && byLine.get(lines[keeper.line] || keeper.line)) g.at.row = g.rows.indexOf(byLine.get(lines[keeper.line] || keeper.line));
    draw();
    g.told();
    if (focused) focusCell(g.at.row, g.at.column);
    for (const listener of listeners) listener(g.state, g.rows);
  }

  function element(tag, className, words) {
    const made = document.createElement(tag);
    if (className) made.className = className;
    if (words !== undefined) made.textContent = words;
    return made;
  }

  function blankRow() {
    return { line: 0, after: 0, cells: {}, mine: {}, dropped: false, faults: [] };
  }

  function draw() {
    g.closeEditor(false);
    if (!g.rows.length && !g.state.closed) { // as a spreadsheet has it, so that there is a cell to write in and to paste to
      g.rows.push(blankRow());
      g.at = { row: 0, column: firstColumn() };
    }
    const head = element("tr");
    head.setAttribute("aria-rowindex", "1");
    for (const [number, column] of columns().entries()) {
      const cell = element("th", column.in_file ? "" : "not-yet", column.label);
      cell.scope = "col";
      cell.setAttribute("role", "columnheader");
      cell.setAttribute("aria-colindex", number + 1);
      cell.style.minWidth = `${Math.max(5, column.wide * 0.55)}rem`;
      head.append(cell);
    }
    heads.replaceChildren(head);
    table.setAttribute("aria-rowcount", g.rows.length + 1);
    table.setAttribute("aria-colcount", columns().length);
    table.setAttribute("aria-readonly", g.state.closed ? "true" : "false");
    body.replaceChildren(...g.rows.map(drawRow));
    g.at.row = Math.max(0, Math.min(g.at.row, g.rows.length - 1));
    g.at.column = Math.max(0, Math.min(g.at.column, columns().length - 1));
    mark();
    byId("grid-empty").hidden = !g.rows.every(isBlank);
  }

  function drawRow(row, number) {
    const made = element("tr", row.dropped ? "dropped" : isNew(row) ? "new" : "");
    made.setAttribute("role", "row");
    made.setAttribute("aria-rowindex", number + 2);
    made.append(...columns().map((column, place) => drawCell(row, column, number, place)));
    row.ui = made;
    return made;
  }

  function drawCell(row, column, number, place) {
    const cell = element("td");
    cell.setAttribute("role", "gridcell");
    cell.setAttribute("aria-colindex", place + 1);
    cell.tabIndex = -1;
    fillCell(cell, row, column, number, place);
    return cell;
  }

  function fillCell(cell, row, column, number, place) {
    const value = text(row, column.name);
    const hidden = value === null;
    const words = element("bdi", "value", hidden ? "hidden" : value);
    const own = row.faults.filter((fault) => (fault.column || columns()[0].name) === column.name);
    const stops = own.some((fault) => !fault.warning);
    cell.replaceChildren(words);
    cell.className = (hidden ? "masked " : "") + (column.name in row.mine ? "draft " : "") + (stops ? "faulty" : own.length ? "doubted" : "");
    cell.setAttribute("aria-readonly", String(Boolean(g.state.closed) || (column.private && !g.shownPrivate)));
    if (stops) cell.setAttribute("aria-invalid", "true");
    else cell.removeAttribute("aria-invalid");
    if (own.length) {
      const said = element("span", "fault", own.map((fault) => (fault.draft ? "Not written yet: " : fault.warning ? "Note: " : "") + fault.text).join(" "));
      said.id = `fault-${number}-${place}`;
      cell.append(said);
      cell.setAttribute("aria-describedby", said.id);
    } else cell.removeAttribute("aria-describedby");
  }

  function cellAt(row, column) {
    const line = body.rows[row];
    return line ? line.cells[column] : null;
  }

  function redraw(row) {
    const number = g.rows.indexOf(row);
    if (number < 0) return;
    for (const [place, column] of columns().entries()) fillCell(cellAt(number, place), row, column, number, place);
    g.rows[number].ui.className = row.dropped ? "dropped" : isNew(row) ? "new" : "";
  }

  function box() {
    const other = g.from || g.at;
    return {
      top: Math.min(g.at.row, other.row), bottom: Math.max(g.at.row, other.row),
      left: Math.min(g.at.column, other.column), right: Math.max(g.at.column, other.column),
    };
  }

  function mark() {
    for (const cell of table.querySelectorAll("[aria-selected], td[tabindex='0']")) {
      cell.removeAttribute("aria-selected");
      cell.tabIndex = -1;
    }
    const part = box();
    for (let row = part.top; row <= part.bottom; row += 1) {
      for (let column = part.left; column <= part.right; column += 1) {
        const cell = cellAt(row, column);
        if (cell) cell.setAttribute("aria-selected", "true");
      }
    }
    const cell = cellAt(g.at.row, g.at.column);
    if (cell) cell.tabIndex = 0;
    const column = columns()[g.at.column];
    about.textContent = column ? `${column.label}: ${column.note || "any text."}${column.in_file ? "" : " Your file has no such column yet; writing here adds it."}` : "";
  }

  function focusCell(row, column, keep) {
    g.at = { row: Math.max(0, Math.min(row, g.rows.length - 1)), column: Math.max(0, Math.min(column, columns().length - 1)) };
    if (!keep) g.from = null;
    mark();
    const cell = cellAt(g.at.row, g.at.column);
    if (cell) cell.focus();
    const chosen = g.rows[g.at.row];
    if (chosen) table.dispatchEvent(new CustomEvent("row-chosen", { detail: { row: chosen } }));
  }

  return Object.assign(g, { table, name, byId, body, listeners, text, isNew, columns, firstColumn, blankRow, isBlank, idOf, pending, box, cellAt, draw, drawCell, drawRow, element, fillCell, focusCell, load, mark, redraw, take });
})();
