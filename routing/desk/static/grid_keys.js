// Keys, mouse and buttons of the grid, and what other scripts may ask of it.
"use strict";
(function () {
  const g = gridParts;
  if (!g) return;
  const { table, name, byId, body, listeners, text, columns, pending } = g;

  const MOVES = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1], PageUp: [-10, 0], PageDown: [10, 0] };
  function moved(event) {
    const [down, right] = MOVES[event.key];
    if (event.shiftKey && !g.from) g.from = { row: g.at.row, column: g.at.column };
    const far = event.ctrlKey || event.metaKey;
    const row = far && down ? (down < 0 ? 0 : g.rows.length - 1) : g.at.row + down;
    const column = far && right ? (right < 0 ? 0 : columns().length - 1) : g.at.column + right;
    g.focusCell(row, column, event.shiftKey);
  }

  function keyInCell(event) {
    const far = event.ctrlKey || event.metaKey, key = event.key.toLowerCase();
    if (event.key in MOVES && !event.altKey) moved(event);
    else if (event.key === "Home") g.focusCell(far ? 0 : g.at.row, 0);
    else if (event.key === "End") g.focusCell(far ? g.rows.length - 1 : g.at.row, columns().length - 1);
    else if (event.key === "Enter" || event.key === "F2") g.edit();
    else if (event.key === "Delete" || event.key === "Backspace") { if (!g.state.closed) g.clear(); }
    else if (far && key === "z" && !event.shiftKey) g.step("undo");
    else if (far && (key === "y" || (key === "z" && event.shiftKey))) g.step("redo");
    else if (far && key === "a") { g.from = { row: g.rows.length - 1, column: columns().length - 1 }; g.at = { row: 0, column: 0 }; g.mark(); g.cellAt(0, 0).focus(); }
    else if (!far && !event.altKey && event.key.length === 1) g.edit(event.key);
    else return;
    event.preventDefault();
  }

  function keyInEditor(event) {
    if (event.key === "Escape") {
      g.closeEditor(false);
      g.focusCell(g.at.row, g.at.column);
    } else if (event.key === "Enter" && !(event.altKey || event.shiftKey)) {
      g.closeEditor(true);
      g.focusCell(g.at.row + 1, g.at.column);
    } else if (event.key === "Tab") {
      g.closeEditor(true);
      g.focusCell(g.at.row, g.at.column + (event.shiftKey ? -1 : 1));
    } else return;
    event.preventDefault();
  }

  table.addEventListener("keydown", function (event) {
    if (event.isComposing) return;
    if (g.editing && event.target === g.editing.field) keyInEditor(event);
    else if (event.target.closest("td")) keyInCell(event);
  });
  function cellOf(event) {
    const cell = event.target.closest("td");
    return cell && body.contains(cell) ? { row: cell.parentElement.sectionRowIndex, column: cell.cellIndex } : null;
  }
  table.addEventListener("mousedown", function (event) {
    const place = cellOf(event);
    if (!place || (g.editing && g.editing.cell.contains(event.target))) return;
    event.preventDefault();
    if (g.editing) g.closeEditor(true);
    if (event.shiftKey && !g.from) g.from = { row: g.at.row, column: g.at.column };
    g.focusCell(place.row, place.column, event.shiftKey);
  });
  table.addEventListener("dblclick", function (event) { if (cellOf(event) && !g.editing) g.edit(); });
  table.addEventListener("focusin", function (event) {
    const place = g.editing ? null : cellOf(event);
    if (place && (place.row !== g.at.row || place.column !== g.at.column)) { g.at = place; g.from = null; g.mark(); }
  });
  const inGrid = () => !g.editing && table.contains(document.activeElement);
  document.addEventListener("copy", function (event) {
    if (!inGrid()) return;
    event.clipboardData.setData("text/plain", g.copied());
    event.preventDefault();
  });
  document.addEventListener("cut", function (event) {
    if (!inGrid() || g.state.closed) return;
    event.clipboardData.setData("text/plain", g.copied());
    g.clear();
    event.preventDefault();
  });
  document.addEventListener("paste", function (event) {
    const block = event.clipboardData.getData("text/plain"), nowhere = document.activeElement === document.body || document.activeElement.id === "main";
    if (!inGrid() && !(nowhere && /[\t\n]/.test(block))) return;
    g.paste(block, !inGrid());
    event.preventDefault();
  });

  byId("grid-add").addEventListener("click", function () { g.addRow({}); });
  byId("grid-drop").addEventListener("click", g.dropRows);
  byId("grid-undo").addEventListener("click", function () { g.step("undo"); });
  byId("grid-redo").addEventListener("click", function () { g.step("redo"); });
  byId("grid-private").addEventListener("click", function (event) {
    g.shownPrivate = !g.shownPrivate;
    event.currentTarget.setAttribute("aria-pressed", String(g.shownPrivate));
    g.load();
  });
  window.addEventListener("beforeunload", function (event) { if (pending()) event.preventDefault(); });
  async function looked() { // was the file changed elsewhere while this page was not looked at?
    if (document.hidden || g.sending || g.editing || pending() || !g.state) return;
    try {
      const answer = await fetch(`/tables/${name}/digest`);
      if (answer.ok && (await answer.json()).digest !== g.loaded && !pending() && !g.editing) g.load();
    } catch { /* told when something is written */ }
  }
  document.addEventListener("visibilitychange", looked);
  window.addEventListener("focus", looked);

  window.grid = {
    onChange: (listener) => listeners.push(listener),
    reload: g.load,
    addRow: g.addRow,
    send: g.send,
    put: function (row, column, value) {
      const found = columns().find((one) => one.name === column);
      if (found && g.put(row, found, value)) g.redraw(row);
    },
    text: text,
    has: (column) => columns().some((one) => one.name === column && one.in_file),
    chosen: () => g.rows[g.at.row],
    isBlank: g.isBlank,
    choose: function (row, focus) {
      const number = g.rows.indexOf(row);
      if (number < 0) return;
      if (focus) g.focusCell(number, g.at.column);
      else { g.at.row = number; g.from = null; g.mark(); row.ui.scrollIntoView({ block: "nearest" }); }
    },
  };
  g.load();
})();
