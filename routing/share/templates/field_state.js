/* From the page's numbers, ticks and clock to what the search is asked. Seconds count from the midnight of the page's day. */
function fieldState(given, keeping) {
  const field = given.field;
  const start = fieldStart(given);

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

  /* Which trip of the plan the crew is on: that of the last work that is begun, or the one that was loaded for at base. */
  function tripNow() {
    const begun = field.stops.filter((stop, index) => jobsOf(index).some((job, number) => !shownOf(index, number).near && hivesLeft(job) < job.hives)).map((stop) => stop.trip);
    const bases = given.stops.filter((stop) => !stop.told);
    const loaded = bases.map((stop, trip) => (stop.loads.some((load) => load.key in keeping.state.loaded) ? trip + 1 : 0));
    return Math.max(0, ...begun, ...loaded);
  }

  /* In thousandths: what was loaded less what the ticked hives took, as reckoned or as typed; and the grams and
     millilitres that go home, those of hives on board among them and by themselves. At base all but these comes off. */
  function counted() {
    const trip = tripNow();
    const extra = keeping.state.field.again;
    const amounts = field.materials.map((each, supply) => each.loaded + each.again.slice(0, trip).reduce((sum, more) => sum + more, 0) + extra.reduce((sum, one) => sum + (one.loaded[supply] || 0), 0));
    const [back, hives] = [[0, 0], [0, 0]];
    const heavier = (supply, amount) => {
      back[0] += amount * field.materials[supply].grams;
      back[1] += amount * field.materials[supply].millilitres;
    };
    field.materials.forEach((each, supply) => { if (trip === 0) heavier(supply, each.brought); });
    field.stops.forEach((stop, index) => jobsOf(index).forEach((job, number) => {
      const left = hivesLeft(job);
      const aboard = stop.move && loadedAt(job) ? left : 0;
      const done = job.hives - left;
      const here = stop.jobs[number];
      for (const [supply, each] of here.uses) {
        const typed = job.feed === field.materials[supply].id ? keeping.state.used[job.number] : undefined;
        amounts[supply] -= up((typed === undefined ? each : Number(typed) * 1000) * (done + aboard));
      }
      const home = (shownOf(index, number).near ? trip : stop.trip) === trip ? done : 0;
      for (const [supply, each] of here.brings) heavier(supply, up(each * home));
      if (aboard) stop.move.carries.forEach((each, measure) => { hives[measure] += each * aboard; });
    }));
    const off = extra.length ? extra[extra.length - 1].off : [0, 0];
    return { amounts, back: back.map((amount, measure) => Math.max(0, amount - off[measure]) + hives[measure]), hives };
  }

  /* Loading again at base, null where no trip is left or the drives out of it are not known. */
  function baseOf(row) {
    const trip = tripNow();
    const extra = keeping.state.field.again;
    if (!field.base || trip + extra.length + 1 >= field.base.trips) return null;
    const gone = (supply) => field.materials[supply].again.slice(0, trip).reduce((sum, more) => sum + more, 0) + extra.reduce((sum, one) => sum + (one.loaded[supply] || 0), 0);
    return {
      loading: field.base.loading,
      out: row(0),
      stock: field.materials.map((each, supply) => (each.atBase === null ? null : Math.max(0, each.atBase - gone(supply)))),
    };
  }

  /* A correction by hand is kept as a difference, so that later ticks still count. */
  function board() {
    const { amounts, back, hives } = counted();
    const corrected = amounts.map((amount, supply) => {
      const more = keeping.state.field.board[field.materials[supply].id];
      return Math.max(0, amount + (more === undefined ? 0 : Number(more)));
    });
    return { amounts: corrected, back, hives };
  }

  /* What is on board more than the van may carry, in kilograms or litres, null where it is not: then something is not as it is counted. */
  function overload() {
    const { amounts, back } = board();
    const measures = [["grams", field.payload, "kg"], ["millilitres", field.space, "litres"]];
    const loads = measures.map(([each, most, unit], measure) => ({ load: back[measure] + amounts.reduce((sum, amount, supply) => sum + amount * field.materials[supply][each], 0), most, unit }));
    return loads.find(({ load, most }) => most !== null && Math.round(load * 1e3) / 1e3 > most) || null;
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
      hives: stop.move || / part \d+ of \d+$/.test(job.id) ? 0 : left,
      each: here.each,
      usesEach: here.uses,
      bringsEach: here.brings,
      whole: scale * here.weight,
      of: here.of,
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

  /* The least number that makes the shares of half-done and shared-out jobs whole, and of those that may be done at some
     of their hives; a million where that is larger. */
  function scaleOf(open, amounts) {
    const divisor = (one, other) => (other ? divisor(other, one % other) : one);
    const needs = amounts.map(() => 0);
    open.forEach(({ index, jobs }) => jobs.forEach((number) => field.stops[index].jobs[number].uses.forEach(([supply, each]) => { needs[supply] += up(each * hivesLeft(jobsOf(index)[number])); })));
    const short = (job) => job.uses.some(([supply]) => needs[supply] > amounts[supply]);
    const wholes = open.flatMap(({ index, jobs }) => jobs.filter((number) => hivesLeft(jobsOf(index)[number]) < field.stops[index].jobs[number].of || short(field.stops[index].jobs[number]))
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

  /* What the search is asked, and for each of its stops and jobs which one of the page it is. `begin` is as `field_start.js` has it. */
  function problem(begin, now) {
    const stops = open();
    const { amounts, back, hives } = board();
    const rested = Boolean(keeping.state.field.rested);
    const out = begin.kind === "stop" && begin.from < 0 && !last() ? now : field.leave;
    const aboard = ({ index }) => field.stops[index].move && loadedAt(jobsOf(index)[0]);
    const entered = (each) => (aboard(each) ? field.stops[each.index].to : field.stops[each.index].at) + 1;
    const leaves = (each) => field.stops[each.index].to + 1;
    const row = (place) => stops.map((each) => field.seconds[place][entered(each)]);
    const scale = scaleOf(stops, amounts);
    return {
      where: stops,
      asked: {
        now,
        homeBy: field.home_by,
        breakSeconds: rested ? 0 : field.break,
        breakAfter: Math.max(0, Math.min(out, now) + field.break_after - now),
        out: stops.map((each) => start.to(begin, entered(each))),
        home: stops.map((each) => field.seconds[leaves(each)][0]),
        outHome: start.to(begin, 0),
        drives: stops.map((each, at) => row(leaves(each)).map((drive, to) => (at === to ? 0 : drive))),
        payload: field.payload,
        space: field.space,
        brought: back,
        hives,
        board: amounts,
        base: baseOf(row),
        supplies: field.materials.map((each) => ({ grams: each.grams, millilitres: each.millilitres, pack: each.pack })),
        stops: stops.map((each) => problemStop(each, scale)),
      },
    };
  }

  /* How many hives of the job that was kept for some of its hives are still to be done; undefined for others. */
  function partLeft(job) {
    const { part } = keeping.state.field.kept || {};
    return part && part.job === job.number ? part.until - (job.hives - hivesLeft(job)) : undefined;
  }

  /* The order that is followed: what was kept, else the plan; only what is left of it. `part` is the job of which only
     some hives are to be done. */
  function followed(where) {
    const kept = keeping.state.field.kept;
    const order = kept ? kept.stops : given.stops.filter((stop) => !stop.near).map((stop, index) => ({ mark: stop.mark, base: !stop.told, jobs: stop.jobs.map((job) => job.number) }));
    const bases = given.stops.filter((stop) => !stop.told);
    const had = kept ? keeping.state.field.again.length > kept.again : false;
    let base = false;
    let part = null;
    const stops = order.flatMap(({ mark, jobs, base: back }) => {
      if (back && !(kept ? had : bases.findIndex((stop) => stop.mark === mark) < tripNow())) base = true;
      const stop = where.findIndex((each) => shownAt[each.index].some((place) => given.stops[place].mark === mark));
      if (stop < 0) return [];
      const here = where[stop].jobs.flatMap((number, place) => {
        const job = jobsOf(where[stop].index)[number];
        const some = partLeft(job);
        if (!jobs.includes(job.number) || some <= 0) return [];
        if (some !== undefined) part = { stop, job: place, hives: some };
        return [place];
      });
      if (here.length === 0) return [];
      const found = { stop, jobs: here, base };
      base = false;
      return [found];
    });
    return { stops, part };
  }

  /* The two ends of a move in an order: hives are loaded at one and set down at the other; null where that is one stop. */
  function endsOf({ index, jobs }, start, finish) {
    const stop = field.stops[index];
    if (!stop.move || loadedAt(jobsOf(index)[0])) return null;
    const loaded = start + stop.walk + stop.jobs[0].setUp + up(stop.jobs[0].each * hivesLeft(jobsOf(index)[jobs[0]]));
    return { loaded, arrive: loaded + stop.move.drive, finish };
  }

  return { problem, followed, last, board, overload, counted, hivesLeft, partLeft, jobsOf, shownOf, endsOf, tripNow, start };
}
