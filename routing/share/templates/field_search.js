/* What still fits: an exact search over all sets of jobs and all orders, in the numbers of `field_days.js`.

   The table holds, for each set of work done, last stop and state of the break, the earliest that the work can be
   finished: whatever follows is never worse for having begun sooner. A set is a number with a digit for each job: 0 where
   it is not done, else the trip on which it is. So a set is met only after all its parts, and tells by its largest digit
   whether base was come back to. A stop may be made again for other jobs, in another window or the same. */
function fieldSearch() {
  "use strict";
  const { NEVER, secondsOf, finishOf, fits, scoreOf, compare, againAt } = fieldDays();
  const MOST_JOBS = 10; // of a stop whose sets of jobs are gone through
  const MOST_STATES = 6000000; // 24 MB of the table
  const MOST_STEPS = 12000000; // 0.3 s on a desk, some seconds on a slow phone; a day of 14 stops with a job each takes 1.6 million
  const [NOT_YET, RESTED, AT_SUSPECT] = [0, 1, 2];

  function choicesOf(stop, trips) {
    const each = trips + 1;
    const size = each ** stop.jobs.length;
    const found = { size, by: [null], taken: new Int32Array(size), trip: new Uint8Array(size) };
    for (let digits = 0; digits < size; digits += 1) {
      stop.jobs.forEach((_, number) => {
        const trip = Math.floor(digits / each ** number) % each;
        if (trip) found.taken[digits] |= 1 << number;
        found.trip[digits] = Math.max(found.trip[digits], trip);
      });
    }
    for (let trip = 1; trip <= trips; trip += 1) found.by.push(sets(stop).map((choice) => ({ ...choice, trip, add: choice.jobs.reduce((sum, number) => sum + trip * each ** number, 0) })));
    return found;
  }

  /* Every set of a stop's jobs that a window is for. */
  function sets(stop) {
    const found = [];
    for (let mask = 1; mask < 1 << stop.jobs.length; mask += 1) {
      const spans = stop.windows.filter((each) => (each[2] & mask) === mask).sort((a, b) => a[0] - b[0]);
      const jobs = stop.jobs.map((_, number) => number).filter((number) => mask & (1 << number));
      if (spans.length > 0) found.push({ mask, jobs, spans, seconds: secondsOf(stop, jobs) });
    }
    return found;
  }

  /* How large the table is, without making it. */
  function sizeOf(problem, trips) {
    const counts = problem.stops.map((stop) => stop.jobs.length);
    const count = counts.reduce((sum, each) => sum + each, 0);
    const suspects = problem.stops.some((stop) => stop.last);
    const breaks = problem.breakSeconds > 0 ? (suspects ? 3 : 2) : 1;
    const each = trips + 1;
    const lasts = counts.reduce((sum, jobs) => sum + 1 - 1 / each ** jobs, 0);
    const nexts = counts.reduce((sum, jobs) => sum + trips * ((1 + 1 / each) ** jobs - 1), 0); // sets of a stop's jobs that do not meet
    const all = each ** count;
    return { breaks, states: all * problem.stops.length * breaks, steps: all * lasts * nexts * breaks };
  }

  function small(problem, trips) {
    const size = sizeOf(problem, trips);
    const count = problem.stops.reduce((sum, stop) => sum + stop.jobs.length, 0);
    return count <= 30 && problem.stops.every((stop) => stop.jobs.length <= MOST_JOBS) && size.states <= MOST_STATES && size.steps <= MOST_STEPS;
  }

  function frameOf(problem, trips) {
    const choices = problem.stops.map((stop) => choicesOf(stop, trips));
    const strides = [];
    let all = 1;
    for (const choice of choices) {
      strides.push(all);
      all *= choice.size;
    }
    return { stops: choices.length, choices, strides, sets: all, trips, breaks: sizeOf(problem, trips).breaks };
  }

  function digit(frame, set, stop) {
    return Math.floor(set / frame.strides[stop]) % frame.choices[stop].size;
  }

  function tripOf(frame, set) {
    let found = 0;
    for (let stop = 0; stop < frame.stops; stop += 1) found = Math.max(found, frame.choices[stop].trip[digit(frame, set, stop)]);
    return found;
  }

  /* The jobs of a set: those of the trip under way, and those after base, null where it is not come back to. */
  function jobsOf(problem, frame, set) {
    const trips = [[], []];
    const each = frame.trips + 1;
    for (let stop = 0; stop < frame.stops; stop += 1) {
      const digits = digit(frame, set, stop);
      if (digits) problem.stops[stop].jobs.forEach((job, number) => {
        const trip = Math.floor(digits / each ** number) % each;
        if (trip) trips[trip - 1].push(job);
      });
    }
    return [trips[0], trips[1].length ? trips[1] : null];
  }

  /* The table and the sets that can be done. Of all ways to a stop that leave the break in one state the first to be ready is
     enough, since work is never over sooner for having begun later. */
  function fill(problem, frame) {
    const { stops, strides, sets: all, breaks, choices, trips } = frame;
    const width = stops * breaks;
    const finishes = new Int32Array(all * width).fill(NEVER);
    const allowed = new Uint8Array(all);
    const rest = problem.breakSeconds;
    const latestRest = problem.now + problem.breakAfter;
    const last = Uint8Array.from(problem.stops, (stop) => (stop.last ? 1 : 0));
    const drives = Int32Array.from({ length: stops * stops }, (_, at) => problem.drives[at % stops][Math.floor(at / stops)]); // by the stop that they lead to
    const everything = problem.stops.flatMap((stop) => stop.jobs);
    const roomy = trips === 1 && fits(problem, everything) && everything.every((job) => job.brings.length === 0);
    const held = problem.stops.map((stop) => stop.jobs[0] && stop.jobs[0].held); // a move is a stop of its own
    const roomOf = problem.stops.map((_, stop) => (held[stop] ? new Int8Array(all) : null)); // 1 there is room, -1 there is none
    const open = Int32Array.from({ length: stops }, (_, stop) => stop);
    const done = new Int32Array(stops);
    const digits = new Int32Array(stops);

    function goOn(set, to, moment, state, trip) {
      const before = choices[to].taken[digits[to]];
      for (const choice of choices[to].by[trip]) {
        if (choice.mask & before) continue;
        const finish = finishOf(choice, moment);
        if (finish === NEVER || finish > problem.homeBy) continue;
        const after = set + choice.add * strides[to];
        if (held[to]) {
          if (roomOf[to][after] === 0) roomOf[to][after] = fits(problem, ...jobsOf(problem, frame, after), held[to]) ? 1 : -1;
          if (roomOf[to][after] < 0) continue;
        }
        const at = after * width + to * breaks + state;
        if (finish < finishes[at]) finishes[at] = finish;
      }
    }

    /* `arrive` at base, by the state of the break. */
    function byBase(set, free, arrive) {
      for (let state = 0; state < breaks; state += 1) {
        if (arrive[state] === NEVER) continue;
        const [loaded, rested] = againAt(problem, arrive[state], state);
        for (let other = 0; other < free; other += 1) {
          const to = open[other];
          const drive = problem.base.out[to];
          if (drive >= 0 && loaded !== NEVER) goOn(set, to, loaded + drive, state, 2);
          if (drive >= 0 && rested !== NEVER) goOn(set, to, rested + drive, RESTED, 2);
        }
      }
    }

    function straight(set, made, free, trip) {
      for (let other = 0; other < free; other += 1) {
        const to = open[other];
        let [plain, rested, suspect] = [NEVER, NEVER, NEVER]; // when work may begin, by the state of the break
        for (let index = 0; index < made; index += 1) {
          const from = done[index];
          const drive = drives[to * stops + from];
          if (drive < 0 || last[from] > last[to]) continue;
          let at = set * width + from * breaks;
          const finish = finishes[at];
          if (finish < NEVER - drive && finish + drive < plain) plain = finish + drive;
          if (breaks === 1) continue;
          let after = finishes[at += 1];
          if (!last[from] && finish <= latestRest && finish + rest < after) after = finish + rest;
          if (after < NEVER - drive && after + drive < rested) rested = after + drive;
          if (breaks === 2) continue;
          after = finishes[at + 1];
          if (last[from] && finish <= latestRest && finish + rest < after) after = finish + rest;
          if (after < NEVER - drive && after + drive < suspect) suspect = after + drive;
        }
        if (plain !== NEVER) goOn(set, to, plain, NOT_YET, trip);
        if (rested !== NEVER) goOn(set, to, rested, RESTED, trip);
        if (suspect !== NEVER) goOn(set, to, suspect, AT_SUSPECT, trip);
      }
    }

    for (let to = 0; to < stops; to += 1) {
      if (problem.out[to] < 0) continue;
      goOn(0, to, problem.now + problem.out[to], NOT_YET, 1);
      if (rest) goOn(0, to, problem.now + problem.out[to] + rest, last[to] ? AT_SUSPECT : RESTED, 1);
    }
    if (trips > 1 && problem.outHome >= 0) byBase(0, stops, [problem.now + problem.outHome, NEVER, NEVER]);
    for (let set = 1; set < all; set += 1) {
      let free = 0;
      let made = 0;
      let trip = 1;
      for (let stop = 0, rests = set; stop < stops; stop += 1) {
        const { size, taken, trip: tripAt } = choices[stop];
        const here = rests % size;
        digits[stop] = here;
        if (taken[here] < taken[size - 1]) open[free++] = stop;
        if (here > 0) done[made++] = stop;
        if (tripAt[here] > trip) trip = tripAt[here];
        rests = (rests / size) | 0;
      }
      let reached = false;
      for (let at = set * width; !reached && at < (set + 1) * width; at += 1) reached = finishes[at] !== NEVER;
      if (!reached || (!roomy && !fits(problem, ...jobsOf(problem, frame, set)))) continue;
      allowed[set] = 1;
      straight(set, made, free, trip);
      if (trip < trips) {
        const arrive = [NEVER, NEVER, NEVER];
        for (let index = 0; index < made; index += 1) {
          const from = done[index];
          const back = problem.home[from];
          if (back < 0 || last[from]) continue;
          for (let state = 0; state < breaks; state += 1) {
            const finish = finishes[set * width + from * breaks + state];
            if (finish !== NEVER && finish + back < arrive[state]) arrive[state] = finish + back;
          }
        }
        byBase(set, free, arrive);
      }
    }
    return { finishes, allowed };
  }

  /* The weights of every set of some neighbouring stops, four ranks a set. */
  function weightsOf(problem, frame, first, end) {
    let found = [[0, 0, 0, 0]];
    for (let stop = end - 1; stop >= first; stop -= 1) {
      const own = Array.from(frame.choices[stop].taken, (mask) => scoreOf(problem.stops[stop].jobs.filter((_, number) => mask & (1 << number))));
      found = found.flatMap((rest) => own.map((score) => score.map((weight, rank) => weight + rest[rank])));
    }
    return Float64Array.from(found.flat());
  }

  /* Of all sets that may be taken the most weight rank by rank, then no break at a suspect site, then home soonest. `seen`
     is called with each that is possible; a `view` of a set tells what is in it. */
  function best(problem, frame, made, may, seen) {
    const half = frame.stops >> 1;
    const below = frame.strides[half] || 1;
    const [low, high] = [weightsOf(problem, frame, 0, half), weightsOf(problem, frame, half, frame.stops)];
    const score = new Float64Array(4);
    const way = { set: 0, from: 0, state: 0, dirty: false, home: 0 };
    let found = null;
    let set = 1;
    const view = {
      has: (stop, job) => Boolean(frame.choices[stop].taken[digit(frame, set, stop)] & (1 << job)),
      jobs: (of) => jobsOf(of, frame, set),
    };
    for (; set < frame.sets; set += 1) {
      if (!made.allowed[set] || !homeward(problem, frame, made.finishes, set, way)) continue;
      const above = Math.floor(set / below) * 4;
      const under = (set % below) * 4;
      for (let rank = 0; rank < 4; rank += 1) score[rank] = low[under + rank] + high[above + rank];
      if (seen) seen(view, score);
      if (may && !may(view)) continue;
      const more = found ? compare(score, found.score) : 1;
      if (more > 0 || (more === 0 && (way.dirty < found.dirty || (way.dirty === found.dirty && way.home < found.home)))) {
        found = { ...way, score: Array.from(score) };
      }
    }
    return found;
  }

  /* Writes into `way` how a set is home best, and returns whether it is at all. */
  function homeward(problem, frame, finishes, set, way) {
    let [home, dirty] = [NEVER, true];
    for (let from = 0, at = set * frame.stops * frame.breaks; from < frame.stops; from += 1) {
      for (let state = 0; state < frame.breaks; state += 1, at += 1) {
        if (finishes[at] === NEVER || problem.home[from] < 0) continue;
        const back = finishes[at] + problem.home[from];
        if (back > problem.homeBy || (problem.breakSeconds > 0 && state === NOT_YET && back - problem.now > problem.breakAfter)) continue;
        const suspect = state === AT_SUSPECT;
        if (home !== NEVER && (suspect > dirty || (suspect === dirty && back >= home))) continue;
        [home, dirty] = [back, suspect];
        [way.set, way.from, way.state, way.dirty, way.home] = [set, from, state, suspect, back];
      }
    }
    return home !== NEVER;
  }

  /* The order that made a state of the table, found again from its end. */
  function trace(problem, frame, finishes, end) {
    const order = [];
    let { set, from, state } = end;
    while (set > 0) {
      const finish = finishes[(set * frame.stops + from) * frame.breaks + state];
      const found = enterOf(problem, frame, finishes, { set, from, state, finish });
      order.unshift({ stop: from, jobs: found.choice.jobs, base: found.base, rested: state !== NOT_YET, finish });
      set -= found.choice.add * frame.strides[from];
      [from, state] = [found.from, found.state];
    }
    return order;
  }

  function enterOf(problem, frame, finishes, here) {
    const whole = digit(frame, here.set, here.from);
    for (const choice of frame.choices[here.from].by.slice(1).flat()) {
      const rest = whole - choice.add;
      const { taken } = frame.choices[here.from];
      if (rest < 0 || (taken[rest] & choice.mask) || (taken[rest] | choice.mask) !== taken[whole]) continue;
      const before = here.set - choice.add * frame.strides[here.from];
      const trip = Math.max(1, tripOf(frame, before));
      if (trip > choice.trip) continue;
      const base = choice.trip > trip;
      const found = base ? baseBefore(problem, choice, frame, finishes, { ...here, before }) : before === 0 ? startOf(problem, choice, here) : stopBefore(problem, choice, frame, finishes, { ...here, before });
      if (found) return { ...found, choice, base };
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

  function baseBefore(problem, choice, frame, finishes, here) {
    const drive = problem.base.out[here.from];
    for (let from = here.before === 0 ? -1 : 0; from < (here.before === 0 ? 0 : frame.stops); from += 1) {
      const home = from < 0 ? problem.outHome : problem.home[from];
      if (home < 0 || drive < 0 || (from >= 0 && problem.stops[from].last)) continue;
      for (let state = 0; state < frame.breaks; state += 1) {
        const finish = from < 0 ? (state === NOT_YET ? problem.now : NEVER) : finishes[(here.before * frame.stops + from) * frame.breaks + state];
        if (finish === NEVER) continue;
        const [ready, after] = againAt(problem, finish + home, state);
        if (ready !== NEVER && state === here.state && finishOf(choice, ready + drive) === here.finish) return { from, state };
        if (after !== NEVER && here.state === RESTED && finishOf(choice, after + drive) === here.finish) return { from, state };
      }
    }
    return null;
  }

  /* The best order on so many trips; `null` where nothing can be done. */
  function run(problem, trips, may, seen) {
    const frame = frameOf(problem, trips);
    const made = fill(problem, frame);
    const end = best(problem, frame, made, may, seen);
    return end && { ...end, order: trace(problem, frame, made.finishes, end) };
  }

  return { run, small, sizeOf, MOST_STEPS };
}
