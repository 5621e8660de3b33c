// A table of the farm as a grid: keys as in a spreadsheet, blocks by copy and paste, what is written sent at once.
// What would add a fault is not written; it stays here as a draft, with the fault in its cell.
"use strict";
(function () {
  const table = document.getElementById("grid");
  if (!table) return;
  const name = table.dataset.name;
  const byId = (id) => document.getElementById(id);
  const about = byId("grid-about"), heads = table.tHead, body = table.tBodies[0];
  let state = null; // the table as it was read last
  let rows = []; // {line, after, cells, mine: {column: text}, dropped, faults, ui}
  let at = { row: 0, column: 0 }, from = null; // the cell that has the focus; the other corner of what is marked
  let editing = null, sending = false, again = false, shownPrivate = false, loaded = "";
  let waiting = null; // an answer that came while a cell was written in
  const listeners = [];

  const text = (row, column) => (column in row.mine ? row.mine[column] : row.cells[column] === undefined ? "" : row.cells[column]);
  const isNew = (row) => row.line === 0;
  const columns = () => state.columns;
  const idOf = (row) => text(row, "id") || text(row, "site") || "";
  const pending = () => rows.some((row) => row.dropped || Object.keys(row.mine).length);

  // ---- reading and showing
  async function load() {
    let answer;
    try {
      answer = await fetch(`/tables/${name}?private=${shownPrivate ? "yes" : "no"}`, { headers: { "Desk-Farm": document.body.dataset.farm } });
      if (!answer.ok || !(answer.headers.get("Content-Type") || "").startsWith("application/json")) throw new Error();
    } catch {
      desk.tell(["This table could not be read. Load the page again."], true);
      return;
    }
    take(await answer.json(), {}, null);
  }

  function take(fresh, lines, outcome) {
    const focused = table.contains(document.activeElement);
    const before = rows, keeper = before[at.row];
    state = fresh;
    loaded = fresh.digest;
    const byLine = new Map();
    rows = fresh.rows.map((row) => {
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
        const place = rows.indexOf(byLine.get(lines[old.after] || old.after));
        const kept = { line: 0, after: lines[old.after] || old.after, cells: {}, mine: isNew(old) ? old.mine : Object.assign({}, old.cells, old.mine), dropped: false, faults: old.faults };
        rows.splice(place < 0 ? rows.length : place + 1, 0, kept);
        if (old === keeper) at.row = rows.indexOf(kept);
      }
    }
    for (const fault of fresh.faults) {
      const row = byLine.get(fault.line);
      if (row) row.faults = row.faults.filter((one) => one.draft).concat(row.faults.filter((one) => !one.draft), [fault]);
    }
    if (keeper && keeper.line && byLine.get(lines[keeper.line] || keeper.line)) at.row = rows.indexOf(byLine.get(lines[keeper.line] || keeper.line));
    draw();
    told();
    if (focused) focusCell(at.row, at.column);
    for (const listener of listeners) listener(state, rows);
  }

  function element(tag, className, words) {
    const made = document.createElement(tag);
    if (className) made.className = className;
    if (words !== undefined) made.textContent = words;
    return made;
  }

  function draw() {
    closeEditor(false);
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
    table.setAttribute("aria-rowcount", rows.length + 1);
    table.setAttribute("aria-colcount", columns().length);
    table.setAttribute("aria-readonly", state.closed ? "true" : "false");
    body.replaceChildren(...rows.map(drawRow));
    at.row = Math.max(0, Math.min(at.row, rows.length - 1));
    at.column = Math.max(0, Math.min(at.column, columns().length - 1));
    mark();
    byId("grid-empty").hidden = rows.length > 0;
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
    cell.setAttribute("aria-readonly", String(Boolean(state.closed) || (column.private && !shownPrivate)));
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
    const number = rows.indexOf(row);
    if (number < 0) return;
    for (const [place, column] of columns().entries()) fillCell(cellAt(number, place), row, column, number, place);
    rows[number].ui.className = row.dropped ? "dropped" : isNew(row) ? "new" : "";
  }

  function box() {
    const other = from || at;
    return {
      top: Math.min(at.row, other.row), bottom: Math.max(at.row, other.row),
      left: Math.min(at.column, other.column), right: Math.max(at.column, other.column),
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
    const cell = cellAt(at.row, at.column);
    if (cell) cell.tabIndex = 0;
    const column = columns()[at.column];
    about.textContent = column ? `${column.label}: ${column.note || "any text."}${column.in_file ? "" : " Your file has no such column yet; writing here adds it."}` : "";
  }

  function focusCell(row, column, keep) {
    at = { row: Math.max(0, Math.min(row, rows.length - 1)), column: Math.max(0, Math.min(column, columns().length - 1)) };
    if (!keep) from = null;
    mark();
    const cell = cellAt(at.row, at.column);
    if (cell) cell.focus();
    const chosen = rows[at.row];
    if (chosen) table.dispatchEvent(new CustomEvent("row-chosen", { detail: { row: chosen } }));
  }

  // ---- editing one cell
  function mayEdit(column) {
    if (state.closed) desk.tell([state.closed], true);
    else if (column.private && !shownPrivate) desk.tell(["Private details are hidden: press “Show private details” first."], true);
    else return true;
    return false;
  }

  function edit(first) {
    const row = rows[at.row], column = columns()[at.column];
    if (!row || row.dropped || !mayEdit(column)) return;
    const cell = cellAt(at.row, at.column), value = text(row, column.name);
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
    editing = { field: field, row: row, column: column, cell: cell, was: value };
    field.focus();
    if (field.select && first === undefined) field.select();
    field.addEventListener("blur", function () { if (editing && editing.field === field) closeEditor(true); });
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
    if (!editing) return;
    const { field, row, column, cell } = editing;
    const value = field.value;
    editing = null;
    cell.tabIndex = -1;
    if (keep) put(row, column, value);
    redraw(row);
    mark();
    if (waiting) {
      const takeIn = waiting;
      waiting = null;
      takeIn();
    }
    if (keep) send();
  }

  function put(row, column, value) {
    if (column.private && !shownPrivate) return false;
    const now = row.cells[column.name] === undefined ? "" : row.cells[column.name];
    if (value === text(row, column.name)) return false;
    if (value === now && !isNew(row)) delete row.mine[column.name];
    else row.mine[column.name] = value;
    row.faults = row.faults.filter((fault) => !fault.draft || (fault.column && fault.column !== column.name));
    return true;
  }

  // ---- writing
  async function send() {
    if (sending) {
      again = true;
      return;
    }
    const sent = rows.filter((row) => row.dropped || (Object.keys(row.mine).length && (!isNew(row) || Object.values(row.mine).some(Boolean))));
    if (!sent.length) {
      told();
      return;
    }
    sending = true;
    const fields = { name: name, base: loaded, private: shownPrivate, cells: [], added: [], dropped: [] };
    const added = [], copies = new Map();
    for (const row of sent) {
      copies.set(row, Object.assign({}, row.mine));
      if (row.dropped) fields.dropped.push(row.line);
      else if (isNew(row)) {
        added.push(row);
        fields.added.push({ after: row.after, cells: Object.fromEntries(Object.entries(row.mine).filter((one) => one[1])) });
      } else for (const [column, value] of Object.entries(row.mine)) fields.cells.push([row.line, column, value]);
    }
    table.setAttribute("aria-busy", "true");
    told();
    const answer = await desk.post("/tables/change", fields);
    if (editing) waiting = () => answered(answer, sent, added, copies);
    else answered(answer, sent, added, copies);
  }

  function answered(answer, sent, added, copies) {
    table.removeAttribute("aria-busy");
    sending = false;
    if (answer) came(answer, sent, added, copies);
    else {
      for (const row of sent) row.dropped = false;
      draw();
      told();
    }
    if (again) {
      again = false;
      send();
    }
  }

  function came(answer, sent, added, copies) {
    const outcome = answer.outcome, lines = Object.fromEntries(outcome.lines);
    const drafts = new Map();
    for (const draft of outcome.drafts) {
      const row = draft.from[0] === "new" ? added[draft.from[1]] : sent.find((one) => one.line === draft.from[1]);
      if (row) drafts.set(row, (drafts.get(row) || []).concat([Object.assign({ draft: true }, draft)]));
    }
    for (const row of sent) {
      row.dropped = false;
      row.faults = drafts.get(row) || [];
      if (!outcome.kept || drafts.has(row)) continue;
      for (const [column, value] of Object.entries(copies.get(row))) if (row.mine[column] === value) delete row.mine[column];
      if (isNew(row)) row.gone = true;
    }
    const newLines = new Map(outcome.added);
    const focusRow = rows[at.row], focusAt = added.indexOf(focusRow);
    if (outcome.both.length) conflict(outcome, answer.table, lines);
    take(answer.table, lines, outcome);
    if (focusAt >= 0 && newLines.has(focusAt)) {
      at.row = rows.findIndex((row) => row.line === newLines.get(focusAt));
      if (table.contains(document.activeElement) || document.activeElement === document.body) focusCell(at.row, at.column);
    }
    if (outcome.broken.length) desk.tell(["Not written, because then:", ...outcome.broken], true);
    else if (outcome.both.length) desk.tell([outcome.said], true);
    else if (outcome.merged) desk.tell([`${answer.table.file} was changed elsewhere too: both changes are in it.`]);
    else desk.tell([]);
  }

  function conflict(outcome, fresh, lines) {
    const dialog = byId("grid-conflict"), list = byId("grid-conflict-rows");
    list.replaceChildren();
    const touched = [];
    for (const one of outcome.both) {
      const row = rows.find((each) => each.line === one.line) || { mine: {}, cells: {} };
      touched.push([row, one]);
      const made = element("tr");
      for (const words of [`${one.column.replaceAll("_", " ")} of ${idOf(row) || "a row"}`, one.was || "(blank)", one.mine || "(blank)", one.theirs === null ? "the row is gone" : one.theirs || "(blank)"]) {
        const cell = element("td");
        cell.append(element("bdi", "", words));
        made.append(cell);
      }
      list.append(made);
    }
    dialog.returnValue = "";
    dialog.onclose = function () {
      if (dialog.returnValue === "theirs") {
        for (const [row, one] of touched) {
          const now = rows.find((each) => each.line && each.line === lines[row.line]) || rows.find((each) => each.mine === row.mine);
          if (now) delete now.mine[one.column];
        }
        rows = rows.filter((row) => !isNew(row) || Object.keys(row.mine).length);
        draw();
        send();
      } else if (dialog.returnValue === "mine") send();
      told();
      focusCell(at.row, at.column);
    };
    dialog.showModal();
  }

  async function step(way) {
    const held = rows.filter((row) => Object.keys(row.mine).length);
    if (way === "undo" && held.length) { // what is not written yet is taken back first
      const row = held[held.length - 1];
      row.mine = {};
      row.faults = row.faults.filter((fault) => !fault.draft);
      if (isNew(row)) rows.splice(rows.indexOf(row), 1);
      draw();
      told();
      focusCell(at.row, at.column);
      return;
    }
    const answer = await desk.post(`/tables/${way}`, { name: name, private: shownPrivate });
    if (!answer) return;
    take(answer.table, {}, null);
    desk.tell([answer.said], !answer.outcome.kept);
  }

  function told() {
    const held = rows.filter((row) => Object.keys(row.mine).length).length;
    const stops = state.faults.filter((fault) => !fault.warning).length;
    byId("grid-state").textContent = [
      state.closed || "",
      `${rows.length} rows in ${state.file}.`,
      sending ? "Writing." : held ? `${held} ${held === 1 ? "row is" : "rows are"} not written yet.` : "All is written.",
      stops ? `${stops} ${stops === 1 ? "fault" : "faults"} in the table.` : "",
      state.kept ? `${state.kept} ${state.kept === 1 ? "column" : "columns"} of your own are kept and not shown.` : "",
    ].filter(Boolean).join(" ");
    const list = byId("grid-elsewhere");
    list.replaceChildren(...state.elsewhere.map((line) => { const item = element("li"); item.append(element("bdi", "", line)); return item; }));
    byId("grid-others").hidden = !state.elsewhere.length;
    const [undo, redo] = state.can;
    byId("grid-undo").disabled = !undo && !pending();
    byId("grid-redo").disabled = !redo;
    byId("grid-undo").title = undo;
    byId("grid-redo").title = redo;
    for (const id of ["grid-add", "grid-drop"]) byId(id).disabled = Boolean(state.closed);
  }

  // ---- rows
  function addRow(cells, quiet) {
    const anchor = rows[at.row];
    const row = { line: 0, after: anchor ? anchor.line || anchor.after : 0, cells: {}, mine: Object.assign({}, cells), dropped: false, faults: [] };
    rows.splice(anchor ? at.row + 1 : rows.length, 0, row);
    draw();
    if (!quiet) focusCell(rows.indexOf(row), 0);
    return row;
  }

  function dropRows() {
    const part = box();
    for (const row of rows.slice(part.top, part.bottom + 1)) {
      if (isNew(row)) rows.splice(rows.indexOf(row), 1);
      else {
        row.mine = {};
        row.faults = [];
        row.dropped = true;
      }
    }
    from = null;
    draw();
    focusCell(at.row, at.column);
    send();
  }

  // ---- blocks
  function cut(block) { // tab-separated, quotes where a cell holds tabs or lines
    const found = [[]];
    let cell = "", quoted = false;
    for (let place = 0; place < block.length; place += 1) {
      const letter = block[place];
      if (quoted) {
        if (letter !== '"') cell += letter;
        else if (block[place + 1] === '"') { cell += '"'; place += 1; } else quoted = false;
      } else if (letter === '"' && cell === "") quoted = true;
      else if (letter === "\t") { found[found.length - 1].push(cell); cell = ""; }
      else if (letter === "\n" || letter === "\r") {
        if (letter === "\r" && block[place + 1] === "\n") place += 1;
        found[found.length - 1].push(cell);
        cell = "";
        found.push([]);
      } else cell += letter;
    }
    if (cell || found[found.length - 1].length) found[found.length - 1].push(cell);
    else found.pop();
    return found;
  }

  function paste(block) {
    if (state.closed) return mayEdit({});
    let lines = cut(block), places = null, hiddenOnes = 0;
    if (!lines.length) return false;
    const plain = (words) => words.trim().toLowerCase().replace(/[\s_-]+/g, " ");
    const named = lines[0].map((words) => columns().find((column) => plain(words) === column.label));
    if (lines[0].length > 1 && named.filter(Boolean).length >= 2 && named.every((one, number) => one || !lines[0][number].trim())) {
      places = named; // the block brings its own header
      lines = lines.slice(1);
    }
    const part = box(), top = places && lines.length > 1 && rows.length ? rows.length : part.top;
    const one = !places && lines.length === 1 && lines[0].length === 1;
    const high = one ? part.bottom - part.top + 1 : lines.length, wide = one ? part.right - part.left + 1 : 0;
    for (let down = 0; down < high; down += 1) {
      const cells = one ? Array(wide).fill(lines[0][0]) : lines[down];
      let row = rows[top + down];
      if (!row) {
        row = { line: 0, after: 0, cells: {}, mine: {}, dropped: false, faults: [] };
        rows.push(row);
      }
      for (const [right, words] of cells.entries()) {
        const column = places ? places[right] : columns()[part.left + right];
        if (!column) continue;
        if (column.private && !shownPrivate) { if (words) hiddenOnes += 1; } else put(row, column, words);
      }
    }
    rows = rows.filter((row) => !isNew(row) || Object.values(row.mine).some(Boolean));
    draw();
    focusCell(top, part.left);
    if (hiddenOnes) desk.tell([`${hiddenOnes} private cells were not pasted: press “Show private details” first.`], true);
    send();
    return true;
  }

  function copied() {
    const part = box(), lines = [];
    for (const row of rows.slice(part.top, part.bottom + 1)) {
      lines.push(columns().slice(part.left, part.right + 1).map(function (column) {
        const words = text(row, column.name) || "";
        return /[\t\n\r"]/.test(words) ? `"${words.replaceAll('"', '""')}"` : words;
      }).join("\t"));
    }
    return lines.join("\n");
  }

  function clear() {
    const part = box();
    for (const row of rows.slice(part.top, part.bottom + 1)) {
      for (const column of columns().slice(part.left, part.right + 1)) if (text(row, column.name) !== null) put(row, column, "");
    }
    for (const row of rows) redraw(row);
    mark();
    send();
  }

  // ---- keys, mouse, clipboard
  const MOVES = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1], PageUp: [-10, 0], PageDown: [10, 0] };
  function moved(event) {
    const [down, right] = MOVES[event.key];
    if (event.shiftKey && !from) from = { row: at.row, column: at.column };
    const far = event.ctrlKey || event.metaKey;
    const row = far && down ? (down < 0 ? 0 : rows.length - 1) : at.row + down;
    const column = far && right ? (right < 0 ? 0 : columns().length - 1) : at.column + right;
    focusCell(row, column, event.shiftKey);
  }

  function keyInCell(event) {
    const far = event.ctrlKey || event.metaKey, key = event.key.toLowerCase();
    if (event.key in MOVES && !event.altKey) moved(event);
    else if (event.key === "Home") focusCell(far ? 0 : at.row, 0);
    else if (event.key === "End") focusCell(far ? rows.length - 1 : at.row, columns().length - 1);
    else if (event.key === "Enter" || event.key === "F2") edit();
    else if (event.key === "Delete" || event.key === "Backspace") { if (!state.closed) clear(); }
    else if (far && key === "z" && !event.shiftKey) step("undo");
    else if (far && (key === "y" || (key === "z" && event.shiftKey))) step("redo");
    else if (far && key === "a") { from = { row: rows.length - 1, column: columns().length - 1 }; at = { row: 0, column: 0 }; mark(); cellAt(0, 0).focus(); }
    else if (!far && !event.altKey && event.key.length === 1) edit(event.key);
    else return;
    event.preventDefault();
  }

  function keyInEditor(event) {
    if (event.key === "Escape") {
      closeEditor(false);
      focusCell(at.row, at.column);
    } else if (event.key === "Enter" && !(event.altKey || event.shiftKey)) {
      closeEditor(true);
      focusCell(at.row + 1, at.column);
    } else if (event.key === "Tab") {
      closeEditor(true);
      focusCell(at.row, at.column + (event.shiftKey ? -1 : 1));
    } else return;
    event.preventDefault();
  }

  table.addEventListener("keydown", function (event) {
    if (event.isComposing) return;
    if (editing && event.target === editing.field) keyInEditor(event);
    else if (event.target.closest("td")) keyInCell(event);
  });
  function cellOf(event) {
    const cell = event.target.closest("td");
    return cell && body.contains(cell) ? { row: cell.parentElement.sectionRowIndex, column: cell.cellIndex } : null;
  }
  table.addEventListener("mousedown", function (event) {
    const place = cellOf(event);
    if (!place || (editing && editing.cell.contains(event.target))) return;
    event.preventDefault();
    if (editing) closeEditor(true);
    if (event.shiftKey && !from) from = { row: at.row, column: at.column };
    focusCell(place.row, place.column, event.shiftKey);
  });
  table.addEventListener("dblclick", function (event) { if (cellOf(event) && !editing) edit(); });
  table.addEventListener("focusin", function (event) {
    const place = editing ? null : cellOf(event);
    if (place && (place.row !== at.row || place.column !== at.column)) { at = place; from = null; mark(); }
  });
  const inGrid = () => !editing && table.contains(document.activeElement);
  document.addEventListener("copy", function (event) {
    if (!inGrid()) return;
    event.clipboardData.setData("text/plain", copied());
    event.preventDefault();
  });
  document.addEventListener("cut", function (event) {
    if (!inGrid() || state.closed) return;
    event.clipboardData.setData("text/plain", copied());
    clear();
    event.preventDefault();
  });
  document.addEventListener("paste", function (event) {
    if (!inGrid()) return;
    paste(event.clipboardData.getData("text/plain"));
    event.preventDefault();
  });

  byId("grid-add").addEventListener("click", function () { addRow({}); });
  byId("grid-drop").addEventListener("click", dropRows);
  byId("grid-undo").addEventListener("click", function () { step("undo"); });
  byId("grid-redo").addEventListener("click", function () { step("redo"); });
  byId("grid-private").addEventListener("click", function (event) {
    shownPrivate = !shownPrivate;
    event.currentTarget.setAttribute("aria-pressed", String(shownPrivate));
    load();
  });
  window.addEventListener("beforeunload", function (event) { if (pending()) event.preventDefault(); });
  async function looked() { // was the file changed elsewhere while this page was not looked at?
    if (document.hidden || sending || editing || pending() || !state) return;
    try {
      const answer = await fetch(`/tables/${name}/digest`);
      if (answer.ok && (await answer.json()).digest !== loaded && !pending() && !editing) load();
    } catch { /* told when something is written */ }
  }
  document.addEventListener("visibilitychange", looked);
  window.addEventListener("focus", looked);

  window.grid = {
    onChange: (listener) => listeners.push(listener),
    reload: load,
    addRow: addRow,
    send: send,
    put: function (row, column, value) {
      const found = columns().find((one) => one.name === column);
      if (found && put(row, found, value)) redraw(row);
    },
    text: text,
    has: (column) => columns().some((one) => one.name === column && one.in_file),
    chosen: () => rows[at.row],
    choose: function (row, focus) {
      const number = rows.indexOf(row);
      if (number < 0) return;
      if (focus) focusCell(number, at.column);
      else { at.row = number; from = null; mark(); row.ui.scrollIntoView({ block: "nearest" }); }
    },
  };
  load();
})();
