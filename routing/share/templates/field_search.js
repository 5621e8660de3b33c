/* What still fits: an exact search over all sets of jobs and all orders, in the numbers of `field_days.js`.

   The table holds, for each set of work done, last stop and state of the break, the earliest that the work can be
   finished: whatever follows is never worse for having begun sooner. A set is a number whose digits, one a stop, are
   the bits of the stop's jobs that are done, so that a set is met only after all its parts. A stop may be made again
   for other jobs, in another window or the same. */
function fieldSearch() {
  "use strict";
  const { NEVER, secondsOf, finishOf, fits, scoreOf, compare, dayOf, keeps, withJob, whyNot } = fieldDays();
  const MOST_JOBS = 10; // of a stop whose sets of jobs are gone through
  const MOST_STATES = 6000000; // 24 MB of the table
  const MOST_STEPS = 12000000; // 0.3 s on a desk, some seconds on a slow phone; a day of 14 stops with a job each takes 1.6 million
  const [NOT_YET, RESTED, AT_SUSPECT] = [0, 1, 2];

  function choicesOf(stop) {
    const found = [null];
    if (stop.jobs.length > MOST_JOBS) return found;
    for (let mask = 1; mask < 1 << stop.jobs.length; mask += 1) {
      const spans = stop.windows.filter((each) => (each[2] & mask) === mask).sort((a, b) => a[0] - b[0]);
      const jobs = stop.jobs.map((_, number) => number).filter((number) => mask & (1 << number));
      found.push(spans.length > 0 ? { jobs, spans, seconds: secondsOf(stop, jobs) } : null);
    }
    return found;
  }

  function table(problem, choices) {
    const stops = problem.stops.length;
    const sizes = choices.map((each) => each.length);
    const strides = [];
    let sets = 1;
    for (const size of sizes) {
      strides.push(sets);
      sets *= size;
    }
    const suspects = problem.stops.some((stop) => stop.last);
    const breaks = problem.breakSeconds > 0 ? (suspects ? 3 : 2) : 1;
    const lasts = sizes.reduce((sum, size) => sum + 1 - 1 / size, 0);
    const nexts = sizes.reduce((sum, size) => sum + size ** Math.log2(1.5) - 1, 0); // sets of a stop's jobs that do not meet
    return { stops, sizes, strides, sets, breaks, states: sets * stops * breaks, steps: sets * lasts * nexts * breaks };
  }

  function digit(frame, set, stop) {
    return Math.floor(set / frame.strides[stop]) % frame.sizes[stop];
  }

  function jobsOf(problem, frame, set) {
    const jobs = [];
    for (let stop = 0; stop < frame.stops; stop += 1) {
      const chosen = digit(frame, set, stop);
      problem.stops[stop].jobs.forEach((job, number) => { if (chosen & (1 << number)) jobs.push(job); });
    }
    return jobs;
  }

  function fill(problem, choices, frame) {
    const { stops, strides, sets, breaks } = frame;
    const finishes = new Int32Array(frame.states).fill(NEVER);
    const allowed = new Uint8Array(sets).fill(1);
    const rest = problem.breakSeconds;
    const latestRest = problem.now + problem.breakAfter;
    const last = problem.stops.map((stop) => Boolean(stop.last));
    const everything = problem.stops.flatMap((stop) => stop.jobs);
    const roomy = fits(problem, everything) && everything.every((job) => job.brings.length === 0);
    const held = problem.stops.map((stop) => stop.jobs[0] && stop.jobs[0].held); // a move is a stop of its own
    const roomOf = problem.stops.map((_, stop) => (held[stop] ? new Int8Array(sets) : null)); // 1 there is room, -1 there is none
    const plain = choices.map((each) => each.map((choice) => choice !== null && choice.spans.length === 1));

    function goOn(set, before, ready, to, state) {
      const here = choices[to];
      for (let mask = 1; mask < here.length; mask += 1) {
        const choice = here[mask];
        if (choice === null || (mask & before)) continue;
        let finish;
        if (plain[to][mask]) {
          const span = choice.spans[0];
          finish = (ready > span[0] ? ready : span[0]) + choice.seconds;
          if (finish > span[1]) continue;
        } else finish = finishOf(choice, ready);
        if (finish > problem.homeBy) continue;
        const after = set + mask * strides[to];
        if (held[to]) {
          if (roomOf[to][after] === 0) roomOf[to][after] = fits(problem, jobsOf(problem, frame, after), held[to]) ? 1 : -1;
          if (roomOf[to][after] < 0) continue;
        }
        const at = (after * stops + to) * breaks + state;
        if (finish < finishes[at]) finishes[at] = finish;
      }
    }

    for (let to = 0; to < stops; to += 1) {
      if (problem.out[to] < 0) continue;
      goOn(0, 0, problem.now + problem.out[to], to, NOT_YET);
      if (rest) goOn(0, 0, problem.now + problem.out[to] + rest, to, last[to] ? AT_SUSPECT : RESTED);
    }
    const open = new Int32Array(stops);
    const done = new Int32Array(stops);
    const digits = new Int32Array(stops);
    for (let set = 1; set < sets; set += 1) {
      let free = 0;
      let made = 0;
      for (let stop = 0, rests = set; stop < stops; stop += 1) {
        digits[stop] = rests % frame.sizes[stop];
        if (digits[stop] < frame.sizes[stop] - 1) open[free++] = stop;
        if (digits[stop] > 0) done[made++] = stop;
        rests = (rests / frame.sizes[stop]) | 0;
      }
      if (!roomy && !fits(problem, jobsOf(problem, frame, set))) {
        allowed[set] = 0;
        continue;
      }
      for (let index = 0; index < made; index += 1) {
        const from = done[index];
        const row = problem.drives[from];
        for (let state = 0; state < breaks; state += 1) {
          const finish = finishes[(set * stops + from) * breaks + state];
          if (finish === NEVER) continue;
          const mayRest = rest > 0 && state === NOT_YET && finish <= latestRest;
          for (let other = 0; other < free; other += 1) {
            const to = open[other];
            if (row[to] < 0 || (last[from] && !last[to])) continue;
            goOn(set, digits[to], finish + row[to], to, state);
            if (mayRest) goOn(set, digits[to], finish + row[to] + rest, to, last[from] ? AT_SUSPECT : RESTED);
          }
        }
      }
    }
    return { finishes, allowed };
  }

  /* Of all sets the most weight rank by rank, then no break at a suspect site, then home soonest. */
  function best(problem, choices, frame, made) {
    const weights = choices.map((each, stop) => each.map((_, mask) => scoreOf(problem.stops[stop].jobs.filter((job, number) => mask & (1 << number)))));
    const score = new Float64Array(4);
    let found = null;
    for (let set = 1; set < frame.sets; set += 1) {
      if (!made.allowed[set]) continue;
      const way = homeward(problem, frame, made.finishes, set);
      if (!way) continue;
      score.fill(0);
      for (let stop = 0, rests = set; stop < frame.stops; stop += 1) {
        const chosen = rests % frame.sizes[stop];
        rests = (rests - chosen) / frame.sizes[stop];
        if (chosen) for (let rank = 0; rank < 4; rank += 1) score[rank] += weights[stop][chosen][rank];
      }
      const more = found ? compare(score, found.score) : 1;
      if (more > 0 || (more === 0 && (way.dirty < found.dirty || (way.dirty === found.dirty && way.home < found.home)))) {
        found = { ...way, score: Array.from(score) };
      }
    }
    return found;
  }

  function homeward(problem, frame, finishes, set) {
    let way = null;
    for (let from = 0; from < frame.stops; from += 1) {
      if (problem.home[from] < 0) continue;
      for (let state = 0; state < frame.breaks; state += 1) {
        const finish = finishes[(set * frame.stops + from) * frame.breaks + state];
        if (finish === NEVER) continue;
        const home = finish + problem.home[from];
        const due = problem.breakSeconds > 0 && state === NOT_YET && home - problem.now > problem.breakAfter;
        if (home > problem.homeBy || due) continue;
        const dirty = state === AT_SUSPECT;
        if (!way || dirty < way.dirty || (dirty === way.dirty && home < way.home)) way = { set, from, state, dirty, home };
      }
    }
    return way;
  }

  /* The order that made a state of the table, found again from its end. */
  function trace(problem, choices, frame, finishes, end) {
    const order = [];
    let { set, from, state } = end;
    while (set > 0) {
      const finish = finishes[(set * frame.stops + from) * frame.breaks + state];
      const found = enterOf(problem, choices, frame, finishes, { set, from, state, finish });
      order.unshift({ stop: from, jobs: choices[from][found.mask].jobs });
      set -= found.mask * frame.strides[from];
      [from, state] = [found.from, found.state];
    }
    return order;
  }

  function enterOf(problem, choices, frame, finishes, here) {
    const whole = digit(frame, here.set, here.from);
    for (let mask = 1; mask <= whole; mask += 1) {
      const choice = choices[here.from][mask];
      if ((mask & whole) !== mask || choice === null) continue;
      const before = here.set - mask * frame.strides[here.from];
      const found = before === 0 ? startOf(problem, choice, here) : stopBefore(problem, choice, frame, finishes, { ...here, before });
      if (found) return { ...found, mask };
    }
    throw new Error("the table holds a state that nothing leads to");
  }

  function startOf(problem, choice, here) {
    const ready = problem.now + problem.out[here.from] + (here.state === NOT_YET ? 0 : problem.breakSeconds);
    return problem.out[here.from] >= 0 && finishOf(choice, ready) === here.finish ? { from: -1, state: NOT_YET } : null;
  }

  function stopBefore(problem, choice, frame, finishes, here) {
    for (let from = 0; from < frame.stops; from += 1) {
      const drive = problem.drives[from][here.from];
      if (drive < 0 || (problem.stops[from].last && !problem.stops[here.from].last)) continue;
      const at = (here.before * frame.stops + from) * frame.breaks;
      const same = finishes[at + here.state];
      if (same !== NEVER && finishOf(choice, same + drive) === here.finish) return { from, state: here.state };
      const fresh = finishes[at];
      const rested = here.state === (problem.stops[from].last ? AT_SUSPECT : RESTED);
      const may = rested && fresh !== NEVER && fresh <= problem.now + problem.breakAfter;
      if (may && finishOf(choice, fresh + drive + problem.breakSeconds) === here.finish) return { from, state: NOT_YET };
    }
    return null;
  }

  /* Beyond what is searched in full: the stops that matter most in full, and the rest where each still fits. */
  function rough(problem) {
    const whole = problem.stops.map(choicesOf);
    const rank = (stop) => scoreOf(problem.stops[stop].jobs);
    const first = problem.stops.map((_, stop) => stop).sort((a, b) => compare(rank(b), rank(a)));
    let taken = first.length;
    const only = (number) => whole.map((each, stop) => (first.indexOf(stop) < number ? each : [null]));
    while (taken > 0 && !small(table(problem, only(taken)))) taken -= 1;
    let order = run(problem, only(taken));
    for (const stop of first) {
      for (const number of problem.stops[stop].jobs.map((_, index) => index)) {
        const next = withJob(order, (tried) => keeps(problem, tried), stop, number);
        if (next) order = next;
      }
    }
    return order;
  }

  function small(frame) {
    return frame.states <= MOST_STATES && frame.steps <= MOST_STEPS;
  }

  function run(problem, choices) {
    const frame = table(problem, choices);
    const made = fill(problem, choices, frame);
    const end = best(problem, choices, frame, made);
    return end === null ? [] : trace(problem, choices, frame, made.finishes, end);
  }

  function search(problem) {
    const choices = problem.stops.map(choicesOf);
    const exact = problem.stops.every((stop) => stop.jobs.length <= MOST_JOBS) && small(table(problem, choices));
    const order = exact ? run(problem, choices) : rough(problem);
    const day = dayOf(problem, order);
    const served = order.flatMap(({ stop, jobs }) => jobs.map((number) => problem.stops[stop].jobs[number]));
    const dropped = problem.stops.flatMap((stop, index) => stop.jobs
      .map((_, number) => number)
      .filter((number) => !order.some((each) => each.stop === index && each.jobs.includes(number)))
      .map((number) => ({ stop: index, job: number, why: whyNot(problem, order, index, number) })));
    return { exact, day, dropped, score: scoreOf(served) };
  }

  return { search };
}
