/* What is on board: whether it is enough, and whether the van may carry it. All is whole thousandths, grams, millilitres. */
function fieldLoad() {
  "use strict";

  function used(problem, jobs) {
    const found = problem.board.map(() => 0);
    for (const job of jobs) for (const [supply, amount] of job.uses) found[supply] += amount;
    return found;
  }

  /* Whether what is on board is enough for the jobs of this trip, and with what is at base for those of the next. */
  function enough(problem, jobs, later) {
    const now = used(problem, jobs);
    if (now.some((amount, supply) => amount > problem.board[supply])) return false;
    if (!later) return true;
    const then = used(problem, later);
    return then.every((amount, supply) => problem.base.stock[supply] === null || now[supply] + amount <= problem.board[supply] + problem.base.stock[supply]);
  }

  function weighed(problem, amounts) {
    return amounts.reduce(([grams, litres], amount, supply) => [grams + amount * problem.supplies[supply].grams, litres + amount * problem.supplies[supply].millilitres], [0, 0]);
  }

  /* What jobs bring to go home, and the hives that they set down. */
  function changes(problem, jobs) {
    const back = problem.board.map(() => 0);
    const off = [0, 0];
    for (const job of jobs) {
      for (const [supply, amount] of job.brings) back[supply] += amount;
      if (job.off) job.off.forEach((amount, measure) => { off[measure] += amount; });
    }
    return { back: weighed(problem, back), off };
  }

  function within(problem, load) {
    return [problem.payload, problem.space].every((most, measure) => most === null || Math.ceil(Math.round(load[measure] * 1e6) / 1e6) <= most);
  }

  /* What is on board weighs until it is used, hives until they are set down; what is brought back weighs from then on,
     until base. There what is lacking is put on, in whole packs. `held` is what is on board beside for a while, within
     the stop of a move. */
  function fits(problem, jobs, later, held) {
    if (!enough(problem, jobs, later)) return false;
    const now = used(problem, jobs);
    const left = problem.board.map((amount, supply) => amount - now[supply]);
    const { back, off } = changes(problem, jobs);
    if (later) return onward(problem, left, off, later, held);
    if (!held && jobs.every((job) => job.brings.length === 0)) return true;
    const load = weighed(problem, left);
    return within(problem, [0, 1].map((measure) => problem.brought[measure] + back[measure] - off[measure] + load[measure] + (held ? held[measure] : 0)));
  }

  /* The trip from base: all that is on board on leaving, all that it brings and the hives of a move, as if at once. */
  function onward(problem, left, off, later, held) {
    const load = weighed(problem, left.map((amount, supply) => amount + putOn(problem, left, later)[supply]));
    const { back } = changes(problem, later);
    return within(problem, [0, 1].map((measure) => load[measure] + back[measure] + problem.hives[measure] - off[measure] + (held ? held[measure] : 0)));
  }

  /* What is put on at base for the trip that follows, by supply. */
  function putOn(problem, left, later) {
    const then = used(problem, later);
    return then.map((amount, supply) => {
      const short = Math.max(0, amount - left[supply]);
      const pack = problem.supplies[supply].pack;
      const whole = pack ? Math.ceil(short / pack) * pack : short;
      const stock = problem.base.stock[supply];
      return stock === null ? whole : Math.min(whole, stock);
    });
  }

  /* What is put on at base in an order, by supply. */
  function loadedAgain(problem, jobs, later) {
    const now = used(problem, jobs);
    return putOn(problem, problem.board.map((amount, supply) => amount - now[supply]), later);
  }

  /* What is on board on leaving base with what the later jobs need. */
  function fromBase(problem, jobs, later) {
    const now = used(problem, jobs);
    const left = problem.board.map((amount, supply) => amount - now[supply]);
    const more = putOn(problem, left, later);
    const held = problem.hives.map((amount, measure) => amount - changes(problem, jobs).off[measure]);
    return { board: left.map((amount, supply) => amount + more[supply]), brought: held, hives: held };
  }

  return { fits, enough, loadedAgain, fromBase };
}
