/* The best that a beam finds of a day of more than is looked at in full, in the numbers of `field_days.js`.

   Days are made longer job by job. Of all that have as many jobs done those are kept that promise most: the weight done,
   and of what is left and can still be begun in time the most that the hours hold, rank by rank, each job with its shortest
   drive. A second beam keeps to the order of the plan. `replan` at home goes the same way (`rest_beam.py`). */
function fieldBeam() {
  "use strict";
  const { NEVER, secondsOf, finishOf, fits, scoreOf, compare, againAt } = fieldDays();
  const { rowOf } = fieldLoad();
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

  /* The jobs of each trip. */
  function jobsOf(frame, day) {
    const of = (bits) => frame.jobs.filter((_, bit) => bits & (1 << bit)).map((each) => each.job);
    return [of(day.one), day.two ? of(day.two) : null];
  }

  function carried(frame, day) {
    if (frame.roomy) return true;
    const held = frame.held[day.at];
    const known = frame.can.get(day.key);
    const may = known === undefined ? fits(frame.problem, ...jobsOf(frame, day)) : known;
    if (frame.can.size > 5000) frame.can.clear(); // memory
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

  /* The most promising of these days, carried ones alone; `before` orders them to the last tie, so that it may be asked early. */
  function thinned(frame, days) {
    const found = [...days.values()].filter((day) => carried(frame, day));
    if (found.length <= WIDTH) return found;
    for (const day of found) day.promise = day.promise || promised(frame, day);
    return found.sort(before).slice(0, WIDTH);
  }

  /* A day that goes on with a choice of a stop's work, which may begin at a moment: it waits where it is met when it is made
     longer, by how many jobs are done; of one set, place and break the soonest. */
  function goOn(frame, waiting, day, to, choice, begin, rest, base) {
    const finish = finishOf(choice, begin);
    if (finish === NEVER || finish > frame.problem.homeBy) return;
    const later = base || Boolean(day && day.two);
    const size = (day ? day.size : 0) + choice.jobs.length;
    const key = (day ? day.key : 0) + choice.key * (later ? 2 : 1);
    const busy = (day ? day.busy + begin - day.finish : begin - frame.problem.now) + choice.seconds;
    const at = (key * 32 + to) * 4 + rest;
    while (waiting.length <= size) waiting.push(new Map());
    const known = waiting[size].get(at);
    if (known && (known.finish < finish || (known.finish === finish && known.busy <= busy))) return;
    const one = (day ? day.one : 0) | (later ? 0 : choice.bits);
    const two = (day ? day.two : 0) | (later ? choice.bits : 0);
    waiting[size].set(at, { one, two, key, size, at: to, rest, finish, busy, from: day, choice, base, promise: null });
    if (waiting[size].size < 2 * WIDTH) return; // memory: the rest can be no better
    const best = thinned(frame, waiting[size]);
    waiting[size] = new Map(best.map((each) => [(each.key * 32 + each.at) * 4 + each.rest, each]));
  }

  /* Goes on from a day (null: from where the crew stands) to every stop, straight and by base, with the break and without. */
  function longer(frame, day, follows, waiting) {
    const { problem, trips } = frame;
    const rest = problem.breakSeconds;
    const state = day ? day.rest : NOT_YET;
    const clock = day ? day.finish : problem.now;
    const mayRest = rest > 0 && state === NOT_YET && (!day || clock <= problem.now + problem.breakAfter);
    const suspect = Boolean(day && problem.stops[day.at].last);
    const back = day ? problem.home[day.at] : problem.outHome;
    const mayReturn = trips > 1 && !(day && day.two) && !suspect && back >= 0;
    const [ready, rested] = mayReturn ? againAt(problem, clock + back, state) : [NEVER, NEVER];
    for (let to = 0; to < problem.stops.length; to += 1) {
      const { last } = problem.stops[to];
      const drive = day ? (day.at === to ? 0 : problem.drives[day.at][to]) : problem.out[to];
      const straight = drive >= 0 && (!suspect || last);
      const onward = trips > 1 ? problem.base.out[to] : -1;
      for (const choice of frame.choices[to]) {
        if (!follows(day, to, choice)) continue;
        if (straight) goOn(frame, waiting, day, to, choice, clock + drive, state, false);
        if (straight && mayRest) goOn(frame, waiting, day, to, choice, clock + drive + rest, (day ? suspect : last) ? AT_SUSPECT : RESTED, false);
        if (onward >= 0 && ready !== NEVER) goOn(frame, waiting, day, to, choice, ready + onward, state, true);
        if (onward >= 0 && rested !== NEVER) goOn(frame, waiting, day, to, choice, rested + onward, RESTED, true);
      }
    }
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
      const days = thinned(frame, waiting[size]);
      waiting[size] = null;
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

  /* Stops with this work in turn, with one job more put in where home is soonest, then where least is driven; null where it fits nowhere. */
  function withOne(frame, made, lone) {
    let sum = 0;
    const begun = made.map((bits) => {
      const all = sum;
      sum |= bits;
      return all;
    });
    const follows = (day, to, choice) => {
      const done = day ? day.one | day.two : 0;
      if (done & choice.bits) return false;
      if (choice === lone.choice) return true;
      const own = choice.bits & ~lone.choice.bits; // with it at one stop, too
      const turn = made.indexOf(own);
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

  /* The day of stops with this work in turn with whatever else fits into it, what is worth most first; null where nothing does. */
  function longest(frame, first) {
    let [made, best] = [first, null];
    for (let added = true; added;) {
      added = false;
      for (const lone of frame.worth) {
        const more = made.some((bits) => bits & lone.choice.bits) ? null : withOne(frame, made, lone);
        if (!more) continue;
        [best, added] = [more, true];
        made = chain(more.day).map((day) => day.choice.bits);
      }
    }
    return best;
  }

  /* An order with whatever else fits into it. */
  function completed(problem, trips, found) {
    const frame = frameOf(problem, trips);
    const bit = (stop, job) => frame.jobs.findIndex((each) => each.at === stop && each.number === job);
    const more = longest(frame, found.order.map((each) => each.jobs.reduce((sum, job) => sum | (1 << bit(each.stop, job)), 0)));
    return more ? { ...found, ...told(frame, more) } : found;
  }

  function told(frame, { day, dirty, home }) {
    const order = chain(day).map((each) => ({ stop: each.at, jobs: each.choice.jobs, base: each.base, rested: each.rest !== NOT_YET, finish: each.finish }));
    return { order, dirty, home, score: scoreOf(jobsOf(frame, day).flatMap((each) => each || [])) };
  }

  function chain(end) {
    const days = [];
    for (let day = end; day; day = day.from) days.unshift(day);
    return days;
  }

  /* What is in a day, for who asks. */
  function viewOf(frame, day) {
    const bitOf = (stop, job) => 1 << frame.jobs.findIndex((each) => each.at === stop && each.number === job);
    return { tripOf: (stop, job) => (day.one & bitOf(stop, job) ? 1 : day.two & bitOf(stop, job) ? 2 : 0), load: () => rowOf(frame.problem, ...jobsOf(frame, day)) };
  }

  /* The best day; `null` where nothing can be done. */
  function run(problem, trips, may, seen) {
    const frame = frameOf(problem, trips);
    let found = null;
    const look = (day) => {
      const home = homeOf(problem, day);
      if (home === NEVER) return;
      const score = scoreOf(jobsOf(frame, day).flatMap((each) => each || []));
      if (seen) seen(viewOf(frame, day), score);
      if (may && !may(viewOf(frame, day))) return;
      const dirty = day.rest === AT_SUSPECT;
      const more = found ? compare(score, found.score) || found.dirty - dirty || found.home - home || found.day.two - day.two || found.day.one - day.one : 1;
      if (more > 0) found = { day, score, dirty, home };
    };
    levels(frame, freely, look);
    levels(frame, inOrder, look);
    return found && told(frame, longest(frame, chain(found.day).map((day) => day.choice.bits)) || found);
  }

  /* What is looked at of so many trips, as the search in full gives it. */
  function looked(problem, trips, watched) {
    return { best: run(problem, trips, null, watched && watched.seen), part: (less, _, may) => run(less, trips, may, null) };
  }

  return { looked, completed, MOST_JOBS };
}
