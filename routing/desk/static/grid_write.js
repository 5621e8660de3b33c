// What is written is sent at once. What would add a fault is not written; it stays here as a draft, with the fault in its cell.
"use strict";
(function () {
  const g = gridParts;
  if (!g) return;
  const { table, name, byId, isNew, columns, idOf, pending, element } = g;

  async function send() {
    if (g.sending) {
      g.again = true;
      return;
    }
    const sent = g.rows.filter((row) => row.dropped || (Object.keys(row.mine).length && (!isNew(row) || Object.values(row.mine).some(Boolean))));
    if (!sent.length) {
      told();
      return;
    }
    g.sending = true;
    const fields = { name: name, base: g.loaded, private: g.shownPrivate, cells: [], added: [], dropped: [] };
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
    if (g.editing) g.waiting = () => answered(answer, sent, added, copies);
    else answered(answer, sent, added, copies);
  }

  function answered(answer, sent, added, copies) {
    table.removeAttribute("aria-busy");
    g.sending = false;
    if (answer) came(answer, sent, added, copies);
    else {
      for (const row of sent) row.dropped = false;
      g.draw();
      told();
    }
    if (g.again) {
      g.again = false;
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
    const focusRow = g.rows[g.at.row], focusAt = added.indexOf(focusRow);
    if (outcome.both.length) conflict(outcome, answer.table, lines);
    g.take(answer.table, lines, outcome);
    if (focusAt >= 0 && newLines.has(focusAt)) {
      g.at.row = g.rows.findIndex((row) => row.line === newLines.get(focusAt));
      if (table.contains(document.activeElement) || document.activeElement === document.body) g.focusCell(g.at.row, g.at.column);
    }
    if (outcome.broken.length) desk.tell(["Not written, because then:", ...outcome.broken], true);
    else if (outcome.both.length) desk.tell([outcome.said], true);
    else if (outcome.merged) desk.tell([`${answer.table.file} was changed elsewhere too: both changes are in it.`]);
    else desk.tell(g.afterwards, g.afterwards.length > 0);
    g.afterwards = [];
  }

  function conflict(outcome, fresh, lines) {
    const dialog = byId("grid-conflict"), list = byId("grid-conflict-rows");
    list.replaceChildren();
    const touched = [];
    for (const one of outcome.both) {
      const row = g.rows.find((each) => each.line === one.line) || { mine: {}, cells: {} };
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
          const now = g.rows.find((each) => each.line && each.line === lines[row.line]) || g.rows.find((each) => each.mine === row.mine);
          if (now) delete now.mine[one.column];
        }
        g.rows = g.rows.filter((row) => !isNew(row) || Object.keys(row.mine).length);
        g.draw();
        send();
      } else if (dialog.returnValue === "mine") send();
      told();
      g.focusCell(g.at.row, g.at.column);
    };
    dialog.showModal();
  }

  let turn = Promise.resolve();

  function step(way) { // one after the other: what came last is what is shown
    turn = turn.then(() => stepped(way)).catch(() => {});
  }

  async function stepped(way) {
    const held = g.rows.filter((row) => Object.keys(row.mine).length);
    if (way === "undo" && held.length) { // what is not written yet is taken back first
      const row = held[held.length - 1];
      row.mine = {};
      row.faults = row.faults.filter((fault) => !fault.draft);
      if (isNew(row)) g.rows.splice(g.rows.indexOf(row), 1);
      g.draw();
      told();
      g.focusCell(g.at.row, g.at.column);
      return;
    }
    const answer = await desk.post(`/tables/${way}`, { name: name, private: g.shownPrivate });
    if (!answer) return;
    g.take(answer.table, {}, null);
    desk.tell([answer.said], !answer.outcome.kept);
  }

  function told() {
    const held = g.rows.filter((row) => Object.keys(row.mine).length).length;
    const stops = g.state.faults.filter((fault) => !fault.warning).length, filled = g.rows.filter((row) => !g.isBlank(row)).length;
    byId("grid-state").textContent = [
      g.state.closed || "",
      `${filled === 1 ? "1 row" : `${filled} rows`} in ${g.state.file}.`,
      g.sending ? "Writing." : held ? `${held} ${held === 1 ? "row is" : "rows are"} not written yet.` : "All is written.",
      stops ? `${stops} ${stops === 1 ? "fault" : "faults"} in the table.` : "",
      g.state.kept ? `${g.state.kept} ${g.state.kept === 1 ? "column" : "columns"} of your own are kept and not shown.` : "",
    ].filter(Boolean).join(" ");
    const list = byId("grid-elsewhere");
    list.replaceChildren(...g.state.elsewhere.map((line) => { const item = element("li"); item.append(element("bdi", "", line)); return item; }));
    byId("grid-others").hidden = !g.state.elsewhere.length;
    const [undo, redo] = g.state.can;
    byId("grid-undo").disabled = !undo && !pending();
    byId("grid-redo").disabled = !redo;
    byId("grid-undo").title = undo;
    byId("grid-redo").title = redo;
    for (const id of ["grid-add", "grid-drop"]) byId(id).disabled = Boolean(g.state.closed);
  }

  Object.assign(g, { answered, came, conflict, send, step, told });
})();
