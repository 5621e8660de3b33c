/* The times of one order in the field, whether it keeps every rule, and why a job is not in it. It knows no page and no
   clock, so that it runs in a worker as well. All numbers are whole: seconds from one midnight, grams, millilitres,
   thousandths of a material's unit; a negative drive is none. */
function fieldDays() {
  "use strict";
  const NEVER = 0x7fffffff;
  const NOT_YET = 0; // of the break, as the searches number it

  const { fits, enough } = fieldLoad();

  function secondsOf(stop, jobs) {
    const here = jobs.map((number) => stop.jobs[number]);
    return stop.walk + Math.max(...here.map((job) => job.setUp)) + here.reduce((sum, job) => sum + job.work, 0);
  }

  /* The first window, in order, in which the work that may begin at `ready` is over in time. */
  function finishOf(choice, ready) {
    for (let at = 0; at < choice.spans.length; at += 1) {
      const span = choice.spans[at];
      const finish = (ready > span[0] ? ready : span[0]) + choice.seconds;
      if (finish <= span[1]) return finish;
    }
    return NEVER;
  }

  function scoreOf(jobs) {
    const score = [0, 0, 0, 0];
    for (const job of jobs) score[job.rank] += job.weight;
    return score;
  }

  function compare(one, other) {
    for (let rank = 0; rank < one.length; rank += 1) if (one[rank] !== other[rank]) return one[rank] - other[rank];
    return 0;
  }

  /* The seconds from a stop (-1: where the crew stands) to another; by way of base those there and, after loading, on. */
  function legs(problem, from, stop, byBase) {
    if (!byBase) return [from < 0 ? problem.out[stop] : problem.drives[from][stop]];
    return [from < 0 ? problem.outHome : problem.home[from], problem.base.out[stop]];
  }

  /* The times of an order, each stop as soon as it can be and its break in a gap (null: none), at base where that is
     come back to in the gap. What is missed is not waited for: `late` says by how much. */
  function timed(problem, order, gap) {
    let clock = problem.now;
    let from = -1;
    const rested = { finished: 0, reached: 0 };
    const stops = order.map(({ stop, jobs, base }, index) => {
      const [drive, onward] = legs(problem, from, stop, base);
      const pause = gap === index ? problem.breakSeconds : 0;
      let reached = clock + drive;
      if (pause) Object.assign(rested, { finished: clock, reached });
      const again = base ? { arrive: reached, start: reached + pause, finish: reached + pause + problem.base.loading } : null;
      if (base) reached = again.finish + onward;
      const ready = base ? reached : reached + pause;
      const seconds = secondsOf(problem.stops[stop], jobs);
      const mask = jobs.reduce((sum, number) => sum | (1 << number), 0);
      const spans = problem.stops[stop].windows.filter((each) => (each[2] & mask) === mask).sort((a, b) => a[0] - b[0]);
      const fit = finishOf({ spans, seconds }, ready);
      const final = spans.length ? spans[spans.length - 1] : [ready, ready];
      const finish = fit === NEVER ? Math.max(ready, final[0]) + seconds : fit;
      const late = fit === NEVER ? Math.max(0, finish - final[1]) : 0;
      [clock, from] = [finish, stop];
      return { stop, jobs, drive: base ? onward : drive, again, arrive: reached, start: finish - seconds, finish, late, closed: spans.length === 0 };
    });
    const back = from < 0 ? problem.outHome : problem.home[from];
    const home = clock + back;
    const away = home - problem.now;
    const rest = gap === null ? null : restOf(problem, order, gap, rested.finished, rested.reached, away);
    if (rest && rest.stop === gap - 1) stops[gap].arrive += problem.breakSeconds;
    return { stops, rest, home, back, homeLate: Math.max(0, home - problem.homeBy), away };
  }

  /* At base where that is come back to; else at the stop before after its work, or at the one that follows before its
     work, whichever is nearer the middle of the day: by the same rule as at home. */
  function restOf(problem, order, gap, finished, reached, away) {
    const here = { stop: gap, start: reached, seconds: problem.breakSeconds, atBase: Boolean(order[gap].base) };
    if (gap === 0 || here.atBase) return here;
    const before = { stop: gap - 1, start: finished, seconds: problem.breakSeconds, atBase: false };
    if (reached > problem.now + problem.breakAfter) return before;
    if (problem.stops[order[gap].stop].last && !problem.stops[order[gap - 1].stop].last) return before;
    const middle = problem.now + Math.floor((away - problem.breakSeconds) / 2);
    return Math.abs(finished - middle) <= Math.abs(reached - middle) ? before : here;
  }

  /* When the crew is ready to go on after loading at base, and when with its break there; NEVER where that is not to be. */
  function againAt(problem, arrive, state) {
    const ready = arrive + problem.base.loading;
    const rest = problem.breakSeconds;
    if (ready > problem.homeBy) return [NEVER, NEVER];
    if (rest === 0 || state !== NOT_YET) return [ready, NEVER];
    return arrive > problem.now + problem.breakAfter ? [NEVER, NEVER] : [ready, ready + rest > problem.homeBy ? NEVER : ready + rest];
  }

  function lateness(day) {
    return day.stops.reduce((sum, stop) => sum + stop.late, 0) + day.homeLate;
  }

  function ways(problem, order) {
    return order.every(({ stop, base }, index) => legs(problem, index ? order[index - 1].stop : -1, stop, base).every((drive) => drive >= 0))
      && (order.length === 0 || problem.home[order[order.length - 1].stop] >= 0);
  }

  /* The day of an order, its break where that is least late, then not at a suspect site, then home soonest, then nearest the middle of the day; null where
     there is no way, or where base is come back to when a break is due already. */
  function dayOf(problem, order) {
    if (!ways(problem, order)) return null;
    const plain = timed(problem, order, null);
    const due = problem.now + problem.breakAfter;
    if (problem.breakSeconds === 0 || plain.away <= problem.breakAfter || order.length === 0) return plain;
    let found = null;
    order.forEach(({ base }, gap) => {
      if (gap > 0 && plain.stops[gap - 1].finish > due) return;
      if (order.some((each, index) => each.base && index <= gap && plain.stops[index].again.arrive > due)) return;
      const day = timed(problem, order, gap);
      const at = base ? { last: false } : problem.stops[order[gap > 0 ? gap - 1 : 0].stop];
      const uneven = Math.abs(2 * day.rest.start + problem.breakSeconds - problem.now - day.home);
      const key = [-lateness(day), at.last ? 0 : 1, -day.home, -uneven];
      if (!found || compare(key, found.key) > 0) found = { day, key };
    });
    return found && found.day;
  }

  /* The jobs of an order, those of each trip apart. */
  function tripsOf(problem, order) {
    const trips = [[]];
    for (const { stop, jobs, base } of order) {
      if (base) trips.push([]);
      trips[trips.length - 1].push(...jobs.map((number) => problem.stops[stop].jobs[number]));
    }
    return trips;
  }

  /* Whether all of an order is carried: after each stop, and within each move, beside all that is on board then. */
  function carried(problem, order) {
    return order.every(({ stop, jobs }, index) => {
      const [first, ...later] = tripsOf(problem, order.slice(0, index + 1));
      return fits(problem, first, later[0] || null) && jobs.every((number) => !problem.stops[stop].jobs[number].held || fits(problem, first, later[0] || null, problem.stops[stop].jobs[number].held));
    });
  }

  function keeps(problem, order) {
    const suspectFirst = order.some(({ stop, base }, index) => index > 0 && problem.stops[order[index - 1].stop].last && (base || !problem.stops[stop].last));
    if (suspectFirst || !carried(problem, order)) return null;
    const day = dayOf(problem, order);
    return day && lateness(day) === 0 && day.stops.every((stop) => !stop.closed) ? day : null;
  }

  /* The order with one job more where that is kept and home is soonest, null where it fits nowhere. */
  function withJob(order, kept, stop, number) {
    if (order.some((each) => each.stop === stop && each.jobs.includes(number))) return null;
    const tries = order.flatMap((each, at) => (each.stop === stop
      ? [order.map((other, index) => (index === at ? { ...each, jobs: [...each.jobs, number].sort((a, b) => a - b) } : other))] : []));
    for (let place = 0; place <= order.length; place += 1) tries.push([...order.slice(0, place), { stop, jobs: [number] }, ...order.slice(place)]);
    const found = tries.map((tried) => ({ tried, day: kept(tried) })).filter((each) => each.day);
    found.sort((one, other) => one.day.home - other.day.home);
    return found.length ? found[0].tried : null;
  }

  /* Why a job is not in the order, in numbers: what is short on board, what would be late by how much at the best place
     for it, or that it is shut. */
  function whyNot(problem, order, stop, number) {
    const here = problem.stops[stop];
    const job = here.jobs[number];
    const lone = [{ stop, jobs: [number] }];
    if (!here.windows.some((each) => each[2] & (1 << number))) return { what: "shut" };
    const stock = (supply) => problem.board[supply] + (order.some((each) => each.base) ? problem.base.stock[supply] ?? Infinity : 0);
    const short = job.uses.find(([supply, amount]) => amount > stock(supply));
    if (short) return { what: "board", supply: short[0], amount: short[1] - stock(short[0]) };
    const alone = dayOf(problem, lone);
    if (!alone) return { what: "no way" };
    if (lateness(alone) > 0) return { what: "alone", late: alone.stops[0].late, home: alone.homeLate };
    const jobs = order.flatMap((each) => each.jobs.map((index) => problem.stops[each.stop].jobs[index]));
    const used = (supply) => jobs.reduce((sum, each) => sum + each.uses.filter((use) => use[0] === supply).reduce((all, use) => all + use[1], 0), 0);
    const beside = job.uses.find(([supply, amount]) => amount > stock(supply) - used(supply));
    if (beside) return { what: "board beside", supply: beside[0], amount: beside[1] - stock(beside[0]) + used(beside[0]) };
    const [first, ...later] = tripsOf(problem, order);
    if (!later[0] && !fits(problem, [...first, job], null, job.held)) return { what: "load" };
    return { what: "room", ...closest(problem, order, stop, number) };
  }

  function closest(problem, order, stop, number) {
    let found = null;
    withJob(order, (tried) => {
      const mixed = tried.some((each, index) => index > 0 && problem.stops[tried[index - 1].stop].last && (each.base || !problem.stops[each.stop].last));
      const day = mixed ? null : dayOf(problem, tried);
      if (day && day.stops.every((each) => !each.closed) && (!found || lateness(day) < lateness(found))) found = day;
      return null;
    }, stop, number);
    if (!found) return { late: 0, at: -1, home: 0 };
    const worst = found.stops.reduce((most, each) => (each.late > most.late ? each : most));
    return { late: worst.late, at: worst.stop, home: found.homeLate };
  }

  return { NEVER, secondsOf, finishOf, againAt, fits, enough, scoreOf, compare, dayOf, lateness, keeps, withJob, whyNot };
}
