/* What still fits: an exact search over all sets of jobs and all orders, in the numbers of `field_days.js`.

   The table holds, for each set of work done, last stop and state of the break, the earliest that the work can be
   finished: whatever follows is never worse for having begun sooner. A set (`field_frame.js`) is met only after all its
   parts, and tells by its largest digit whether base was come back to. A stop may be made again for other jobs, in another
   window or the same.

   With some of a job's hives, sets without that job are as they were: only those with it are gone through again, and of
   these only what is part of a set that may be better than what is found. */
function fieldSearch() {
  "use strict";
  const { NEVER, finishOf, compare, againAt } = fieldDays();
  const { enoughFor, holds } = fieldLoad();
  const { sizeOf, small, frameOf, digit, tripOf, tripOfJob, scoreAt, loadAt, MOST_STEPS } = fieldFrame();
  const [NOT_YET, RESTED, AT_SUSPECT] = [0, 1, 2];

  /* The table and the sets that can be done. Of all ways to a stop that leave the break in one state the first to be ready is
     enough, since work is never over sooner for having begun later. Where `wanted` says 2 of a set it is that of the table
     `under`, where it says 0 nobody asks for it. */
  function fill(frame, under, wanted) {
    const { problem, stops, strides, sets: all, breaks, choices, trips, sums } = frame;
    const width = stops * breaks;
    const finishes = new Int32Array(all * width);
    const allowed = new Uint8Array(all);
    const rest = problem.breakSeconds;
    const latestRest = problem.now + problem.breakAfter;
    const last = Uint8Array.from(problem.stops, (stop) => (stop.last ? 1 : 0));
    const drives = Int32Array.from({ length: stops * stops }, (_, at) => problem.drives[at % stops][Math.floor(at / stops)]); // by the stop that they lead to
    const roomy = trips === 1 && holds(problem, sums.load, loadAt(frame, all - 1)) && frame.jobs.every(({ job }) => job.brings.length === 0);
    const held = problem.stops.map((stop) => stop.jobs[0] && stop.jobs[0].held); // a move is a stop of its own
    const roomOf = problem.stops.map((_, stop) => (held[stop] ? new Int8Array(all) : null)); // 1 there is room, -1 there is none
    const open = Int32Array.from({ length: stops }, (_, stop) => stop);
    const done = new Int32Array(stops);
    const digits = new Int32Array(stops);
    let rows = finishes; // those of the set under way

    if (!wanted) finishes.fill(NEVER);
    else wanted.forEach((want, set) => { if (want === 1) finishes.fill(NEVER, set * width, (set + 1) * width); });

    function goOn(set, to, moment, state, trip) {
      const before = choices[to].taken[digits[to]];
      for (const choice of choices[to].by[trip]) {
        if (choice.mask & before) continue;
        const after = set + choice.add * strides[to];
        if (wanted && wanted[after] !== 1) continue;
        const finish = finishOf(choice, moment);
        if (finish === NEVER || finish > problem.homeBy) continue;
        if (held[to]) {
          if (roomOf[to][after] === 0) roomOf[to][after] = holds(problem, sums.load, loadAt(frame, after), held[to]) ? 1 : -1;
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
          const finish = rows[at];
          if (finish < NEVER - drive && finish + drive < plain) plain = finish + drive;
          if (breaks === 1) continue;
          let after = rows[at += 1];
          if (!last[from] && finish <= latestRest && finish + rest < after) after = finish + rest;
          if (after < NEVER - drive && after + drive < rested) rested = after + drive;
          if (breaks === 2) continue;
          after = rows[at + 1];
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
      if (wanted && wanted[set] === 0) continue;
      const before = wanted !== null && wanted[set] === 2;
      rows = before ? under.finishes : finishes;
      if (before && !under.allowed[set]) continue;
      let free = 0;
      let made = 0;
      let trip = 1;
      for (let stop = 0, rests = set; stop < stops; stop += 1) {
        const { size, taken, trip: tripAt } = choices[stop];
        const here = rests % size;
        digits[stop] = here;
        if (taken[here] < taken[size - 1] && (!before || stop === under.stop)) open[free++] = stop;
        if (here > 0) done[made++] = stop;
        if (tripAt[here] > trip) trip = tripAt[here];
        rests = (rests / size) | 0;
      }
      let reached = false;
      for (let at = set * width; !reached && at < (set + 1) * width; at += 1) reached = rows[at] !== NEVER;
      if (!reached || (!roomy && !before && !holds(problem, sums.load, loadAt(frame, set)))) continue;
      if (!before) allowed[set] = 1;
      straight(set, made, free, trip);
      if (trip < trips) {
        const arrive = [NEVER, NEVER, NEVER];
        for (let index = 0; index < made; index += 1) {
          const from = done[index];
          const back = problem.home[from];
          if (back < 0 || last[from]) continue;
          for (let state = 0; state < breaks; state += 1) {
            const finish = rows[set * width + from * breaks + state];
            if (finish !== NEVER && finish + back < arrive[state]) arrive[state] = finish + back;
          }
        }
        byBase(set, free, arrive);
      }
    }
    return { frame, finishes, allowed, under, wanted };
  }

  /* The rows of the table in which a set is. */
  function rowsAt(made, set) {
    return made.wanted && made.wanted[set] === 2 ? made.under.finishes : made.finishes;
  }

  /* What is in a set, for who asks. */
  function viewOf(frame) {
    const view = { set: 0, tripOf: (stop, number) => tripOfJob(frame, view.set, stop, number), load: () => loadAt(frame, view.set) };
    return view;
  }

  /* Of all sets that may be taken the most weight rank by rank, then no break at a suspect site, then home soonest. */
  function best(made, may) {
    const { frame } = made;
    const way = { set: 0, from: 0, state: 0, dirty: false, home: 0 };
    const view = viewOf(frame);
    let found = null;
    for (let set = 1; set < frame.sets; set += 1) {
      if (!made.allowed[set]) continue;
      const score = scoreAt(frame, set);
      const more = found ? compare(score, found.score) : 1;
      view.set = set;
      if (more < 0 || !homeward(made, set, way) || (may && !may(view))) continue;
      if (more > 0 || way.dirty < found.dirty || (way.dirty === found.dirty && way.home < found.home)) found = { ...way, score: Array.from(score) };
    }
    return found;
  }

  /* Calls `seen` with each set that is possible, a view of it and its weights, of those that `asked` is true of. */
  function each(made, asked, seen) {
    const { frame } = made;
    const way = {};
    const view = viewOf(frame);
    for (let set = 1; set < frame.sets; set += 1) {
      if (!made.allowed[set] || !asked(scoreAt(frame, set)) || !homeward(made, set, way)) continue;
      view.set = set;
      seen(view, scoreAt(frame, set));
    }
  }

  /* Of each set whether it has the job (2: it has not) and may be a part of one that is no worse than `least`. */
  function wantedOf(frame, { stop, job }, may, least) {
    const bit = frame.jobs.findIndex((each) => each.stop === stop && each.number === job);
    const digits = frame.jobs.map((_, at) => frame.each ** at);
    const wanted = new Uint8Array(frame.sets);
    const view = viewOf(frame);
    for (let set = frame.sets - 1; set >= 0; set -= 1) {
      if (Math.floor(set / digits[bit]) % frame.each === 0) {
        wanted[set] = 2;
        continue;
      }
      view.set = set;
      if (!wanted[set] && (!least || compare(scoreAt(frame, set), least.score) >= 0) && holds(frame.problem, frame.sums.load, loadAt(frame, set)) && may(view)) wanted[set] = 1;
      if (!wanted[set]) continue;
      for (let at = 0; at < digits.length; at += 1) {
        const here = Math.floor(set / digits[at]) % frame.each;
        if (here && at !== bit) wanted[set - here * digits[at]] = 1;
      }
    }
    return wanted;
  }

  /* Writes into `way` how a set is home best, and returns whether it is at all. */
  function homeward(made, set, way) {
    const { problem, stops, breaks } = made.frame;
    const finishes = rowsAt(made, set);
    let [home, dirty] = [NEVER, true];
    for (let from = 0, at = set * stops * breaks; from < stops; from += 1) {
      for (let state = 0; state < breaks; state += 1, at += 1) {
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
  function trace(made, end) {
    const { frame } = made;
    const order = [];
    let { set, from, state } = end;
    while (set > 0) {
      const finish = rowsAt(made, set)[(set * frame.stops + from) * frame.breaks + state];
      const found = enterOf(made, { set, from, state, finish });
      order.unshift({ stop: from, jobs: found.choice.jobs, base: found.base, rested: state !== NOT_YET, finish });
      set -= found.choice.add * frame.strides[from];
      [from, state] = [found.from, found.state];
    }
    return order;
  }

  function enterOf(made, here) {
    const { frame } = made;
    const whole = digit(frame, here.set, here.from);
    for (const choice of frame.choices[here.from].by.slice(1).flat()) {
      const rest = whole - choice.add;
      const { taken } = frame.choices[here.from];
      if (rest < 0 || (taken[rest] & choice.mask) || (taken[rest] | choice.mask) !== taken[whole]) continue;
      const before = here.set - choice.add * frame.strides[here.from];
      const trip = Math.max(1, tripOf(frame, before));
      if (trip > choice.trip) continue;
      const base = choice.trip > trip;
      const found = base ? baseBefore(made, choice, { ...here, before }) : before === 0 ? startOf(frame.problem, choice, here) : stopBefore(made, choice, { ...here, before });
      if (found) return { ...found, choice, base };
    }
    throw new Error("the table holds a state that nothing leads to");
  }

  function startOf(problem, choice, here) {
    const ready = problem.now + problem.out[here.from] + (here.state === NOT_YET ? 0 : problem.breakSeconds);
    return problem.out[here.from] >= 0 && finishOf(choice, ready) === here.finish ? { from: -1, state: NOT_YET } : null;
  }

  function stopBefore(made, choice, here) {
    const { frame, frame: { problem } } = made;
    const finishes = rowsAt(made, here.before);
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

  function baseBefore(made, choice, here) {
    const { frame, frame: { problem } } = made;
    const finishes = rowsAt(made, here.before);
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

  function day(made, may) {
    const end = best(made, may);
    return end && { ...end, order: trace(made, end) };
  }

  /* What is looked at of so many trips: the best order, `null` where nothing can be done, and `part`, the best with some of
     a job's hives that is no worse than `least`. What is `watched` sees each set that can be done and that it asks for. */
  function looked(problem, trips, watched) {
    const made = fill(frameOf(problem, trips), null, null);
    const best = day(made, null);
    if (watched) each(made, (score) => !best || watched.asked(score, best.score), watched.seen);
    return {
      best,
      part: (less, part, may, least) => {
        const frame = frameOf(less, trips);
        return day(fill(frame, { ...made, stop: part.stop }, wantedOf(frame, part, may, least)), may);
      },
    };
  }

  return { looked, small, sizeOf, MOST_STEPS };
}
