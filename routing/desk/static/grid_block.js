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

  const plain = (words) => words.trim().toLowerCase().replace(/[\s_-]+/g, " ");

  // Where a latitude and a longitude stand in a block whose table has one cell for the place.
  function pairOf(cells, named) {
    const whole = columns().find((one) => one.pair.length);
    if (!whole || named.includes(whole)) return null;
    const found = whole.pair.map((words) => cells.findIndex((cell) => words.includes(plain(cell))));
    return found.includes(-1) ? null : found;
  }

  // The columns that a block's first line names, and what it names besides; null where it is no header.
  function headed(cells) {
    const found = cells.map((words) => columns().find((one) => plain(words) === one.label) || columns().find((one) => one.also.includes(plain(words))));
    const named = found.map((one, number) => (one && found.indexOf(one) === number ? one : null)); // the first of two counts
    const pair = pairOf(cells, named);
    if (pair) named[pair[0]] = columns().find((one) => one.pair.length);
    if (named.filter(Boolean).length < 2) return null;
    const aside = cells.filter((words, number) => !named[number] && words.trim() && !(pair && pair[1] === number));
    return { places: named, pair: pair, aside: aside.map((words) => `“${words.trim()}”`) };
  }

  function paste(block, below) {
    if (g.state.closed) return g.mayEdit({});
    let lines = cut(block), hiddenOnes = 0;
    if (!lines.length) return false;
    const header = headed(lines[0]), places = header && header.places;
    if (header) lines = lines.slice(1);
    if (header && header.pair) for (const cells of lines) cells[header.pair[0]] = header.pair.map((at) => (cells[at] || "").trim()).filter(Boolean).join(", ");
    const part = g.box();
    const top = below || (places && !g.isBlank(g.rows[part.top])) ? g.rows.findLastIndex((row) => !g.isBlank(row)) + 1 : part.top;
    if (below) part.left = g.firstColumn();
    const one = !places && lines.length === 1 && lines[0].length === 1;
    const high = one ? part.bottom - part.top + 1 : lines.length, wide = one ? part.right - part.left + 1 : 0;
    for (let down = 0; down < high; down += 1) {
      const cells = one ? Array(wide).fill(lines[0][0]) : lines[down];
      let row = g.rows[top + down];
      if (!row) {
        row = g.blankRow();
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
    const said = [];
    if (hiddenOnes) said.push(`${hiddenOnes} private cells were not pasted: press “Show private details” first.`);
    if (header && header.aside.length) said.push(`Left aside, as this table has no such column: ${header.aside.join(", ")}.`);
    if (said.length) desk.tell(said, true);
    g.afterwards = said; // and told again when the rest is written
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
