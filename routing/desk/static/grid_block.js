// Blocks of cells: as spreadsheets copy and paste them.
"use strict";
(function () {
  const g = gridParts;
  if (!g) return;
  const { text, isNew, columns } = g;

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
    if (g.state.closed) return g.mayEdit({});
    let lines = cut(block), places = null, hiddenOnes = 0;
    if (!lines.length) return false;
    const plain = (words) => words.trim().toLowerCase().replace(/[\s_-]+/g, " ");
    const named = lines[0].map((words) => columns().find((column) => plain(words) === column.label));
    if (lines[0].length > 1 && named.filter(Boolean).length >= 2 && named.every((one, number) => one || !lines[0][number].trim())) {
      places = named; // the block brings its own header
      lines = lines.slice(1);
    }
    const part = g.box(), top = places && g.rows.length ? g.rows.length : part.top;
    const one = !places && lines.length === 1 && lines[0].length === 1;
    const high = one ? part.bottom - part.top + 1 : lines.length, wide = one ? part.right - part.left + 1 : 0;
    for (let down = 0; down < high; down += 1) {
      const cells = one ? Array(wide).fill(lines[0][0]) : lines[down];
      let row = g.rows[top + down];
      if (!row) {
        row = { line: 0, after: 0, cells: {}, mine: {}, dropped: false, faults: [] };
        g.rows.push(row);
      }
      for (const [right, words] of cells.entries()) {
        const column = places ? places[right] : columns()[part.left + right];
        if (!column) continue;
        if (column.private && !g.shownPrivate) { if (words) hiddenOnes += 1; } else g.put(row, column, words);
      }
    }
    g.rows = g.rows.filter((row) => !isNew(row) || Object.values(row.mine).some(Boolean));
    g.draw();
    g.focusCell(top, part.left);
    if (hiddenOnes) desk.tell([`${hiddenOnes} private cells were not pasted: press “Show private details” first.`], true);
    g.send();
    return true;
  }

  function copied() {
    const part = g.box(), lines = [];
    for (const row of g.rows.slice(part.top, part.bottom + 1)) {
      lines.push(columns().slice(part.left, part.right + 1).map(function (column) {
        const words = text(row, column.name) || "";
        return /[\t\n\r"]/.test(words) ? `"${words.replaceAll('"', '""')}"` : words;
      }).join("\t"));
    }
    return lines.join("\n");
  }

  function clear() {
    const part = g.box();
    for (const row of g.rows.slice(part.top, part.bottom + 1)) {
      for (const column of columns().slice(part.left, part.right + 1)) if (text(row, column.name) !== null) g.put(row, column, "");
    }
    for (const row of g.rows) g.redraw(row);
    g.mark();
    g.send();
  }

  Object.assign(g, { clear, copied, cut, paste });
})();
