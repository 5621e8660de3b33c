/* The best that a beam finds of a day of more than is looked at in full, in the numbers of `field_days.js`.

   Days are made longer job by job. Of all that have as many jobs done those are kept that promise most: the weight done,
   and of what is left and can still be begun in time the most that the hours hold, rank by rank, each job with its shortest
   drive. A second beam keeps to the order of the plan. `replan` at home goes the same way (`rest_beam.py`). */
function fieldBeam() {
  "use strict";
  const { NEVER, secondsOf, finishOf, fits, scoreOf, compare, againAt } = fieldDays();
  const WIDTH = 400; // days of as many jobs that are made longer
  const MOST_JOBS = 30; // a bit each
  const MOST_TOGETHER = 5; // jobs of a stop of which every set is gone through; of more, each alone and all that a window is for
  const [NOT_YET, RESTED, AT_SUSPECT] = [0, 1, 2];

  function masksOf(stop) {
    const count = stop.jobs.length;
    if (count <= MOST_TOGETHER) return Array.from({ length: (1 << count) - 1 }, (_, number) => number + 1);
    const chosen = new Set([...stop.jobs.map((_, number) => 1 << number), ...stop.windows.map((each) => each[2])]);
    chosen.delete(0);
    return [...chosen].sort((a, b) => a - b);
  }

  function choiceOf(stop, mask, first) {
    const spans = stop.windows.filter((each) => (each[2] & mask) === mask).sort((a, b) => a[0] - b[0]);
    const jobs = stop.jobs.map((_, number) => number).filter((number) => mask & (1 << number));
    return { jobs, spans, bits: mask * 2 ** first, key: jobs.reduce((sum, number) => sum + 3 ** (first + number), 0), seconds: secondsOf(stop, jobs) };
  }

  function frameOf(problem, trips) {
    const jobs = problem.stops.flatMap((stop, at) => stop.jobs.map((job, number) => ({ job, at, number })));
    let first = 0;
    const choices = problem.stops.map((stop) => {
      const found = masksOf(stop).map((mask) => choiceOf(stop, mask, first)).filter((each) => each.spans.length > 0);
      first += stop.jobs.length;
      return found;
    });
    const everything = jobs.map((each) => each.job);
    const held = problem.stops.map((stop) => stop.jobs[0] && stop.jobs[0].held); // a move is a stop of its own
    const roomy = trips === 1 && fits(problem, everything) && everything.every((job) => job.brings.length === 0) && held.every((each) => !each);
    const homes = problem.home.filter((seconds) => seconds >= 0);
    return { problem, trips, jobs, choices, held, roomy, can: new Map(), nearest: homes.length ? Math.min(...homes) : 0, worth: worthOf(problem, trips, jobs, choices) };
  }

  /* The jobs, those of the highest rank first, inside it those of most weight for their cost: work and the shortest drive. */
  function worthOf(problem, trips, jobs, choices) {
    const found = jobs.flatMap(({ job, at }, bit) => {
      const choice = choices[at].find((each) => each.bits === 2 ** bit);
      if (!choice || problem.home[at] < 0) return [];
      const drives = [problem.out[at], ...problem.drives.map((row, from) => (from === at ? -1 : row[at]))].filter((seconds) => seconds >= 0);
      const cost = Math.max(1, (drives.length ? Math.min(...drives) : 0) + choice.seconds);
      const byBase = problem.stops.map((_, from) => (trips > 1 && Math.min(problem.home[from], problem.base.out[at]) >= 0 ? problem.home[from] + problem.base.loading + problem.base.out[at] : NEVER));
      const direct = problem.drives.map((row) => (row[at] < 0 ? NEVER : row[at]));
      return [{ bit, job, at, choice, cost, ways: [direct.map((seconds, from) => Math.min(seconds, byBase[from])), direct] }];
    });
    return found.sort((one, other) => one.job.rank - other.job.rank || other.job.weight * one.cost - one.job.weight * other.cost || one.bit - other.bit);
  }

  /* The jobs of each trip, as this problem or one of the same stops has them. */
  function jobsOf(frame, day, problem = frame.problem) {
    const of = (bits) => frame.jobs.filter((_, bit) => bits & (1 << bit)).map((each) => problem.stops[each.at].jobs[each.number]);
    return [of(day.one), day.two ? of(day.two) : null];
  }

  function carried(frame, day) {
    if (frame.roomy) return true;
    const held = frame.held[day.at];
    const known = frame.can.get(day.key);
    const may = known === undefined ? fits(frame.problem, ...jobsOf(frame, day)) : known;
    frame.can.set(day.key, may);
    return may && (!held || fits(frame.problem, ...jobsOf(frame, day), held));
  }

  /* What a day has done and may still do, in thousandths of weights by rank. */
  function promised(frame, day) {
    const { problem } = frame;
    const found = [0, 0, 0, 0];
    let hours = problem.homeBy - frame.nearest - day.finish;
    const left = frame.trips === 1 ? problem.board.slice() : null;
    const done = day.one | day.two;
    if (left) frame.jobs.forEach(({ job }, bit) => { if (done & (1 << bit)) for (const [supply, amount] of job.uses) left[supply] -= amount; });
    for (const { bit, job, at, choice, cost, ways } of frame.worth) {
      if (done & (1 << bit)) {
        found[job.rank] += 1000 * job.weight;
        continue;
      }
      const drive = ways[day.two ? 1 : 0][day.at];
      const finish = drive === NEVER ? NEVER : finishOf(choice, day.finish + drive);
      if (finish === NEVER || finish + problem.home[at] > problem.homeBy || (left && job.uses.some(([supply, amount]) => amount > left[supply]))) continue;
      const taken = Math.max(0, Math.min(hours, cost));
      found[job.rank] += job.weight * Math.floor((1000 * taken) / cost);
      hours -= taken;
    }
    return found;
  }

  function before(one, other) {
    return compare(other.promise, one.promise) || one.finish - other.finish || one.two - other.two || one.one - other.one || one.at - other.at || one.rest - other.rest;
  }

  /* Days where they are met when they are made longer: by how many jobs are done; of one set, place and break the soonest. */
  function keep(waiting, day, size) {
    while (waiting.length <= size) waiting.push(new Map());
    const key = ((day.key * 32) + day.at) * 4 + day.rest;
    const known = waiting[size].get(key);
    if (!known || day.finish < known.finish || (day.finish === known.finish && day.busy < known.busy)) waiting[size].set(key, day);
  }

  /* Goes on from a day (null: from where the crew stands) to every stop, straight and by base, with the break and without. */
  function longer(frame, day, follows, waiting) {
    const { problem, trips } = frame;
    const rest = problem.breakSeconds;
    const state = day ? day.rest : NOT_YET;
    const clock = day ? day.finish : problem.now;
    const trip = day && day.two ? 2 : 1;
    const mayRest = rest > 0 && state === NOT_YET && (!day || clock <= problem.now + problem.breakAfter);
    const suspect = Boolean(day && problem.stops[day.at].last);
    const back = day ? problem.home[day.at] : problem.outHome;
    const [ready, rested] = trips > 1 && trip === 1 && !suspect && back >= 0 ? againAt(problem, clock + back, state) : [NEVER, NEVER];
    problem.stops.forEach((stop, to) => {
      const drive = day ? (day.at === to ? 0 : problem.drives[day.at][to]) : problem.out[to];
      const onward = trips > 1 ? problem.base.out[to] : -1;
      for (const choice of frame.choices[to]) {
        if (!follows(day, to, choice)) continue;
        const go = (begin, after, base) => {
          const finish = finishOf(choice, begin);
          if (finish === NEVER || finish > problem.homeBy) return;
          const later = base || trip === 2;
          const [one, two, key, size, busy] = day ? [day.one, day.two, day.key, day.size, day.busy] : [0, 0, 0, 0, 0];
          keep(waiting, { one: later ? one : one | choice.bits, two: later ? two | choice.bits : two, key: key + choice.key * (later ? 2 : 1), size: size + choice.jobs.length, at: to, rest: after, finish, busy: busy + begin - clock + choice.seconds, from: day, choice, base }, size + choice.jobs.length);
        };
        if (drive >= 0 && (!suspect || stop.last)) {
          go(clock + drive, state, false);
          if (mayRest) go(clock + drive + rest, (day ? suspect : stop.last) ? AT_SUSPECT : RESTED, false);
        }
        if (onward >= 0 && ready !== NEVER) go(ready + onward, state, true);
        if (onward >= 0 && rested !== NEVER) go(rested + onward, RESTED, true);
      }
    });
  }

  function homeOf(problem, day) {
    const home = day.finish + problem.home[day.at];
    const due = problem.breakSeconds > 0 && day.rest === NOT_YET && home - problem.now > problem.breakAfter;
    return problem.home[day.at] < 0 || home > problem.homeBy || due ? NEVER : home;
  }

  /* Calls `look` with every day that is made longer. */
  function levels(frame, follows, look) {
    const waiting = [];
    longer(frame, null, follows, waiting);
    for (let size = 1; size < waiting.length; size += 1) {
      let days = [...waiting[size].values()].filter((day) => carried(frame, day));
      waiting[size] = null;
      if (days.length > WIDTH) {
        for (const day of days) day.promise = promised(frame, day);
        days = days.sort(before).slice(0, WIDTH);
      }
      days.forEach(look);
      days.forEach((day) => longer(frame, day, follows, waiting));
    }
  }

  function freely(day, to, choice) {
    return !day || !((day.one | day.two) & choice.bits);
  }

  function inOrder(day, to, choice) {
    return freely(day, to, choice) && (!day || day.at < to);
  }

  /* The stops of a day in their order, with one job more put in where home is soonest, then where least is driven; null where it fits nowhere. */
  function withOne(frame, end, lone) {
    const made = chain(end);
    let sum = 0;
    const begun = made.map((day) => {
      const all = sum;
      sum |= day.choice.bits;
      return all;
    });
    const follows = (day, to, choice) => {
      const done = day ? day.one | day.two : 0;
      if (done & choice.bits) return false;
      if (choice === lone.choice) return true;
      const own = choice.bits & ~lone.choice.bits; // with it at one stop, too
      const turn = made.findIndex((each) => each.at === to && each.choice.bits === own);
      return turn >= 0 && (done & begun[turn]) === begun[turn];
    };
    let found = null;
    levels(frame, follows, (day) => {
      const home = (day.one | day.two) === (sum | lone.choice.bits) ? homeOf(frame.problem, day) : NEVER;
      const dirty = day.rest === AT_SUSPECT;
      if (home !== NEVER && (!found || (dirty - found.dirty || home - found.home || day.busy - found.day.busy) < 0)) found = { day, home, dirty };
    });
    return found;
  }

  /* A day with whatever else fits into it, what is worth most first. */
  function completed(frame, found) {
    let best = found;
    for (let added = true; added;) {
      added = false;
      for (const lone of frame.worth) {
        const more = (best.day.one | best.day.two) & lone.choice.bits ? null : withOne(frame, best.day, lone);
        if (more) [best, added] = [more, true];
      }
    }
    return best;
  }

  function chain(end) {
    const days = [];
    for (let day = end; day; day = day.from) days.unshift(day);
    return days;
  }

  /* The best day on so many trips, as the search in full gives it; `null` where nothing can be done. */
  function run(problem, trips, may, seen) {
    const frame = frameOf(problem, trips);
    let found = null;
    const scored = (day) => scoreOf(jobsOf(frame, day).flatMap((each) => each || []));
    const look = (day) => {
      const home = homeOf(problem, day);
      if (home === NEVER) return;
      const view = { has: (stop, job) => frame.jobs.some((each, bit) => each.at === stop && each.number === job && (day.one | day.two) & (1 << bit)), jobs: (of) => jobsOf(frame, day, of) };
      const score = scored(day);
      if (seen) seen(view, score);
      if (may && !may(view)) return;
      const dirty = day.rest === AT_SUSPECT;
      const more = found ? compare(score, found.score) || found.dirty - dirty || found.home - home || found.day.two - day.two || found.day.one - day.one : 1;
      if (more > 0) found = { day, score, dirty, home };
    };
    levels(frame, freely, look);
    levels(frame, inOrder, look);
    if (!found) return null;
    const { day, dirty, home } = completed(frame, found);
    const order = chain(day).map((each) => ({ stop: each.at, jobs: each.choice.jobs, base: each.base }));
    return { order, dirty, home, score: scored(day) };
  }

  return { run, MOST_JOBS };
}
