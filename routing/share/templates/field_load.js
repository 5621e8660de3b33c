/* What is on board: whether it is enough, and whether the van may carry it. All is whole thousandths, grams, millilitres. */
function fieldLoad() {
  "use strict";

  /* What jobs use and bring is a row of numbers, so that rows of more and more jobs are sums: by supply what is used and
     what is brought, the hives that are set down (grams, millilitres), how many jobs bring something; then of the trip from
     base what is used, what is brought, and how many jobs there are. */
  function placesOf(problem) {
    const supplies = problem.board.length;
    return { back: supplies, off: 2 * supplies, bringing: 2 * supplies + 2, thenUsed: 2 * supplies + 3, thenBack: 3 * supplies + 3, then: 4 * supplies + 3, wide: 4 * supplies + 4 };
  }

  function addTo(row, at, job, later) {
    for (const [supply, amount] of job.uses) row[(later ? at.thenUsed : 0) + supply] += amount;
    for (const [supply, amount] of job.brings) row[(later ? at.thenBack : at.back) + supply] += amount;
    if (later) row[at.then] += 1;
    else if (job.brings.length) row[at.bringing] += 1;
    if (job.off && !later) job.off.forEach((amount, measure) => { row[at.off + measure] += amount; });
  }

  function rowOf(problem, jobs, later) {
    const at = placesOf(problem);
    const row = new Float64Array(at.wide);
    for (const job of jobs) addTo(row, at, job, false);
    for (const job of later || []) addTo(row, at, job, true);
    return row;
  }

  /* Whether what is on board is enough for what a row uses, and with what is at base for its trip from there. */
  function enoughFor(problem, at, row) {
    for (let supply = 0; supply < at.back; supply += 1) {
      const now = row[supply];
      if (now > problem.board[supply]) return false;
      if (!row[at.then]) continue;
      const stock = problem.base.stock[supply];
      if (stock !== null && now + row[at.thenUsed + supply] > problem.board[supply] + stock) return false;
    }
    return true;
  }

  /* What is on board weighs until it is used, hives until they are set down; what is brought back weighs from then on,
     until base. There what is lacking is put on, in whole packs, and all that is on board on leaving counts with all that
     the trip brings and the hives of a move, as if at once. `held` is what is on board beside for a while, within the stop
     of a move. */
  function holds(problem, at, row, held) {
    if (!enoughFor(problem, at, row)) return false;
    const later = row[at.then] > 0;
    if (!later && !held && row[at.bringing] === 0) return true;
    return within(problem, at, row, later, held, 0) && within(problem, at, row, later, held, 1);
  }

  function within(problem, at, row, later, held, measure) {
    const most = measure ? problem.space : problem.payload;
    if (most === null) return true;
    let load = 0;
    let back = 0;
    for (let supply = 0; supply < at.back; supply += 1) {
      const { grams, millilitres } = problem.supplies[supply];
      const each = measure ? millilitres : grams;
      const left = problem.board[supply] - row[supply];
      load += (later ? left + putOnOf(problem, supply, left, row[at.thenUsed + supply]) : left) * each;
      back += row[(later ? at.thenBack : at.back) + supply] * each;
    }
    const off = row[at.off + measure];
    const beside = held ? held[measure] : 0;
    const all = later ? load + back + problem.hives[measure] - off + beside : problem.brought[measure] + back - off + load + beside;
    return Math.ceil(Math.round(all * 1e6) / 1e6) <= most;
  }

  function fits(problem, jobs, later, held) {
    return holds(problem, placesOf(problem), rowOf(problem, jobs, later), held);
  }

  function enough(problem, jobs, later) {
    return enoughFor(problem, placesOf(problem), rowOf(problem, jobs, later));
  }

  /* What is put on at base of a supply for so much on the trip that follows. */
  function putOnOf(problem, supply, left, needed) {
    const short = Math.max(0, needed - left);
    const pack = problem.supplies[supply].pack;
    const whole = pack ? Math.ceil(short / pack) * pack : short;
    const stock = problem.base.stock[supply];
    return stock === null ? whole : Math.min(whole, stock);
  }

  function leftOf(problem, jobs) {
    const row = rowOf(problem, jobs);
    return problem.board.map((amount, supply) => amount - row[supply]);
  }

  /* What is put on at base in an order, by supply. */
  function loadedAgain(problem, jobs, later) {
    const needed = rowOf(problem, later);
    return leftOf(problem, jobs).map((amount, supply) => putOnOf(problem, supply, amount, needed[supply]));
  }

  /* What is on board on leaving base with what the later jobs need. */
  function fromBase(problem, jobs, later) {
    const more = loadedAgain(problem, jobs, later);
    const row = rowOf(problem, jobs);
    const at = placesOf(problem);
    const held = problem.hives.map((amount, measure) => amount - row[at.off + measure]);
    return { board: leftOf(problem, jobs).map((amount, supply) => amount + more[supply]), brought: held, hives: held };
  }

  return { placesOf, addTo, rowOf, enoughFor, holds, fits, enough, loadedAgain, fromBase };
}
