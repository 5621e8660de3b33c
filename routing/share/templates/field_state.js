/* From the page's numbers, ticks and clock to what the search is asked. Seconds count from the midnight of the page's day. */
function fieldState(given, keeping) {
  const field = given.field;

  /* The hives of a job that are still to be done: none where it is ticked. */
  function hivesLeft(job) {
    if (job.number in keeping.state.done) return 0;
    const part = keeping.state.parts[job.number];
    return job.hives - (part ? Math.min(job.hives, Number(part.split(" ")[1])) : 0);
  }

  const MOST_JOBS = 14; // as many as are looked at in full on a slow phone before a thumb is lifted: beyond, none that is near

  /* The shown stops whose jobs make one stop of the search: the plan's, and what is near at the same site. */
  const shownAt = field.stops.map((stop, index) => [stop.to, ...given.stops.map((each, place) => (each.near && each.stop === index && place !== stop.to ? place : -1)).filter((place) => place >= 0)]);
  const jobsAt = shownAt.map((places) => places.flatMap((place) => given.stops[place].jobs));

  /* What is ticked at a stop of the search; a move of hives where they are set down. */
  function jobsOf(index) {
    return jobsAt[index];
  }

  /* The shown stop that a job of the search stands at, and whether the plan left it out. */
  function shownOf(index, number) {
    const job = jobsAt[index][number];
    return given.stops[shownAt[index].find((place) => given.stops[place].jobs.includes(job))];
  }

  /* When hives were loaded that are to be moved; undefined where they stand where they stood. */
  function loadedAt(job) {
    return keeping.state.loaded[`hives-${job.number}`];
  }

  function up(value) {
    return Math.ceil(Math.round(value * 1e6) / 1e6);
  }

  function seconds(moment) {
    return Math.floor(Date.parse(moment) / 1000) - field.midnight;
  }

  /* The last tick, and the stop that it is at: hives are loaded at one and set down at another. */
  function last() {
    let found = null;
    const heard = (tick, stop) => { if (tick && (!found || seconds(tick) >= found.at)) found = { stop, at: seconds(tick) }; };
    field.stops.forEach((stop, index) => jobsOf(index).forEach((job) => {
      if (stop.move) heard(loadedAt(job), stop.at);
      heard(keeping.state.done[job.number] || (keeping.state.parts[job.number] || "").split(" ")[0], stop.to);
    }));
    return found;
  }

  /* In thousandths: what was loaded less what the ticked hives took, as reckoned or as typed; and the grams and
     millilitres that go home, or that are hives on board. */
  function counted() {
    const amounts = field.materials.map((each) => each.loaded);
    const back = [0, 0];
    const heavier = (supply, amount) => {
      back[0] += amount * field.materials[supply].grams;
      back[1] += amount * field.materials[supply].millilitres;
    };
    field.materials.forEach((each, supply) => heavier(supply, each.brought));
    field.stops.forEach((stop, index) => jobsOf(index).forEach((job, number) => {
      const left = hivesLeft(job);
      const aboard = stop.move && loadedAt(job) ? left : 0;
      const done = job.hives - left;
      const here = stop.jobs[number];
      for (const [supply, each] of here.uses) {
        const typed = job.feed === field.materials[supply].id ? keeping.state.used[job.number] : undefined;
        amounts[supply] -= up((typed === undefined ? each : Number(typed) * 1000) * (done + aboard));
      }
      for (const [supply, each] of here.brings) heavier(supply, up(each * done));
      if (aboard) stop.move.carries.forEach((each, measure) => { back[measure] += each * aboard; });
    }));
    return { amounts, back };
  }

  /* A correction by hand is kept as a difference, so that later ticks still count. */
  function board() {
    const { amounts, back } = counted();
    const corrected = amounts.map((amount, supply) => {
      const more = keeping.state.field.board[field.materials[supply].id];
      return Math.max(0, amount + (more === undefined ? 0 : Number(more)));
    });
    return { amounts: corrected, back };
  }

  /* What is left of a job; its weight is its share of the whole, times what makes all such shares whole numbers. */
  function jobOf(index, number, scale) {
    const stop = field.stops[index];
    const here = stop.jobs[number];
    const job = jobsOf(index)[number];
    const left = hivesLeft(job);
    const share = (uses) => uses.map(([supply, each]) => [supply, up(each * left)]);
    const found = {
      setUp: here.setUp,
      work: up(here.each * left),
      rank: here.rank,
      weight: Math.floor((scale * here.weight * left) / here.of),
      uses: share(here.uses),
      brings: share(here.brings),
      left,
    };
    if (!stop.move) return found;
    const held = stop.move.carries.map((each) => each * left);
    const end = stop.move.walk + stop.move.setUp + up(stop.move.each * left);
    if (!loadedAt(job)) return { ...found, work: found.work + stop.move.drive + end, held };
    return { ...found, rank: 0, setUp: stop.move.setUp, work: up(stop.move.each * left), uses: [], off: held };
  }

  function problemStop({ index, jobs }, scale) {
    const stop = field.stops[index];
    const end = stop.move && loadedAt(jobsOf(index)[0]) ? stop.move : null;
    return {
      walk: (end || stop).walk,
      last: stop.last,
      windows: (end || stop).windows.map(([opens, closes, mask]) => [opens, closes, jobs.reduce((sum, number, place) => sum | (mask & (1 << number) ? 1 << place : 0), 0)]),
      jobs: jobs.map((number) => jobOf(index, number, scale)),
    };
  }

  /* The least number that makes the shares of half-done and shared-out jobs whole; a million where that is larger. */
  function scaleOf(open) {
    const divisor = (one, other) => (other ? divisor(other, one % other) : one);
    const wholes = open.flatMap(({ index, jobs }) => jobs.filter((number) => hivesLeft(jobsOf(index)[number]) < field.stops[index].jobs[number].of)
      .map((number) => field.stops[index].jobs[number].of));
    return wholes.reduce((least, whole) => Math.min(1e6, (least * whole) / divisor(least, whole)), 1);
  }

  /* The stops and jobs that are left: those of the plan, and of what is near, nearest first, as much as is looked at in full. */
  function open() {
    const left = field.stops.map((stop, index) => ({ index, jobs: stop.jobs.map((_, number) => number).filter((number) => hivesLeft(jobsOf(index)[number]) > 0) }));
    const kept = keeping.state.field.kept;
    const wanted = new Set(kept ? kept.stops.map((stop) => stop.mark) : []);
    const near = given.stops.filter((stop) => stop.near);
    let count = left.reduce((sum, each) => sum + each.jobs.filter((number) => !shownOf(each.index, number).near).length, 0);
    const offered = new Set();
    for (const stop of [...near.filter((each) => wanted.has(each.mark)), ...near.filter((each) => !wanted.has(each.mark))]) {
      const jobs = stop.jobs.filter((job) => hivesLeft(job) > 0).length;
      if (count + jobs > MOST_JOBS && !wanted.has(stop.mark)) continue;
      count += jobs;
      offered.add(stop.mark);
    }
    return left.map(({ index, jobs }) => ({ index, jobs: jobs.filter((number) => !shownOf(index, number).near || offered.has(shownOf(index, number).mark)) }))
      .filter((each) => each.jobs.length > 0);
  }

  /* What the search is asked, and for each of its stops and jobs which one of the page it is. `from` is the number of a
     shown stop, -1 for where the day began. */
  function problem(from, now) {
    const stops = open();
    const { amounts, back } = board();
    const rested = Boolean(keeping.state.field.rested);
    const out = from < 0 && !last() ? now : field.leave;
    const aboard = ({ index }) => field.stops[index].move && loadedAt(jobsOf(index)[0]);
    const entered = (each) => (aboard(each) ? field.stops[each.index].to : field.stops[each.index].at) + 1;
    const leaves = (each) => field.stops[each.index].to + 1;
    const row = (place) => stops.map((each) => field.seconds[place][entered(each)]);
    const scale = scaleOf(stops);
    return {
      where: stops,
      asked: {
        now,
        homeBy: field.home_by,
        breakSeconds: rested ? 0 : field.break,
        breakAfter: Math.max(0, Math.min(out, now) + field.break_after - now),
        out: row(from + 1),
        home: stops.map((each) => field.seconds[leaves(each)][0]),
        outHome: field.seconds[from + 1][0],
        drives: stops.map((each, at) => row(leaves(each)).map((drive, to) => (at === to ? 0 : drive))),
        payload: field.payload,
        space: field.space,
        brought: back,
        board: amounts,
        supplies: field.materials.map((each) => ({ grams: each.grams, millilitres: each.millilitres })),
        stops: stops.map((each) => problemStop(each, scale)),
      },
    };
  }

  /* The order that is followed: what was kept, else the plan; only what is left of it. */
  function followed(where) {
    const kept = keeping.state.field.kept;
    const order = kept ? kept.stops : given.stops.filter((stop) => !stop.near).map((stop) => ({ mark: stop.mark, jobs: stop.jobs.map((job) => job.number) }));
    return order.flatMap(({ mark, jobs }) => {
      const stop = where.findIndex((each) => shownAt[each.index].some((place) => given.stops[place].mark === mark));
      if (stop < 0) return [];
      const places = where[stop].jobs.map((number, place) => (jobs.includes(jobsOf(where[stop].index)[number].number) ? place : -1));
      const here = places.filter((place) => place >= 0);
      return here.length ? [{ stop, jobs: here }] : [];
    });
  }

  /* The two ends of a move in an order: hives are loaded at one and set down at the other; null where that is one stop. */
  function endsOf({ index, jobs }, start, finish) {
    const stop = field.stops[index];
    if (!stop.move || loadedAt(jobsOf(index)[0])) return null;
    const loaded = start + stop.walk + stop.jobs[0].setUp + up(stop.jobs[0].each * hivesLeft(jobsOf(index)[jobs[0]]));
    return { loaded, arrive: loaded + stop.move.drive, finish };
  }

  return { problem, followed, last, board, counted, hivesLeft, jobsOf, shownOf, endsOf };
}
